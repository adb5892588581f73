"""Files as intake would hand them over, made by hand: small, typed, with the record's columns."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline.store.book import open_book
from pipeline.store.contents import find_repeats
from pipeline.store.write import BatchWritten, one_transaction, write_batch
from schemas.batch import BAD, FileRead
from schemas.kinds import KINDS

RECEIVED = date(2025, 6, 30)
DAY = date(2025, 3, 14)
TYPES = {
    "date": pl.Date,
    "yes_no": pl.Boolean,
    "count": pl.Int64,
    "id": pl.String,
    "text": pl.String,
    "word": pl.String,
}
USUAL: dict[str, dict[str, Any]] = {
    "jobs": {"crew": "north", "started_on": DAY, "contract_price": 9000.0},
    "openings": {
        "job_id": "J1",
        "wall_type": "brick",
        "opening_work": "new_cut",
        "rough_width_in": 40.0,
        "rough_height_in": 50.0,
        "well_type": "steel",
    },
    "labour": {"job_id": "J1", "worked_on": DAY, "hours": 8.0},
    "materials": {"job_id": "J1", "item": "shim", "quantity": 1.0, "unit": "ea", "unit_cost": 2.5},
    "callbacks": {"opening_id": "O1", "reported_on": DAY, "complaint": "leak"},
    "quotes": {"quoted_on": DAY, "openings": 1, "price": 9000.0, "outcome": "won"},
    "install_checks": {"checked_on": DAY},
}


def file_read(
    kind: str, good: Sequence[Mapping[str, Any]], bad: Sequence[Mapping[str, Any]] = (), *, path: str | None = None
) -> FileRead:
    """A file of one kind. A row is a dict of what matters; the rest is usual. `_quarantine_id` may be given.

    A bad row has its key under `key` (None = it has none); its value is 'bad' and its reason 'cannot be read'.
    """
    columns = KINDS[kind].columns()
    dtypes = {name: TYPES.get(column.metadata["kind"], pl.Float64) for name, column in columns.items()}
    rows = [{**dict.fromkeys(columns), **USUAL.get(kind, {}), **row} for row in good]
    frame = pl.DataFrame([{name: row[name] for name in columns} for row in rows], schema=dtypes)
    places = pl.DataFrame(
        [(at, at + 2, _key(kind, row), row.get("_quarantine_id")) for at, row in enumerate(rows)],
        schema={"_row": pl.Int64, "_line": pl.Int64, "_key": pl.String, "_quarantine_id": pl.String},
        orient="row",
    )
    typed = pl.concat([frame, places], how="horizontal")
    text = typed.select("_row", pl.col(*columns).cast(pl.String))
    content = hashlib.sha256(repr((kind, rows, bad)).encode()).hexdigest()
    name = path or f"{kind}-{content[:4]}.csv"
    return FileRead(name, None, kind, content, len(good) + len(bad), typed, _bad_rows(bad, len(good)), text)


def _key(kind: str, row: Mapping[str, Any]) -> str:
    return "|".join(str(row[name]) for name in KINDS[kind].key)


def _bad_rows(bad: Sequence[Mapping[str, Any]], first: int) -> pl.DataFrame:
    rows = [
        (
            at,
            at + 2,
            row["key"],
            row.get("_quarantine_id"),
            "hours",
            "bad",
            "cannot be read",
            json.dumps({name: value for name, value in row.items() if not name.startswith("_")}),
            "cannot be read",
            None,
        )
        for at, row in enumerate(bad, start=first)
    ]
    return pl.DataFrame(rows, schema=BAD, orient="row")


def take(con: duckdb.DuckDBPyConnection, *files: FileRead, again: bool = False) -> BatchWritten:
    """The files as one batch."""
    with one_transaction(con):
        return write_batch(con, files, received=RECEIVED, repeats=find_repeats(con, files, again=again))


def new_book(folder: Path) -> Any:
    """A fresh book, open for writing."""
    return open_book(folder / "book.duckdb", write=True, create=True)


def all_of(con: duckdb.DuckDBPyConnection, question: str) -> list[tuple[Any, ...]]:
    """Every row of a query."""
    return con.execute(question).fetchall()


def waiting(con: duckdb.DuckDBPyConnection) -> list[tuple[Any, ...]]:
    """Kind and key of what waits, in order."""
    return all_of(con, "select kind, _key from quarantine where state = 'waits' order by all")
