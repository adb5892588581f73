"""Shapes handed out about the book: what an ingest did, what waits, what the book holds, what was written."""

from datetime import date, datetime
from typing import NotRequired, TypedDict


class FileResult(TypedDict):
    """One file, or one sheet and kind of a workbook. rows = accepted + updated + unchanged + quarantined.

    not_used: weather elements without a column of ours; same_content_as_batch: the batch that brought this content
    """

    path: str
    sheet: str | None
    kind: str
    rows: int
    accepted: int
    updated: int
    unchanged: int
    quarantined: int
    not_used: int
    warnings: list[str]
    readings: list[str]
    same_content_as_batch: int | None


class IngestResult(TypedDict):
    """What one ingest did. released: rows that waited before and went in now; passed_over: files of another sort.

    warnings_about_earlier_rows: rows of earlier batches that went in now, or that do not fit with what came now
    """

    batch_id: int
    files: list[FileResult]
    rows: int
    accepted: int
    updated: int
    unchanged: int
    quarantined: int
    released: int
    passed_over: list[str]
    warnings_about_earlier_rows: list[str]


class QuarantineRow(TypedDict):
    """One row that waits. row: the line on which the record starts; column and value: of its first fault.

    follows: it waits only for a record that waits itself, and goes in when that one does.
    """

    quarantine_id: str
    kind: str
    file: str
    row: int
    column: str | None
    value: str | None
    reason: str
    follows: bool


class QuarantineResult(TypedDict):
    """What waits; exported: the file written; dropped: entries dropped now."""

    rows: list[QuarantineRow]
    total: int
    exported: str | None
    dropped: list[str]


class WithdrawnFile(TypedDict):
    """A file of the batch taken back. still_here: a later batch brought the same content, which now counts there."""

    batch_id: int
    path: str
    sheet: str | None
    kind: str
    rows: int
    still_here_with_batch: int | None


class KindHeld(TypedDict):
    """Records of one kind in the book and waiting, with the first and last day they are about."""

    kind: str
    rows: int
    waiting: int
    first_date: date | None
    last_date: date | None


class BatchHeld(TypedDict):
    """One ingest."""

    batch_id: int
    at: datetime
    files: int
    rows: int
    withdrawn: bool


class ModelHeld(TypedDict):
    """The newest fit of one part."""

    part: str
    as_of: date
    fitted_at: datetime


class WarningHeld(TypedDict):
    """A doubt about a row that was kept, or about a whole file (row null)."""

    kind: str
    file: str
    row: int | None
    column: str | None
    value: str | None
    text: str
    batch_id: int


class InfoResult(TypedDict):
    """What the book holds. as_of: the newest day worked, completed or reported; warnings: only when asked for."""

    book: str
    size_bytes: int
    schema_version: int
    as_of: date | None
    kinds: list[KindHeld]
    batches: list[BatchHeld]
    models: list[ModelHeld]
    warnings: NotRequired[list[WarningHeld]]


class WrittenFile(TypedDict):
    """A file written by an export."""

    path: str
    what: str
    rows: int
