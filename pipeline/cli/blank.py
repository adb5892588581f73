"""`areaway blank`: a workbook to hand out and a check card to print."""

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, finish


def blank(
    ctx: typer.Context,
    out: Annotated[
        Path,
        typer.Option(metavar="FOLDER", help="Folder to write into; made when there is none.", show_default=False),
    ],
    as_json: AsJson = False,
) -> None:
    """An empty workbook with every heading, unit and word list, and a one-page check card."""
    from pipeline.runs.blank import blank_

    _, settings = common(ctx)
    written = blank_(out, settings)
    finish(written, as_json, (f"{one['path']}: {one['what']}" for one in written))
