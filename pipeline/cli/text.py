"""What a person or a program reads: one JSON document, or lines and tables in plain words."""

import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import typer

from pipeline.settings import Settings, load_settings

NOTHING = "–"
MINUS = "\u2212"
SIGNS = f"-+${MINUS}"


def common(ctx: typer.Context) -> tuple[Path, Settings]:
    """The book's path and the settings, from the options before the command."""
    return ctx.obj["book"], load_settings(ctx.obj["settings"])


def day(text: str | None, option: str) -> date | None:
    """A date option as a date.

    errors: WrongUsage when it is not an ISO date
    """
    from pipeline.errors import WrongUsage

    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise WrongUsage(f"{option} is '{text}'; it must be a date such as 2026-03-31") from error


def finish(result: Any, as_json: bool, lines: Iterable[str]) -> None:
    """Print the whole answer: one JSON document, or the lines a person reads."""
    if as_json:
        print(json.dumps(result, default=_plain, ensure_ascii=False, indent=2, allow_nan=False))
        return
    for line in lines:
        print(line)


def _plain(value: object) -> object:
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    raise TypeError(f"no JSON form for {type(value).__name__}")


def answer_day(book: Path, as_of: str | None) -> date | None:
    """The day an answer is asked for; a note when the book ends before it, as the days between count as quiet ones.

    errors: WrongUsage when it is not an ISO date
    """
    from pipeline.errors import UserError
    from pipeline.runs.as_of import newest_day

    on = day(as_of, "--as-of")
    if on is None:
        return None
    try:
        newest = newest_day(book)
    except UserError:
        return on  # no book to hold the day against: the command says so, after looking at its own options
    if newest is not None and on > newest:
        note(
            f"note: the book's newest record is of {newest}. The {counted((on - newest).days, 'day')} up to {on} "
            "count as days without work and without a callback; leave --as-of out to answer as of the newest record"
        )
    return on


def note(text: str) -> None:
    """A note or warning, on standard error."""
    print(text, file=sys.stderr)


def progress(text: str) -> None:
    """A step of long work, on standard error."""
    print(f"… {text}", file=sys.stderr, flush=True)


def counted(number: int, one: str, many: str = "") -> str:
    """A count with its noun: 1 row, 2 rows, 1 batch, 1,250 batches."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def usd(amount: float | Decimal | None, *, cents: bool = False) -> str:
    """Money for a reader: $1,250, or with cents $1,250.00; a dash when there is none."""
    if amount is None:
        return NOTHING
    figure = f"${abs(amount):,.2f}" if cents else f"${abs(amount):,.0f}"
    return f"{MINUS}{figure}" if figure.strip("$0.,") and amount < 0 else figure


def hours(value: float | Decimal | None) -> str:
    """Hours for a reader, to a tenth."""
    return NOTHING if value is None else f"{value:,.1f} h"


def percent(share: float | Decimal | None, *, digits: int = 0) -> str:
    """A share of 1 as a percentage."""
    return NOTHING if share is None else f"{100 * share:.{digits}f} %".replace("-", MINUS)


def table(headers: Sequence[str], body: Sequence[Sequence[object]]) -> list[str]:
    """A table in aligned columns: text to the left, figures to the right."""
    cells = [[NOTHING if cell is None else str(cell) for cell in row] for row in body]
    widths = [max(len(line[at]) for line in [list(headers), *cells]) for at in range(len(headers))]
    left = [all(not _looks_numeric(row[at]) for row in cells) for at in range(len(headers))]
    return [_line(row, widths, left) for row in [list(headers), ["─" * width for width in widths], *cells]]


def _looks_numeric(cell: str) -> bool:
    return cell[:1].isdigit() or cell[:2].lstrip(SIGNS).isdigit() or cell[:3].lstrip(SIGNS).isdigit()


def _line(row: Sequence[str], widths: Sequence[int], left: Sequence[bool]) -> str:
    padded = [
        cell.ljust(width) if to_left else cell.rjust(width)
        for cell, width, to_left in zip(row, widths, left, strict=True)
    ]
    return "  ".join(padded).rstrip()
