"""`ingest`: files read and checked, then stored in one transaction."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import InputError
from pipeline.intake.across import same_key_twice
from pipeline.intake.find import find_files
from pipeline.intake.read import read_found
from pipeline.settings import Settings
from pipeline.store.book import open_book, rows
from pipeline.store.contents import Repeats, find_repeats
from pipeline.store.firm_settings import remember
from pipeline.store.write import BatchWritten, one_transaction, write_batch
from schemas.batch import FileRead, Notice
from schemas.results_store import FileResult, IngestResult

if TYPE_CHECKING:
    import duckdb

ROWS_NAMED = 10


@dataclass(frozen=True)
class Delivery:
    """What is to be taken in, and how.

    received: no record can be dated after it (today when left out); strict: a row that would wait is an error;
    again: also files whose content the book has already
    """

    paths: Sequence[Path]
    kind: str | None = None
    strict: bool = False
    again: bool = False
    received: date | None = None


def ingest_(
    book: Path, settings: Settings, delivery: Delivery, *, progress: Callable[[str], None] | None = None
) -> IngestResult:
    """Take files and folders into the book, which is made when there is none.

    errors: WrongUsage, InputError (nothing changed), BookUnusable
    """
    say = progress or _say_nothing
    day = delivery.received or date.today()
    found = find_files(delivery.paths)
    files = []
    for file in read_found(found.files, kind=delivery.kind, settings=settings, received=day):
        say(f"read {file.name}: {file.kind}, rows: {file.rows:,}")
        files.append(file)
    say(f"writing to {book}")
    with open_book(book, write=True, create=True) as con, one_transaction(con):
        repeats = find_repeats(con, files, again=delivery.again)
        files = _each_key_once(files, repeats)
        written = write_batch(con, files, received=day, repeats=repeats)
        if delivery.strict:
            _refuse_waiting_rows(con, written)
        remember(con, settings)
        origins = {place: _batch_of_file(con, file_id) for place, file_id in repeats.files.items()}
    return _result(files, written, origins, [str(path) for path in found.passed_over])


def _say_nothing(text: str) -> None:
    """Nobody listens."""


def _each_key_once(files: Sequence[FileRead], repeats: Repeats) -> list[FileRead]:
    """Rows whose key stands in the batch with different values wait; files that bring nothing new do not count."""
    doubtful = [at for at, file in enumerate(files) if at not in repeats.files and file.kind in repeats.kinds]
    settled = dict(zip(doubtful, same_key_twice([files[at] for at in doubtful]), strict=True))
    return [settled.get(at, file) for at, file in enumerate(files)]


def _refuse_waiting_rows(con: "duckdb.DuckDBPyConnection", written: BatchWritten) -> None:
    waiting = sum(file["quarantined"] for file in written.files)
    if not waiting:
        return
    named = rows(con, "quarantine_of_batch", {"batch_id": written.batch_id, "at_most": ROWS_NAMED})
    lines = [f"{row['file']} line {row['row']}: {row['reason']}" for row in named]
    if waiting > len(lines):
        lines.append(f"… and {waiting - len(lines)} more")
    rows_waiting = "1 row" if waiting == 1 else f"{waiting:,} rows"
    raise InputError("\n".join([f"{rows_waiting} would wait in quarantine, so nothing was stored (--strict):", *lines]))


def _batch_of_file(con: "duckdb.DuckDBPyConnection", file_id: int) -> int:
    return int(con.execute("select batch_id from files where file_id = ?", [file_id]).fetchall()[0][0])


def _result(
    files: Sequence[FileRead], written: BatchWritten, origins: Mapping[int, int], passed_over: list[str]
) -> IngestResult:
    told = [
        _file_result(_with_doubts(file, written.doubts.get(place, ())), tally, origins.get(place))
        for place, (file, tally) in enumerate(zip(files, written.files, strict=True))
    ]
    return IngestResult(
        batch_id=written.batch_id,
        files=told,
        rows=sum(file["rows"] for file in told),
        accepted=sum(file["accepted"] for file in told),
        updated=sum(file["updated"] for file in told),
        unchanged=sum(file["unchanged"] for file in told),
        quarantined=sum(file["quarantined"] for file in told),
        released=written.released,
        passed_over=passed_over,
        warnings_about_earlier_rows=[f"{name} {_sentence(notice)}" for name, notice in written.doubts_earlier],
    )


def _with_doubts(file: FileRead, doubts: Sequence[Notice]) -> FileRead:
    return replace(file, warnings=(*file.warnings, *doubts))


def _file_result(file: FileRead, tally: Mapping[str, int], origin: int | None) -> FileResult:
    return FileResult(
        path=file.path,
        sheet=file.sheet,
        kind=file.kind,
        rows=tally["rows"],
        accepted=tally["accepted"],
        updated=tally["updated"],
        unchanged=tally["unchanged"],
        quarantined=tally["quarantined"],
        not_used=file.not_used,
        warnings=[_sentence(notice) for notice in file.warnings],
        readings=list(file.readings),
        same_content_as_batch=origin,
    )


def _sentence(notice: Notice) -> str:
    place = "" if notice.line is None else f"line {notice.line}: "
    column = "" if notice.column is None else f"{notice.column}: "
    return f"{place}{column}{notice.text}"
