"""`areaway quarantine`: rows that wait, and why; written out to be corrected, or dropped."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, counted, finish

if TYPE_CHECKING:
    from schemas.results_store import QuarantineResult, QuarantineRow

ROWS_SHOWN = 50
TWO_VERSIONS = "keep the row that is right"
HOW_TO_KEEP_ONE = (
    "One record, different rows: write them out with --export FILE.xlsx, delete the wrong line there (unless --drop "
    "took it), and ingest that file; the right row goes in and neither waits any more."
)


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
    """What waits: first the rows that need a hand, one per line, then how many follow by themselves."""
    if result["dropped"]:
        yield f"Dropped {len(result['dropped']):,}; the reason is kept."
    first = [row for row in result["rows"] if not row["follows"]]
    if not (result["dropped"] or result["exported"]):
        yield from _listed(first)
    yield _how_many(result["total"], len(first))
    if any(TWO_VERSIONS in row["reason"] for row in first):
        yield HOW_TO_KEEP_ONE
    if result["exported"]:
        yield f"Wrote {result['exported']}. Correct the cells, keep quarantine_id, and ingest the file."


def _listed(first: Sequence["QuarantineRow"]) -> Iterator[str]:
    for row in first[:ROWS_SHOWN]:
        yield f"{row['quarantine_id']}  {row['kind']}  {row['file']} line {row['row']}: {row['reason']}"
    if len(first) > ROWS_SHOWN:
        yield f"… and {len(first) - ROWS_SHOWN:,} more; --export FILE.xlsx writes them all."


def _how_many(total: int, first: int) -> str:
    if not total:
        return "Nothing waits."
    waiting = f"{counted(total, 'row')} {'waits' if total == 1 else 'wait'}"
    if total == first:
        return f"{waiting}."
    rest = total - first
    others = f"{rest:,} {'other follows by itself' if rest == 1 else 'others follow by themselves'}"
    if not first:
        return f"{waiting} for records of another kind that wait too; see areaway quarantine without --kind."
    return f"{waiting}. Put {'this one' if first == 1 else f'these {first:,}'} right first; {others}."
