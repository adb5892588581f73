"""`areaway dashboards`: the pages for owner, estimator and warranty manager."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, progress

if TYPE_CHECKING:
    from pipeline.runs.dashboards import Dashboards


def dashboards(
    ctx: typer.Context,
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Folder for the pages.")],
    single_file: Annotated[
        bool, typer.Option("--single-file", help="Each page holds all it needs, to be mailed or kept.")
    ] = False,
    pdf: Annotated[bool, typer.Option("--pdf", help="Print each page to PDF with the installed Chromium.")] = False,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """The pages: start, owner, estimator, warranty. They work offline in any browser."""
    from pipeline.runs.dashboards import dashboards_

    book, settings = common(ctx)
    progress("gathering the answers and drawing the pages")
    result = dashboards_(book, settings, out=out, as_of=answer_day(book, as_of), single_file=single_file, pdf=pdf)
    finish(result, as_json, lines(result))


def lines(result: "Dashboards") -> Iterator[str]:
    """The answer as a person reads it."""
    yield f"Pages with the records up to {result['as_of']}; open the first one in a browser:"
    for file in result["files"]:
        if file["path"].endswith((".html", ".pdf")):
            yield f"  {file['path']}  ({file['bytes'] / 1000:,.0f} kB)"
    yield from result["notes"]
