"""`areaway month`: the month in words, for the owner."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, note

if TYPE_CHECKING:
    from schemas.results_money import Month


def month(
    ctx: typer.Context,
    month: Annotated[
        str | None,
        typer.Argument(metavar="MONTH", help="The month, as 2026-03; the newest with a finished job when left out."),
    ] = None,
    as_of: AsOf = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the month as a page of HTML to this file, too.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """The month in words, with its numbers: what changed, the jobs that explain it, what it means for prices."""
    from pipeline.runs.month import month_, write_month_page

    book, settings = common(ctx)
    result = month_(book, settings, month, as_of=answer_day(book, as_of))
    if out is not None:
        write_month_page(result, out)
        note(f"wrote {out}")
    finish(result, as_json, lines(result))


def lines(result: "Month") -> Iterator[str]:
    """The sentences, one to a line."""
    for sentence in result["sentences"]:
        yield sentence["text"]
