"""Frames of records through the view of callbacks that count, in a book held in memory."""

import datetime as dt
from functools import cache
from pathlib import Path

import duckdb
import polars as pl

import pipeline.store

VIEWS = Path(pipeline.store.__file__).parent / "sql" / "views"
COLUMNS = """callback_id varchar, opening_id varchar, reported_on date, complaint varchar, cause_found varchar,
visited_on date, closed_on date, labour_hours decimal(10,4), labour_cost decimal(14,4), material_cost decimal(14,4),
recovered decimal(14,4), duplicate_of varchar, warranty boolean"""
EARLY = dt.date(2000, 1, 1)


class _Stream:
    """A frame offered to the database without a further package between them."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self.frame = frame

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        return self.frame.__arrow_c_stream__(requested_schema)


@cache
def _book() -> duckdb.DuckDBPyConnection:
    """Tables for one firm after another, and the view."""
    book = duckdb.connect()
    book.execute("create table jobs(job_id varchar, completed_on date, warranty_months integer)")
    book.execute("create table openings(opening_id varchar, job_id varchar)")
    book.execute(f"create table callbacks({COLUMNS})")
    book.execute("create table labour(worked_on date)")
    for name in ("book_known_until", "callback_visits"):
        book.execute((VIEWS / f"{name}.sql").read_text(encoding="utf-8"))
    return book


def visits_of(
    jobs: pl.DataFrame, openings: pl.DataFrame, callbacks: pl.DataFrame, *, as_of: dt.date, months: int = 24
) -> pl.DataFrame:
    """The list of callbacks that count, money as doubles."""
    book = _book()
    given = {
        "jobs": jobs.select("job_id", "completed_on", "warranty_months"),
        "openings": openings.select("opening_id", "job_id"),
        "callbacks": callbacks,
    }
    for table, frame in given.items():
        book.execute(f"delete from {table}")  # noqa: S608
        book.register("given", _Stream(frame))
        book.execute(f"insert into {table} by name select * from given")  # noqa: S608
        book.unregister("given")
    found = book.sql(
        "select * replace (net_cost::double as net_cost, labour_cost::double as labour_cost, "
        "material_cost::double as material_cost, recovered::double as recovered) "
        "from callback_visits($as_of, $standard, $warranty)",
        params={
            "as_of": as_of,
            "standard": [{"valid_from": EARLY, "value": 50}],
            "warranty": [{"valid_from": EARLY, "value": months}],
        },
    )
    return pl.DataFrame(found)
