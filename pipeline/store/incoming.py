"""The rows of one kind of a batch, laid before the book as the relations `incoming` and `incoming_bad`."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import polars as pl

from pipeline.store.steps import ArrowStream, column_names, run_step, words_of
from schemas.batch import BAD, FileRead, with_raw

if TYPE_CHECKING:
    import duckdb

PLACE = ("_key", "_line", "_quarantine_id")


def offer(
    con: "duckdb.DuckDBPyConnection", kind: str, batch_id: int, files: Mapping[int, FileRead]
) -> dict[int, int]:
    """Make the good and bad rows of the files (by file_id) of one kind readable.

    A row without a key is named by its own text and how often that text has come in the batch.
    out: how many rows of each file are identical copies of a row before them, and so bring nothing
    """
    if not files:
        run_step(con, "nothing_incoming", words_of(con, kind))
        return {}
    good_columns = (*column_names(kind), *PLACE)
    good = pl.concat([_placed(file.good.select(good_columns), file_id, batch_id) for file_id, file in files.items()])
    copies = _copies(good)
    bad = pl.concat([_placed(file.bad.select(*BAD), file_id, batch_id) for file_id, file in files.items()])
    con.register("incoming_rows", ArrowStream(good.filter(~copies) if copies.any() else good))
    con.register("incoming_bad_rows", ArrowStream(bad))
    run_step(con, "incoming", words_of(con, kind))
    return dict(good.filter(copies)["_file_id"].value_counts().iter_rows())


def _copies(good: pl.DataFrame) -> pl.Series:
    """Which rows have a key that stood before them in the batch; intake has made sure that they are identical."""
    keys = good["_key"]
    if keys.n_unique() == len(keys):
        return pl.Series([False]).new_from_index(0, len(keys))
    return ~keys.is_first_distinct()


def offer_text(con: "duckdb.DuckDBPyConnection", files: Mapping[int, FileRead]) -> None:
    """Make the cells, as they were read, of the rows in `held` readable as `incoming_text`."""
    held = pl.DataFrame(con.sql("select distinct _key from held where not waited"))
    texts = [
        with_raw(waiting.with_columns(pl.lit(None, pl.String).alias(name) for name in ("column", "value", "reason")), file.text)
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
