"""Reading text tables with care: quoted line breaks, stray inch marks, quotes that never close."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

QUOTE = '"'
LINES_IN_A_CELL = 40  # a quote that has not closed after so many lines is a stray mark


@dataclass(frozen=True)
class Record:
    """One row: the line on which it starts, the line after it (both counted from 0), and its cells."""

    line: int
    next_line: int
    cells: Sequence[str]


def careful_records(lines: Sequence[str], separator: str, width: int | None) -> Iterator[Record]:
    """All records of a text.

    in: width: cells of the header, which tells a stray quote from a quoted cell; None when not known yet
    """
    at = 0
    while at < len(lines):
        record = _record(lines, at, separator, width)
        yield record
        at = record.next_line


def _record(lines: Sequence[str], at: int, separator: str, width: int | None) -> Record:
    line = lines[at]
    if QUOTE not in line:
        return Record(at, at + 1, line.split(separator))
    readings = list(_readings(lines, at, separator, width))
    for fits in (_exactly, _at_most):
        for record in readings:
            if width is None or fits(record.cells, width):
                return record
    return readings[0]


def _exactly(cells: Sequence[str], width: int) -> bool:
    return len(cells) == width


def _at_most(cells: Sequence[str], width: int) -> bool:
    return len(cells) <= width or not any(cell.strip() for cell in cells[width:])


def _readings(lines: Sequence[str], at: int, separator: str, width: int | None) -> Iterator[Record]:
    """The ways to read a line with quotes, the likeliest first."""
    whole = split_cells(lines[at], separator)
    loose = split_cells(lines[at], separator, double_mark_closes=True)
    if whole is not None:
        yield Record(at, at + 1, whole)
    elif (longer := _over_lines(lines, at, separator)) is not None:
        if loose is not None and len(loose) == width and _is_whole(lines[at + 1], separator, width):
            yield Record(at, at + 1, loose)
        yield longer
    if loose is not None:
        yield Record(at, at + 1, loose)
    yield Record(at, at + 1, lines[at].split(separator))


def _is_whole(line: str, separator: str, width: int) -> bool:
    """Whether a line is a record of its own rather than the rest of the one before."""
    cells = split_cells(line, separator)
    return cells is not None and len(cells) == width


def _over_lines(lines: Sequence[str], at: int, separator: str) -> Record | None:
    """A record whose quoted cell holds line breaks."""
    text = lines[at]
    for following in range(at + 1, min(at + LINES_IN_A_CELL, len(lines))):
        text = f"{text}\n{lines[following]}"
        if QUOTE not in lines[following]:
            continue
        cells = split_cells(text, separator)
        if cells is not None:
            return Record(at, following + 1, cells)
    return None


def split_cells(text: str, separator: str, *, double_mark_closes: bool = False) -> list[str] | None:
    """The cells of a record; None when a quoted cell does not close.

    A quote inside a cell that is not followed by a separator is an inch mark and stays.
    in: double_mark_closes: "54"" is 54 inches in quotes, where the mark should have been written twice
    """
    cells = []
    at = 0
    while True:
        start = at + len(text[at:]) - len(text[at:].lstrip(" ")) if text[at : at + 1] == " " else at
        if text[start : start + 1] == QUOTE:
            end = _closing(text, start + 1, separator, double_mark_closes=double_mark_closes)
            if end is None:
                return None
            cells.append(text[start + 1 : end].replace(QUOTE * 2, QUOTE))
            at = _after(text, end + 1, separator)
        else:
            end = text.find(separator, at)
            cells.append(text[at:] if end < 0 else text[at:end])
            at = len(text) + 1 if end < 0 else end + 1
        if at > len(text):
            return cells


def _after(text: str, at: int, separator: str) -> int:
    """Where the next cell begins; beyond the text when there is none."""
    found = text.find(separator, at)
    return len(text) + 1 if found < 0 else found + 1


def _closing(text: str, at: int, separator: str, *, double_mark_closes: bool) -> int | None:
    """Where the quote stands that closes a cell."""
    while (found := text.find(QUOTE, at)) >= 0:
        doubled = text[found + 1 : found + 2] == QUOTE
        if doubled and not (double_mark_closes and _ends_cell(text, found + 2, separator)):
            at = found + 2
        elif doubled:
            return found + 1
        elif _ends_cell(text, found + 1, separator):
            return found
        else:
            at = found + 1
    return None


def _ends_cell(text: str, at: int, separator: str) -> bool:
    rest = text[at:].lstrip(" ") if text[at : at + 1] == " " else text[at : at + 1]
    return not rest or rest.startswith(separator)
