"""The rows of one kind of a batch, laid before the book as the relations `incoming` and `incoming_bad`."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from pipeline.store.steps import ArrowStream, column_names, run_step, words_of
from schemas.batch import BAD, FileRead, with_raw

if TYPE_CHECKING:
    import duckdb

PLACE = ("_key", "_line", "_quarantine_id")


def offer(con: "duckdb.DuckDBPyConnection", kind: str, batch_id: int, files: Mapping[int, FileRead]) -> None:
    """Make the good and bad rows of the files (by file_id) of one kind readable.

    A row without a key is named by its own text and how often that text has come in the batch.
    """
    if not files:
        run_step(con, "nothing_incoming", words_of(con, kind))
        return
    good_columns = (*column_names(kind), *PLACE)
    good = pl.concat([_placed(file.good.select(good_columns), file_id, batch_id) for file_id, file in files.items()])
    bad = pl.concat([_placed(file.bad.select(*BAD), file_id, batch_id) for file_id, file in files.items()])
    con.register("incoming_rows", ArrowStream(good))
    con.register("incoming_bad_rows", ArrowStream(bad))
    run_step(con, "incoming", words_of(con, kind))


def without_copies(files: Mapping[int, FileRead]) -> tuple[dict[int, FileRead], pl.DataFrame]:
    """The files without rows whose key stood before them in the batch, and the place of each such row.

    Intake has made sure that such rows are identical, so the second one brings nothing.
    """
    keys = pl.concat(
        [file.good.select("_key", "_line", pl.lit(file_id).alias("_file_id")) for file_id, file in files.items()]
    )
    is_first = keys["_key"].is_first_distinct()
    first = keys.select("_file_id", is_first.alias("first"))
    kept = {
        file_id: replace(file, good=file.good.filter(first.filter(pl.col("_file_id") == file_id)["first"]))
        for file_id, file in files.items()
    }
    return kept, keys.filter(~is_first)


def offer_text(con: "duckdb.DuckDBPyConnection", files: Mapping[int, FileRead]) -> None:
    """Make the cells, as they were read, of the rows in `held` readable as `incoming_text`."""
    held = pl.DataFrame(con.sql("select distinct _key from held where not waited"))
    texts = [
        with_raw(
            waiting.with_columns(pl.lit(None, pl.String).alias(name) for name in ("column", "value", "reason")),
            file.text,
        )
        for file in files.values()
        if len(waiting := file.good.join(held, on="_key", how="semi").select("_row", *PLACE))
    ]
    empty = pl.DataFrame(schema=BAD)
    con.register("held_text", ArrowStream(pl.concat([empty, *texts]).select("_key", "raw")))
    con.execute("create or replace temp view incoming_text as from held_text")


def _placed(rows: pl.DataFrame, file_id: int, batch_id: int) -> pl.DataFrame:
    return rows.with_columns(
        pl.lit(file_id, pl.Int32).alias("_file_id"),
        pl.lit(batch_id, pl.Int32).alias("_batch_id"),
    )
