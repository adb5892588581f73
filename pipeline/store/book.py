"""The book: opening it, its lock, whose it is, and asking it a named question."""

import os
import re
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.errors import BookUnusable, NotEnoughRecords
from pipeline.store.layout import bring_up_to_date, check_ours, is_current, is_fresh

if TYPE_CHECKING:
    import duckdb
    import polars as pl

LOCK_PATIENCE_S = 10.0  # how long to wait for another program to let go
LOCK_RETRY_S = 0.2
STORE = files("pipeline.store")
HOLDER = re.compile(r"PID (\d+)")
NO_EXTENSIONS_FROM_OUTSIDE: "dict[str, str | bool | int | float | list[str]]" = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
}
# Called from `python -c` the database thinks somebody watches and draws a bar on standard output, amid the answer.
NO_PROGRESS_BAR = "set enable_progress_bar = false"


@contextmanager
def open_book(path: Path, *, write: bool = False, create: bool = False) -> "Iterator[duckdb.DuckDBPyConnection]":
    """The book at `path`, open for reading or writing, in the newest layout, closed at the end.

    A book made here is taken away again when what was to be written into it fails.
    errors: NotEnoughRecords when there is no book and `create` is false; BookUnusable when another program
    holds it for more than 10 s, when it cannot be opened, read or written, or when it is not a book of ours.
    """
    if not _exists(path) and not create:
        raise NotEnoughRecords(f"there is no book at {path} yet; make one with: areaway --book {path} ingest FOLDER")
    opened = _open_for_writing(path) if write or create else _open_for_reading(path)
    with opened as con:
        yield con


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except PermissionError as error:
        raise BookUnusable(f"the book {path} cannot be opened: its folder may not be read") from error


@contextmanager
def _open_for_writing(path: Path) -> "Iterator[duckdb.DuckDBPyConnection]":
    existed = _exists(path)
    with _connected(path, write=True) as con:
        made_here = not existed and is_fresh(con)
        try:
            if not is_fresh(con):
                check_ours(con, path)
            bring_up_to_date(con)
            yield con
        except BaseException:
            if made_here:
                _take_away(path)
            raise


def _take_away(path: Path) -> None:
    for file in (path, path.with_name(path.name + ".wal")):
        file.unlink(missing_ok=True)


@contextmanager
def _open_for_reading(path: Path) -> "Iterator[duckdb.DuckDBPyConnection]":
    """An older layout is brought up to date before it is read."""
    with _connected(path, write=False) as con:
        if is_fresh(con):
            raise NotEnoughRecords(
                f"the book {path} holds nothing yet; fill it with: areaway --book {path} ingest FOLDER"
            )
        check_ours(con, path)
        if is_current(con):
            yield con
            return
    with _open_for_writing(path):
        pass
    with _connected(path, write=False) as con:
        yield con


@contextmanager
def _connected(path: Path, *, write: bool) -> "Iterator[duckdb.DuckDBPyConnection]":
    import duckdb

    con = _connect_patiently(path, write=write)
    try:
        yield con
    except duckdb.Error as error:
        sentence = _storage_fault(path, error)
        if sentence is None:
            raise
        raise BookUnusable(sentence) from error
    finally:
        con.close()


def _connect_patiently(path: Path, *, write: bool) -> "duckdb.DuckDBPyConnection":
    import duckdb

    give_up_at = time.monotonic() + LOCK_PATIENCE_S
    while True:
        try:
            con = duckdb.connect(str(path), read_only=not write, config=NO_EXTENSIONS_FROM_OUTSIDE)
            con.execute(NO_PROGRESS_BAR)
            return con
        except duckdb.Error as error:
            if "Could not set lock" not in str(error) or time.monotonic() > give_up_at:
                raise BookUnusable(_why_not_opened(path, error)) from error
            time.sleep(LOCK_RETRY_S)


def _why_not_opened(path: Path, error: Exception) -> str:
    text = str(error)
    if "Could not set lock" in text:
        holder = HOLDER.search(text)
        who = f"process {holder.group(1)}" if holder else "another program"
        return f"the book {path} is in use by {who}; close that program, or wait until it has finished, and try again"
    if path.is_dir():
        return f"the book {path} is a folder; give a file with --book"
    if not path.parent.is_dir():
        return f"the book {path} cannot be made: there is no folder {path.parent}; make it first"
    if "not a valid DuckDB" in text or "Extension" in text:
        return f"{path} is not a book of areaway; it stays as it was. Give another file with --book"
    return _storage_fault(path, error) or f"the book {path} cannot be opened: {_first_line(text)}"


def _storage_fault(path: Path, error: Exception) -> str | None:
    """What is wrong with the file or the disk under it, in a sentence; None when it is neither."""
    import duckdb

    text = str(error)
    if "No space left" in text or "File too large" in text or "could not write" in text.lower():
        return f"the disk with the book {path} is full or cannot be written; make room and try again; nothing changed"
    if "Permission denied" in text or "Read-only file system" in text:
        if path.is_file() and not os.access(path, os.R_OK):
            return f"the book {path} cannot be opened: you are not allowed to read it; give another with --book"
        return f"the book {path} cannot be written: its file or folder is read-only"
    if "orrupt" in text or "checksum" in text or "Could not read" in text:
        return f"the book {path} is damaged and stays as it is; bring back a copy of it ({_first_line(text)})"
    if isinstance(error, (duckdb.IOException, duckdb.FatalException)):
        return f"the book {path} cannot be used: {_first_line(text)}"
    return None


def _first_line(text: str) -> str:
    return text.strip().splitlines()[0] if text.strip() else "no reason given"


@cache
def question(name: str) -> str:
    """The text of a named question, pipeline/store/sql/NAME.sql."""
    return (STORE / "sql" / f"{name}.sql").read_text()


def frame(con: "duckdb.DuckDBPyConnection", name: str, params: Mapping[str, object] | None = None) -> "pl.DataFrame":
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
        raise NotEnoughRecords(
            "the book holds no dated work yet: 0 jobs, hours or callbacks; ingest some records first"
        )
    assert isinstance(newest, date)
    return newest
