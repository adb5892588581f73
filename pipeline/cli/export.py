"""`areaway export`: every table and view, to take elsewhere."""

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.text import common, finish, table


def export(
    ctx: typer.Context,
    out: Annotated[Path, typer.Option(help="Folder to write into; made when there is none.", show_default=False)],
    form: Annotated[str, typer.Option("--format", help="csv, parquet or xlsx.")] = "csv",
    as_json: Annotated[bool, typer.Option("--json", help="One JSON document.")] = False,
) -> None:
    """Every record, every version of it, what waits, and the views named for people."""
    from pipeline.runs.export import export_

    book, _ = common(ctx)
    written = export_(book, out, form=form)
    finish(
        written, as_json, table(["file", "what", "rows"], [[one["path"], one["what"], one["rows"]] for one in written])
    )
