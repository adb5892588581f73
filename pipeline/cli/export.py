"""`areaway export`: every table and view, to take elsewhere."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, finish, note, table

if TYPE_CHECKING:
    from pipeline.settings import Settings


def export(
    ctx: typer.Context,
    out: Annotated[
        Path,
        typer.Option(metavar="FOLDER", help="Folder to write into; made when there is none.", show_default=False),
    ],
    form: Annotated[str, typer.Option("--format", metavar="FORMAT", help="csv, parquet or xlsx.")] = "csv",
    as_json: AsJson = False,
) -> None:
    """Every record, every version of it, what waits, and the views named for people."""
    from pipeline.runs.export import export_

    book, settings = common(ctx)
    written = export_(book, out, form=form)
    if settings.units:
        note(
            f"Lengths and temperatures are written in the unit of the column's name. [units] gives {_units(settings)}: "
            "leave [units] out of the settings when these files are taken in again."
        )
    finish(
        written, as_json, table(["file", "what", "rows"], [[one["path"], one["what"], one["rows"]] for one in written])
    )


def _units(settings: "Settings") -> str:
    return ", ".join(f"{column} in {unit}" for column, unit in settings.units.items())
