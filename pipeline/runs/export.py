"""`export`: every table and view of the book, to take elsewhere."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import InputError, WrongUsage
from pipeline.store.book import open_book
from pipeline.store.export import current_rows, every_version, view, view_names
from pipeline.store.sheets import write_csv, write_parquet, write_workbook
from schemas.kinds import HISTORY, KINDS, VIEW
from schemas.results_store import WrittenFile

if TYPE_CHECKING:
    import duckdb
    import polars as pl

FORMATS = ("csv", "parquet", "xlsx")


@dataclass(frozen=True)
class _Table:
    """A file to write: its name without ending, what it holds, and its rows when asked for."""

    name: str
    what: str
    rows: "Callable[[], pl.DataFrame]"


def export_(book: Path, folder: Path, *, form: str = "csv") -> list[WrittenFile]:
    """Write the current records (KIND), every version of them (history_KIND) and the views (view_NAME).

    in:     form: csv, parquet or xlsx
    errors: WrongUsage for another form; InputError when the folder cannot be written; NotEnoughRecords without a book
    """
    if form not in FORMATS:
        raise WrongUsage(f"--format is '{form}'; it must be one of {', '.join(FORMATS)}")
    with open_book(book) as con:
        _make_folder(folder)
        return [_write(table, folder, form) for table in _tables(con)]


def _tables(con: "duckdb.DuckDBPyConnection") -> Iterator[_Table]:
    for kind in KINDS:
        yield _Table(kind, "current records", partial(current_rows, con, kind))
    for kind in KINDS:
        yield _Table(f"{HISTORY}{kind}", "every version of the records", partial(every_version, con, kind))
    for name in view_names(con):
        yield _Table(f"{VIEW}{name}", "view", partial(view, con, name))


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"the folder {folder} cannot be made: {error.strerror}") from error


def _write(table: _Table, folder: Path, form: str) -> WrittenFile:
    path = folder / f"{table.name}.{form}"
    frame = table.rows()
    if form == "csv":
        write_csv(path, frame)
    elif form == "xlsx":
        write_workbook(path, {table.name: frame})
    else:
        write_parquet(path, frame)
    return WrittenFile(path=str(path), what=table.what, rows=len(frame))
