"""Frames to files: CSV and workbooks in which no text can act as a formula, Parquet verbatim."""

import io
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.errors import InputError

if TYPE_CHECKING:
    import xlsxwriter

FORMULA_START = r"^'*[=+\-@\t\r]"  # how text begins that a spreadsheet may run as a formula
TWO_READINGS = r"^(-?[1-9]\d{0,2}\.\d{3})(e|$)"  # a number whose point could also part the thousands
NARROWEST, WIDEST = 8, 60  # column widths in characters
ROWS_MEASURED = 200
MOST_ROWS_IN_A_SHEET = 1_048_575  # below the heading; limit of the workbook format, 2^20 rows (ECMA-376)
MOST_IN_A_CELL = 32_767  # characters; limit of spreadsheet programs
LONGEST_SHEET_NAME = 31
MONEY_FORMAT = "#,##0.00##"
DATE_FORMAT = "yyyy-mm-dd"
TIME_FORMAT = "yyyy-mm-dd hh:mm"
POINTED_AT = "#FFE699"


def guarded(frame: pl.DataFrame) -> pl.DataFrame:
    """Text that a spreadsheet could take for a formula gets an apostrophe in front; ingest takes one off again."""
    text = pl.col(pl.String)
    return frame.with_columns(pl.when(text.str.contains(FORMULA_START)).then("'" + text).otherwise(text).name.keep())


def write_csv(path: Path, frame: pl.DataFrame) -> None:
    """A CSV in UTF-8 with one heading line; numbers plain, yes and no as words.

    errors: InputError when the file cannot be written
    """
    with _writing(path):
        _in_one_reading(guarded(_in_words(frame))).write_csv(path)


def _in_one_reading(frame: pl.DataFrame) -> pl.DataFrame:
    """Numbers in digits that read the same under a decimal point and a decimal comma: 54.125 as 54.1250."""
    digits = pl.col(pl.Float64).cast(pl.String)
    return frame.with_columns(digits.str.replace(TWO_READINGS, "${1}0${2}"))


def write_parquet(path: Path, frame: pl.DataFrame) -> None:
    """A Parquet file, every value verbatim.

    errors: InputError when the file cannot be written
    """
    with _writing(path):
        frame.write_parquet(path)


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror or error}") from error


def write_workbook(
    path: Path, sheets: Mapping[str, pl.DataFrame], *, faulty: Mapping[str, Sequence[str | None]] | None = None
) -> None:
    """A workbook with a sheet per frame: headings that stay in view, widths that fit, numbers and dates as such.

    in:     faulty: per sheet, for each row the column to point at
    errors: InputError when a sheet cannot hold all rows and whole cells of a frame, or the file cannot be written
    """
    import xlsxwriter

    for name, frame in sheets.items():
        _check_fits(name, frame)
    options = {
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "constant_memory": True,
    }
    with _writing(path):
        path.open("wb").close()  # says now, in one line, when the file is open elsewhere or the folder is read-only
        packed = io.BytesIO()
        with xlsxwriter.Workbook(packed, options) as book:
            for name, frame in sheets.items():
                _write_sheet(book, name, guarded(_in_words(frame)), (faulty or {}).get(name, ()))
        path.write_bytes(packed.getvalue())


def _check_fits(name: str, frame: pl.DataFrame) -> None:
    if len(frame) > MOST_ROWS_IN_A_SHEET:
        raise InputError(f"{name} has {len(frame):,} rows; a sheet holds {MOST_ROWS_IN_A_SHEET:,}: use csv or parquet")
    for column in frame.select(pl.col(pl.String)):
        longest = column.str.len_chars().max()
        if isinstance(longest, int) and longest >= MOST_IN_A_CELL:
            raise InputError(
                f"{name}: {column.name} has a cell of {longest:,} letters; a cell of a workbook holds fewer than "
                f"{MOST_IN_A_CELL:,}: use csv or parquet"
            )


def _in_words(frame: pl.DataFrame) -> pl.DataFrame:
    """Exact decimals as plain numbers, true and false as yes and no."""
    yes_no = pl.col(pl.Boolean)
    return frame.with_columns(
        pl.col(pl.Decimal).cast(pl.Float64),
        pl.when(yes_no).then(pl.lit("yes")).when(~yes_no).then(pl.lit("no")).name.keep(),
    )


def _write_sheet(book: "xlsxwriter.Workbook", name: str, frame: pl.DataFrame, faulty: Sequence[str | None]) -> None:
    page = book.add_worksheet(name[:LONGEST_SHEET_NAME])
    page.freeze_panes(1, 0)
    heading = book.add_format({"bold": True, "bottom": 1})
    pointed_at = book.add_format({"bg_color": POINTED_AT})
    for at, column in enumerate(frame.iter_columns()):
        page.set_column(at, at, _width(column), _number_format(book, column))
    page.write_row(0, 0, frame.columns, heading)
    for line, row in enumerate(frame.iter_rows(), start=1):
        named = faulty[line - 1] if faulty else None
        for at, cell in enumerate(row):
            _write_cell(page, (line, at), cell, pointed_at if frame.columns[at] == named else None)


def _write_cell(page: Any, place: tuple[int, int], cell: Any, look: Any) -> None:
    """Text always as text; nothing as nothing, so that an empty cell stays empty."""
    if cell is None:
        if look is not None:
            page.write_blank(*place, None, look)
    elif isinstance(cell, str):
        page.write_string(*place, cell, look)
    elif isinstance(cell, (int, float)):
        page.write_number(*place, cell, look)
    else:
        page.write_datetime(*place, cell, look)


def _number_format(book: "xlsxwriter.Workbook", column: pl.Series) -> Any:
    if column.dtype == pl.Date:
        return book.add_format({"num_format": DATE_FORMAT})
    if isinstance(column.dtype, pl.Datetime):
        return book.add_format({"num_format": TIME_FORMAT})
    if column.dtype == pl.Float64 and _is_money(column.name):
        return book.add_format({"num_format": MONEY_FORMAT})
    return None


def _is_money(name: str) -> bool:
    """Money has no unit in its name: a column that ends in cost, price, amount, orders, recovered."""
    return name.endswith(("cost", "price", "amount", "change_orders", "recovered", "revenue", "profit", "overhead"))


def _width(column: pl.Series) -> int:
    shown = column.head(ROWS_MEASURED).cast(pl.String).str.len_chars().max()
    longest = max(len(column.name), shown if isinstance(shown, int) else 0)
    return min(max(longest + 2, NARROWEST), WIDEST)
