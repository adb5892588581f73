"""`areaway info`: what the book holds."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, counted, finish, table

if TYPE_CHECKING:
    from schemas.results_store import InfoResult, WarningHeld

BYTES_PER_MB = 1_000_000


def info(
    ctx: typer.Context,
    batches: Annotated[bool, typer.Option("--batches", help="List every ingest.")] = False,
    warnings: Annotated[
        bool, typer.Option("--warnings", help="List every doubt about rows that were kept, of all batches.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """What the book holds: records, date ranges, batches, fitted models, size."""
    from pipeline.runs.info import info_

    book, _ = common(ctx)
    result = info_(book, warnings=warnings)
    finish(result, as_json, lines(result, batches=batches))


def lines(result: "InfoResult", *, batches: bool) -> Iterator[str]:
    """The answer as a person reads it."""
    yield f"{result['book']}: {result['size_bytes'] / BYTES_PER_MB:,.1f} MB, layout {result['schema_version']}"
    yield f"Newest work, completion or callback: {result['as_of'] or 'none yet'}"
    yield ""
    yield from table(
        ["kind", "records", "waiting", "first day", "last day"],
        [
            [kind["kind"], kind["rows"], kind["waiting"], kind["first_date"], kind["last_date"]]
            for kind in result["kinds"]
        ],
    )
    yield ""
    if batches:
        yield from _batch_table(result)
    else:
        yield f"{counted(len(result['batches']), 'batch', 'batches')}; areaway info --batches lists all."
    if "warnings" in result:
        yield from _warnings(result["warnings"])
    if not result["models"]:
        yield "Nothing is fitted yet: areaway fit"
    for model in result["models"]:
        yield f"Fitted: {model['part']}, on records to {model['as_of']}, at {model['fitted_at']:%Y-%m-%d %H:%M}"


def _batch_table(result: "InfoResult") -> list[str]:
    return table(
        ["batch", "taken in", "files", "rows", ""],
        [
            [batch["batch_id"], f"{batch['at']:%Y-%m-%d %H:%M}", batch["files"], batch["rows"],
             "withdrawn" if batch["withdrawn"] else ""]
            for batch in result["batches"]
        ],
    )  # fmt: skip


def _warnings(warnings: "list[WarningHeld]") -> Iterator[str]:
    for warning in warnings:
        place = "" if warning["row"] is None else f" line {warning['row']}"
        column = "" if warning["column"] is None else f" {warning['column']}:"
        yield f"batch {warning['batch_id']}  {warning['kind']}  {warning['file']}{place}:{column} {warning['text']}"
    yield f"Warnings: {len(warnings):,}"
