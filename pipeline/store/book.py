"""The book: opening it, its lock, its migrations, and asking it a named question."""

import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.errors import BookUnusable, NotEnoughRecords

if TYPE_CHECKING:
    import duckdb
    import polars as pl

LOCK_PATIENCE_S = 10.0  # contract: how long to wait for another program to let go
LOCK_RETRY_S = 0.2
STORE = files("pipeline.store")


@contextmanager
def open_book(path: Path, *, write: bool = False, create: bool = False) -> "Iterator[duckdb.DuckDBPyConnection]":
    """The book at `path`, open for reading or writing, migrated, closed at the end.

    errors: NotEnoughRecords when there is no book and `create` is false; BookUnusable when another program
    holds it for more than 10 s, when it cannot be opened or written, or when it is not a book of ours.
    """
    if not path.exists() and not create:
        raise NotEnoughRecords(
            f"there is no book at {path} yet; make one with: areaway --book {path} ingest FOLDER"
        )
    con = _connect_patiently(path, write=write or create)
    try:
        if write or create:
            migrate(con)
        yield con
    finally:
        con.close()


def _connect_patiently(path: Path, *, write: bool) -> "duckdb.DuckDBPyConnection":
    import duckdb

    give_up_at = time.monotonic() + LOCK_PATIENCE_S
    while True:
        try:
            return duckdb.connect(
                str(path),
                read_only=not write,
                config={"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"},
            )
        except duckdb.IOException as error:
            if "lock" not in str(error) or time.monotonic() > give_up_at:
                raise BookUnusable(f"the book {path} cannot be opened: {error}") from error
            time.sleep(LOCK_RETRY_S)


def migrate(con: "duckdb.DuckDBPyConnection") -> None:
    """Bring the book to the newest layout; each numbered step runs once, views are made anew."""
    con.execute("create table if not exists schema_steps (step varchar primary key, applied_at timestamp)")
    done = {name for (name,) in con.execute("select step from schema_steps").fetchall()}
    for step in sorted((STORE / "migrations").iterdir(), key=lambda file: file.name):
        if step.name.endswith(".sql") and step.name not in done:
            con.execute(step.read_text())
            con.execute("insert into schema_steps values (?, ?)", [step.name, datetime.now()])
    for view in _views():
        con.execute(view.read_text())


def _views() -> list[Traversable]:
    folder = STORE / "sql" / "views"
    if not folder.is_dir():
        return []
    return sorted((file for file in folder.iterdir() if file.name.endswith(".sql")), key=lambda file: file.name)


@cache
def question(name: str) -> str:
    """The text of a named question, pipeline/store/sql/NAME.sql."""
    return (STORE / "sql" / f"{name}.sql").read_text()


def frame(
    con: "duckdb.DuckDBPyConnection", name: str, params: Mapping[str, object] | None = None
) -> "pl.DataFrame":
    """The answer to a named question as a frame."""
    import polars as pl

    return pl.DataFrame(con.sql(question(name), params=dict(params or {})))


def rows(
    con: "duckdb.DuckDBPyConnection", name: str, params: Mapping[str, object] | None = None
) -> list[dict[str, Any]]:
    """The answer to a named question as plain rows, without polars."""
    con.execute(question(name), dict(params or {}))
    names = [column[0] for column in con.description or []]
    return [dict(zip(names, row, strict=True)) for row in con.fetchall()]


def newest_date(con: "duckdb.DuckDBPyConnection") -> date:
    """The newest worked_on, completed_on or reported_on: the default as-of date.

    errors: NotEnoughRecords when the book holds none of them
    """
    newest = rows(con, "newest_date")[0]["newest"]
    if newest is None:
        raise NotEnoughRecords("the book holds no dated work yet: 0 jobs, hours or callbacks; ingest some records first")
    assert isinstance(newest, date)
    return newest
