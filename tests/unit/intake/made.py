"""Small files written and read back in one line."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import xlsxwriter

from pipeline.intake.read import read_paths
from pipeline.settings import Settings
from schemas.batch import FileRead

RECEIVED = date(2026, 6, 30)
JOBS = "job_id,crew,started_on,contract_price\n"
OPENINGS = "opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type\n"
LABOUR = "entry_id,job_id,worked_on,worker_id,hours\n"


def read(path: Path, *, kind: str | None = None, settings: Settings | None = None) -> list[FileRead]:
    """Every table under a path."""
    return list(read_paths([path], kind=kind, settings=settings or Settings(), received=RECEIVED))


def read_text(folder: Path, name: str, text: str | bytes, **how: object) -> FileRead:
    """One text file, written and read."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    (file,) = read(path, **how)  # type: ignore[arg-type]
    return file


def workbook(path: Path, **sheets: Sequence[Sequence[object]]) -> Path:
    """A workbook of plain cells: sheet name -> rows."""
    with xlsxwriter.Workbook(str(path)) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                sheet.write_row(at, 0, row)
    return path


def reasons(file: FileRead) -> dict[int, str]:
    """Line -> reason of the rows that wait."""
    return dict(file.bad.select("_line", "reason").iter_rows())
