"""The book's tables as frames to take elsewhere: current rows, every version, views."""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.store.steps import fill_in, run_step, words_of

if TYPE_CHECKING:
    import duckdb


def current_rows(con: "duckdb.DuckDBPyConnection", kind: str) -> pl.DataFrame:
    """The current rows of a kind, one per key, in the columns of the record and the order in which they came."""
    run_step(con, "current", words_of(con, kind))
    return pl.DataFrame(con.sql("from to_export"))


def every_version(con: "duckdb.DuckDBPyConnection", kind: str) -> pl.DataFrame:
    """Every version of every record of a kind with its batch, time, file and line."""
    run_step(con, "versions", words_of(con, kind))
    return pl.DataFrame(con.sql("from to_export"))


def view_names(con: "duckdb.DuckDBPyConnection") -> list[str]:
    """The views named for people."""
    found = con.execute(
        "select view_name from duckdb_views() where not internal and not temporary and schema_name = 'main' order by 1"
    )
    return [name for (name,) in found.fetchall()]


def view(con: "duckdb.DuckDBPyConnection", name: str) -> pl.DataFrame:
    """All rows of a view."""
    return pl.DataFrame(con.sql(fill_in("from VIEW", {"VIEW": name})))
