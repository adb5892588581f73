"""Workbooks: the sheets that hold records, with the type that each cell has in its file."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

import polars as pl

from pipeline.errors import InputError
from pipeline.intake.measures import SECONDS_PER_HOUR
from pipeline.intake.raw import RawColumn, RawTable
from pipeline.intake.text_tables import HEADER_WITHIN, Score
from pipeline.intake.zip_guard import MOST_IN_A_CELL, checked_workbook

FIRST_REAL_DAY = datetime(1900, 3, 1)  # before it a date cell is a clock time over 24 h shown as a date
SERIAL_ZERO = datetime(1899, 12, 31)


@dataclass(frozen=True)
class Sheet:
    """The cells of one sheet, row by row from its first row."""

    name: str
    visible: bool
    rows: Sequence[Sequence[Any]]
    merged: Sequence[tuple[tuple[int, int], tuple[int, int]]] = ()  # first and last cell of each, counted from 0


@dataclass(frozen=True)
class Cell:
    """A cell as text, and its exact value where the file types it."""

    text: str | None = None
    number: float | None = None
    day: date | None = None
    clock: float | None = None


def sheets(data: bytes, name: str) -> tuple[list[Sheet], int]:
    """The sheets with anything in them, and how many cells hold an error such as #N/A.

    errors: InputError naming the file
    """
    import python_calamine

    errors = checked_workbook(data, name)
    try:
        workbook = python_calamine.load_workbook(io.BytesIO(data))
        found = list(_sheets(workbook, name))
    except (python_calamine.CalamineError, ValueError, OSError) as error:
        raise InputError(
            f"{name}: cannot be read as a workbook: a part of it is damaged or missing; "
            "open it in a spreadsheet program and save it anew as XLSX or CSV"
        ) from error
    if not found:
        raise InputError(f"{name}: the file is empty; a header with the names of the columns is needed")
    return found, errors


def _sheets(workbook: Any, name: str) -> Iterator[Sheet]:
    from python_calamine import SheetTypeEnum, SheetVisibleEnum

    for about in workbook.sheets_metadata:
        if about.typ != SheetTypeEnum.WorkSheet:
            continue
        sheet = workbook.get_sheet_by_name(about.name)
        rows = sheet.to_python(skip_empty_area=False)
        if any(isinstance(cell, str) and len(cell) > MOST_IN_A_CELL for row in rows for cell in row):
            raise InputError(f"{name}: a cell of sheet {about.name} holds more than 1 MB; it is not read")
        if any(_is_filled(row) for row in rows):
            yield Sheet(about.name, about.visible == SheetVisibleEnum.Visible, rows, sheet.merged_cell_ranges or ())


def _is_filled(row: Sequence[Any]) -> bool:
    return any(not isinstance(cell, str) or cell.strip() for cell in row)


def header_row(sheet: Sheet, score: Score) -> int:
    """The row, counted from 0, that holds the header: of the first rows the one with the most headings we know."""
    names = [headings(row) for row in sheet.rows[:HEADER_WITHIN]]
    ranks = [(score(row), sum(1 for name in row if name.strip()), -at) for at, row in enumerate(names)]
    return -max(ranks)[2]


def merged_rows(sheet: Sheet, header: int) -> list[int]:
    """The sheet's own numbers of the rows under the header at which merged cells begin."""
    return sorted({first[0] + 1 for first, _ in sheet.merged if first[0] > header})


def headings(row: Sequence[Any]) -> list[str]:
    """A row's cells as headings."""
    return [_cell(cell).text or "" for cell in row]


def table(sheet: Sheet, header: int) -> RawTable:
    """The rows under a sheet's header; `lines` are the sheet's own row numbers."""
    body = [(at + 1, row) for at, row in enumerate(sheet.rows) if at > header and _is_filled(row)]
    names = headings(sheet.rows[header])
    columns = [_column(name, [row[at] for _, row in body]) for at, name in enumerate(names)]
    return RawTable(columns, pl.Series([line for line, _ in body], dtype=pl.Int64))


def _column(name: str, cells: Sequence[Any]) -> RawColumn:
    read = [_cell(cell) for cell in cells]
    return RawColumn(
        name,
        pl.Series([cell.text for cell in read], dtype=pl.String),
        pl.Series([cell.number for cell in read], dtype=pl.Float64),
        pl.Series([cell.day for cell in read], dtype=pl.Date),
        pl.Series([cell.clock for cell in read], dtype=pl.Float64),
    )


def _cell(cell: Any) -> Cell:
    if isinstance(cell, str):
        return Cell(cell) if cell.strip() else Cell()
    if isinstance(cell, bool):
        return Cell("true" if cell else "false")
    if isinstance(cell, (int, float)):
        return Cell(number_text(cell), number=float(cell))
    if isinstance(cell, datetime):
        return _moment(cell)
    if isinstance(cell, date):
        return Cell(cell.isoformat(), day=cell)
    if isinstance(cell, time):
        return _clock(datetime.combine(SERIAL_ZERO, cell) - SERIAL_ZERO)
    if isinstance(cell, timedelta):
        return _clock(cell)
    return Cell(None if cell is None else str(cell))


def number_text(number: float) -> str:
    """A number as the digits a person would write: 1024, 54.5."""
    return str(int(number)) if float(number).is_integer() else repr(float(number))


def _moment(cell: datetime) -> Cell:
    if cell < FIRST_REAL_DAY:
        return _clock(cell - SERIAL_ZERO)
    is_midnight = cell.time() == time(0)
    return Cell(cell.date().isoformat() if is_midnight else cell.isoformat(" ", "seconds"), day=cell.date())


def _clock(span: timedelta) -> Cell:
    seconds = round(span.total_seconds())
    minutes, rest = divmod(seconds, 60)
    text = f"{minutes // 60}:{minutes % 60:02}" + (f":{rest:02}" if rest else "")
    return Cell(text, clock=seconds / SECONDS_PER_HOUR)
