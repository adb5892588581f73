"""Text tables: encodings, separators, the header's line, and rows that keep their line numbers."""

import codecs
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

import polars as pl

from pipeline.errors import InputError
from pipeline.intake.quoted import Record, careful_records
from pipeline.intake.raw import NO_FAULTS, RawColumn, RawTable

SEPARATORS = (",", ";", "\t")
BLANKS = " ,;\t"  # a line of nothing else is no header
HEADER_WITHIN = 10  # house rule: a title above the header is passed over when the header stands within these lines
Score = Callable[[Sequence[str]], int]


@dataclass(frozen=True)
class Decoded:
    """A file's text as UTF-8 bytes with \\n or \\r\\n at line ends, and the encoding it was in."""

    data: bytes
    encoding: str


@dataclass(frozen=True)
class HeaderFound:
    """The header's cells, the separator, and where the rows begin: line counted from 0 and byte."""

    cells: tuple[str, ...]
    separator: str
    body_line: int
    body_at: int


def decoded(data: bytes, name: str) -> Decoded:
    """The bytes of a text file as UTF-8.

    errors: InputError when they are no text
    """
    for mark, encoding in ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16")):
        if data.startswith(mark):
            data = _recoded(data, encoding, name)
            return Decoded(_line_ends(data), encoding)
    if b"\0" in data:
        raise InputError(f"{name} is not a text table: it holds bytes that are no letters; save it as CSV or XLSX")
    data = data.removeprefix(codecs.BOM_UTF8)
    if data.isascii():
        return Decoded(_line_ends(data), "utf-8")
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return Decoded(_line_ends(_from_windows(data)), "Windows-1252")
    return Decoded(_line_ends(data), "utf-8")


def _recoded(data: bytes, encoding: str, name: str) -> bytes:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        raise InputError(f"{name} cannot be read as text: {error.reason}; save it as CSV (UTF-8)") from error
    if "\0" in text:
        raise InputError(f"{name} is not a text table: it holds bytes that are no letters; save it as CSV or XLSX")
    return text.encode()


def _from_windows(data: bytes) -> bytes:
    try:
        return data.decode("cp1252").encode()
    except UnicodeDecodeError:
        return data.decode("latin-1").encode()  # five bytes have no Windows-1252 letter; Latin-1 has one for each


def _line_ends(data: bytes) -> bytes:
    """Where no line feed ends a line, carriage returns do, as an old spreadsheet program left them."""
    return data if b"\n" in data else data.replace(b"\r", b"\n")


def find_header(data: bytes, score: Score, name: str) -> HeaderFound:
    """The header: of the first lines, the one with the most headings that we know.

    errors: InputError when the file holds no line with anything in it
    """
    lines = _first_lines(data, HEADER_WITHIN + 1)
    given = _separator_line(lines)
    best: tuple[int, int, int, HeaderFound] | None = None
    for separator in (given,) if given else SEPARATORS:
        for record in careful_records(lines, separator, None):
            if record.line >= HEADER_WITHIN or not any(cell.strip(BLANKS) for cell in record.cells):
                continue
            if given and record.line == 0:
                continue
            found = HeaderFound(tuple(record.cells), separator, record.next_line, 0)
            rank = (score(record.cells), sum(1 for cell in record.cells if cell.strip()), -record.line, found)
            best = rank if best is None or rank[:3] > best[:3] else best
    if best is None:
        raise InputError(f"{name}: the file is empty; a header with the names of the columns is needed")
    header = best[3]
    return HeaderFound(header.cells, header.separator, header.body_line, _offset(data, header.body_line))


def _separator_line(lines: Sequence[str]) -> str:
    """The separator that a first line `sep=;` names, as some spreadsheet programs write it."""
    first = lines[0].strip().strip('"') if lines else ""
    return first[4] if first[:4].lower() == "sep=" and len(first) == 5 else ""


def _first_lines(data: bytes, count: int) -> list[str]:
    end = 0
    for _ in range(count):
        at = data.find(b"\n", end)
        if at < 0:
            return text_lines(data)
        end = at + 1
    return text_lines(data[:end])


def text_lines(data: bytes) -> list[str]:
    """The lines of a text without their ends."""
    lines = data.decode("utf-8").replace("\r\n", "\n").split("\n")
    return lines[:-1] if lines and not lines[-1] else lines


def _offset(data: bytes, line: int) -> int:
    at = 0
    for _ in range(line):
        found = data.find(b"\n", at)
        if found < 0:
            return len(data)
        at = found + 1
    return at


def _trimmed(cells: Sequence[str]) -> list[str]:
    kept = list(cells)
    while kept and not kept[-1].strip():
        kept.pop()
    return kept


def read_rows(data: bytes, header: HeaderFound) -> RawTable:
    """The rows under the header, each with the line on which it starts; blank lines are no rows."""
    frame = _fast(data, header)
    if frame is None:
        return _careful(data, header)
    lines = pl.int_range(1, frame.height + 1, eager=True, dtype=pl.Int64) + header.body_line
    return _without_blank_rows(frame, lines, header, NO_FAULTS)


def _fast(data: bytes, header: HeaderFound) -> pl.DataFrame | None:
    """All rows by the fast reader; None when quotes or cells are not as they must be for its answer to be certain."""
    width = len(header.cells)
    names = header.separator.join(f"c{at}" for at in range(width)).encode()
    body = memoryview(data)[header.body_at :]
    lines = data.count(b"\n", header.body_at) + (len(body) > 0 and not data.endswith(b"\n"))
    if lines == 0:
        return pl.DataFrame(schema={f"c{at}": pl.String for at in range(width)})
    try:
        frame = pl.read_csv(b"".join([names, b"\n", body]), infer_schema=False, separator=header.separator)
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException):
        return None
    if frame.height != lines or frame.width != width:
        return None
    return frame if _quotes_are_certain(data, header.body_at, frame) else None


def _quotes_are_certain(data: bytes, start: int, frame: pl.DataFrame) -> bool:
    """Whether every quote in a cell was written twice, so that none of them can be a stray inch mark."""
    if data.find(b'"', start) < 0:
        return True
    in_cells = sum(int(column.str.count_matches('"', literal=True).sum() or 0) for column in frame)
    return in_cells == 0 or in_cells == data.count(b'""', start)


def _careful(data: bytes, header: HeaderFound) -> RawTable:
    lines = text_lines(data[header.body_at :])
    width = len(header.cells)
    records = [record for record in careful_records(lines, header.separator, width) if _is_row(record)]
    cells = list(zip(*(_fitted(record.cells, width) for record in records), strict=True))
    columns = cells if cells else [()] * width
    frame = pl.DataFrame({f"c{at}": pl.Series(column, dtype=pl.String) for at, column in enumerate(columns)})
    starts = pl.Series([record.line + header.body_line + 1 for record in records], dtype=pl.Int64)
    return _without_blank_rows(frame, starts, header, _too_wide(records, header))


def _is_row(record: Record) -> bool:
    return any(cell.strip() for cell in record.cells)


def _fitted(cells: Sequence[str], width: int) -> Sequence[str | None]:
    if len(cells) == width:
        return cells
    return [cell for cell, _ in zip_longest(cells[:width], range(width))]


def _too_wide(records: Sequence[Record], header: HeaderFound) -> pl.DataFrame:
    """Rows with more cells than the header: what stands beyond it, and what may be the cause."""
    width = len(header.cells)
    wide = [(at, _trimmed(record.cells)) for at, record in enumerate(records) if len(record.cells) > width]
    found = [
        (at, None, header.separator.join(cells[width:]),
         f"{len(cells)} cells, but the header has {width}; put a cell that holds a separator in quotes")
        for at, cells in wide
        if len(cells) > width
    ]  # fmt: skip
    return pl.DataFrame(found, schema=NO_FAULTS.schema, orient="row") if found else NO_FAULTS


def _without_blank_rows(frame: pl.DataFrame, lines: pl.Series, header: HeaderFound, faults: pl.DataFrame) -> RawTable:
    blank = pl.int_range(frame.height, eager=True)
    for column in frame:
        cells = column.gather(blank)
        blank = blank.filter(cells.is_null() | (cells.str.strip_chars() == ""))
        if blank.is_empty():
            break
    if not blank.is_empty() and frame.width:
        keep = ~pl.int_range(frame.height, eager=True).is_in(blank.implode())
        frame, lines = frame.filter(keep), lines.filter(keep)
    columns = [RawColumn(heading, frame[f"c{at}"]) for at, heading in enumerate(header.cells)]
    return RawTable(columns, lines, faults)
