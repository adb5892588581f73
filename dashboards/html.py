"""The pieces a page is put together from: big figures, tables, sections, notes, data blocks."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from dashboards.words import NOTHING, esc

ONE_FIGURE = r"[\u2212-]?\$?(?:0|[1-9][\d,]*)?(?:\.\d+)?(?:\u00a0[%h])?"  # not a date, not an id such as 0991
FIGURE = re.compile(rf"{ONE_FIGURE}(?: to {ONE_FIGURE})?")
DAY = re.compile(r"\d{1,2} [A-Z][a-z]{2} \d{4}")
TALL_ROWS = 16  # a longer table scrolls inside itself


@dataclass(frozen=True)
class Big:
    """One large figure: what it is, its value and unit, its range, what to compare it with."""

    label: str
    value: str
    unit: str = ""
    spread: str = ""
    compare: str = ""
    alert: bool = False


@dataclass(frozen=True)
class Raw:
    """A cell that is markup of ours already, such as a link; figures: a place the page's script fills with one."""

    markup: str
    figures: bool = False


Cell = str | int | float | Raw | None


@dataclass(frozen=True)
class Table:
    """Headings and rows; text is escaped, figures stand to the right.

    row_ids: where a link to a row leads; row_marks: what a choice on the page finds a row by.
    """

    caption: str
    headers: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    row_ids: Sequence[str] = ()
    row_marks: Sequence[Mapping[str, str]] = ()


def bigs(figures: Sequence[Big]) -> str:
    """The row of large figures at the head of a page."""
    return f'<dl class="bigs">{"".join(_big(figure) for figure in figures)}</dl>' if figures else ""


def _big(figure: Big) -> str:
    small = "".join(
        f'<span class="{name}">{esc(text)}</span>'
        for name, text in (("spread", figure.spread), ("compare", figure.compare))
        if text
    )
    look = " alert" if figure.alert else ""
    return (
        f'<div class="big{look}"><dt>{esc(figure.label)}</dt><dd><span class="value">{esc(figure.value)}</span>'
        f' <span class="unit">{esc(figure.unit)}</span>{small}</dd></div>'
    )


def table(content: Table) -> str:
    """A table whose columns can be sorted from the keyboard; scrolls inside itself on a narrow screen."""
    right = [_is_figures(content.rows, at) for at in range(len(content.headers))]
    head = "".join(_heading(name, right[at]) for at, name in enumerate(content.headers))
    ids = content.row_ids or ("",) * len(content.rows)
    places = [marks_of(marks) for marks in content.row_marks] or ("",) * len(content.rows)
    lines = zip(content.rows, ids, places, strict=True)
    body = "".join(_row(row, right, f"{_place(name)}{marks}") for row, name, marks in lines)
    look = "scroll tall" if len(content.rows) > TALL_ROWS else "scroll"
    return (
        f'<div class="{look}" role="region" aria-label="{esc(content.caption)}" tabindex="0"><table>'
        f"<caption>{esc(content.caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
    )


def _heading(name: str, right: bool) -> str:
    return f'<th scope="col"{_side(right)}><button type="button" class="sort">{esc(name)}</button></th>'


def marks_of(marks: Mapping[str, str]) -> str:
    """Attributes such as data-branch="north", escaped."""
    return "".join(f' data-{name}="{esc(value)}"' for name, value in marks.items())


def _place(name: str) -> str:
    return f' id="{name}" tabindex="-1"' if name else ""


def _row(row: Sequence[Cell], right: Sequence[bool], place: str) -> str:
    cells = "".join(f"<td{_side(right[at]) or _day(cell)}>{cell_markup(cell)}</td>" for at, cell in enumerate(row))
    return f"<tr{place}>{cells}</tr>"


def cell_markup(cell: Cell) -> str:
    """A cell as markup: a dash for nothing, our own markup as it is, all else escaped."""
    if cell is None or cell == "":
        return NOTHING
    return cell.markup if isinstance(cell, Raw) else esc(cell)


def _side(right: bool) -> str:
    return ' class="figures"' if right else ""


def _day(cell: Cell) -> str:
    return ' class="dates"' if isinstance(cell, str) and DAY.fullmatch(cell) else ""


def _is_figures(rows: Sequence[Sequence[Cell]], at: int) -> bool:
    cells = [row[at] for row in rows if row[at] not in (None, "", NOTHING)]
    return bool(cells) and all(_looks_numeric(cell) for cell in cells)


def _looks_numeric(cell: Cell) -> bool:
    return cell.figures if isinstance(cell, Raw) else FIGURE.fullmatch(str(cell)) is not None


def section(title: str, *parts: str, name: str = "") -> str:
    """A section of a page under its heading."""
    place = f' id="{name}"' if name else ""
    return f"<section{place}><h2>{esc(title)}</h2>{''.join(parts)}</section>"


def paragraph(text: str, look: str = "") -> str:
    """A sentence of ours or of a record, escaped."""
    return f'<p class="{look}">{esc(text)}</p>' if look else f"<p>{esc(text)}</p>"


def too_few(text: str) -> str:
    """What stands where the records cannot carry an answer: what is needed."""
    return f'<p class="too-few">{esc(text)}</p>'


def bullets(texts: Sequence[str]) -> str:
    """Sentences as a list."""
    return f"<ul>{''.join(f'<li>{esc(text)}</li>' for text in texts)}</ul>" if texts else ""


def disclosure(summary: str, content: str) -> str:
    """Content that opens on demand."""
    return f"<details><summary>{esc(summary)}</summary>{content}</details>"


def data_block(name: str, content: Mapping[str, Any] | Sequence[Any], *, look: str = "") -> str:
    """Data for a script of the page."""
    return json_block(name, json.dumps(content, default=_plain, separators=(",", ":"), allow_nan=False), look=look)


def json_block(name: str, text: str, *, look: str = "") -> str:
    """JSON text in a page; no `<` is left in it, so it cannot end its own block."""
    harmless = text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    extra = f' class="{look}"' if look else ""
    return f'<script type="application/json" id="{esc(name)}"{extra}>{harmless}</script>'


def _plain(value: object) -> object:
    return float(value) if isinstance(value, Decimal) else str(value)
