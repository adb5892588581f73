"""`areaway quarantine`: rows that wait, and why; written out to be corrected, or dropped."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, counted, finish

if TYPE_CHECKING:
    from schemas.results_store import QuarantineResult

ROWS_SHOWN = 50


def quarantine(
    ctx: typer.Context,
    kind: Annotated[str | None, typer.Option(metavar="KIND", help="Only this kind of record.")] = None,
    export: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write what waits to a .csv (one kind) or .xlsx to correct.")
    ] = None,
    drop: Annotated[
        list[str] | None, typer.Option(metavar="ID", help="Take an entry out for good, by its id; may be repeated.")
    ] = None,
    more: Annotated[
        list[str] | None, typer.Argument(metavar="ID...", help="More ids to drop.", show_default=False)
    ] = None,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why the dropped rows are not needed; kept.")] = "",
    as_json: AsJson = False,
) -> None:
    """What waits, and why. The export can be corrected in a spreadsheet and ingested again."""
    from pipeline.errors import WrongUsage
    from pipeline.runs.quarantine import drop_, quarantine_

    book, settings = common(ctx)
    if more and not drop:
        raise WrongUsage(f"'{more[0]}' is given without --drop; to drop rows: --drop ID... --reason TEXT")
    if drop and (export or kind):
        raise WrongUsage("--drop goes by ids alone; give --kind and --export in a call of their own; nothing dropped")
    result = (
        drop_(book, settings, [*(drop or ()), *(more or ())], reason=reason)
        if drop
        else quarantine_(book, kind=kind, export=export)
    )
    finish(result, as_json, lines(result))


def lines(result: "QuarantineResult") -> Iterator[str]:
    """What waits, one row per line, and what to do about it."""
    if result["dropped"]:
        yield f"Dropped {len(result['dropped'])}; the reason is kept."
    for row in result["rows"][:ROWS_SHOWN]:
        yield f"{row['quarantine_id']}  {row['kind']}  {row['file']} line {row['row']}: {row['reason']}"
    if len(result["rows"]) > ROWS_SHOWN:
        yield f"… and {len(result['rows']) - ROWS_SHOWN:,} more; --export FILE.xlsx writes them all."
    verb = "waits" if result["total"] == 1 else "wait"
    yield f"{counted(result['total'], 'row')} {verb}." if result["total"] else "Nothing waits."
    if result["exported"]:
        yield f"Wrote {result['exported']}. Correct the cells, keep quarantine_id, and ingest the file."
