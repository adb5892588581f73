"""`areaway ingest`: files or folders into the book."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, counted, day, finish, note, progress, table

if TYPE_CHECKING:
    from schemas.results_store import FileResult, IngestResult

WARNINGS_SHOWN = 10


def ingest(
    ctx: typer.Context,
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH...", help="Files or folders.", show_default=False, readable=False)
    ],
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Kind of record, when the names do not tell.")
    ] = None,
    strict: Annotated[bool, typer.Option("--strict", help="Store nothing if any row would wait.")] = False,
    again: Annotated[bool, typer.Option("--again", help="Also files whose content was taken in before.")] = False,
    received: Annotated[
        str | None,
        typer.Option(
            metavar="DATE", help="Day of receipt, as 2026-03-31; no record can be dated after it. Else today."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Take files or folders into the book: CSV, XLSX, Parquet and NOAA daily weather."""
    from pipeline.runs.ingest import Delivery, ingest_

    book, settings = common(ctx)
    delivery = Delivery(paths, kind, strict, again, day(received, "--received"))
    result = ingest_(book, settings, delivery, progress=progress)
    for line in notes(result):
        note(line)
    finish(result, as_json, lines(result))


def notes(result: "IngestResult") -> Iterator[str]:
    """What was decided and doubted about the files, for standard error."""
    for path in result["passed_over"]:
        yield f"{path}: passed over, not a kind of file that holds records"
    for file in result["files"]:
        name = file_name(file)
        if file["same_content_as_batch"] is not None:
            before = file["same_content_as_batch"]
            yield f"{name}: taken in before, in batch {before}; nothing changed (--again takes it anew)"
            continue
        for reading in file["readings"]:
            yield f"{name}: {reading}"
        yield from _first_few([f"{name}: {warning}" for warning in file["warnings"]], more=f"{name}: …")
    yield from _first_few(result["warnings_about_earlier_rows"], more="earlier files: …")


def _first_few(warnings: Sequence[str], *, more: str) -> Iterator[str]:
    yield from warnings[:WARNINGS_SHOWN]
    if len(warnings) > WARNINGS_SHOWN:
        yield f"{more} and {len(warnings) - WARNINGS_SHOWN} more; areaway info --warnings lists them all"


def file_name(file: "FileResult") -> str:
    """The file as given, FILE[Sheet] for a workbook."""
    return file["path"] if file["sheet"] is None else f"{file['path']}[{file['sheet']}]"


def lines(result: "IngestResult") -> Iterator[str]:
    """Where every row went."""
    places = ("rows", "accepted", "updated", "unchanged", "quarantined")
    yield from table(
        ["file", "kind", "rows", "new", "updated", "unchanged", "waiting"],
        [
            [file_name(file), file["kind"], *(file[place] for place in places)]  # type: ignore[literal-required]
            for file in result["files"]
        ],
    )
    yield ""
    yield (
        f"Batch {result['batch_id']}: {counted(result['rows'], 'row')}"
        f" = {result['accepted']:,} new + {result['updated']:,} updated"
        f" + {result['unchanged']:,} unchanged + {result['quarantined']:,} waiting in quarantine."
    )
    if result["released"]:
        yield f"{counted(result['released'], 'row')} that had waited went in now."
    if warnings := _new_warnings(result):
        yield f"Warnings about what was kept: {warnings:,}; areaway info --warnings lists them."
    if result["quarantined"]:
        yield "What waits, and why: areaway quarantine"
        yield "To correct it in a spreadsheet: areaway quarantine --export FILE.xlsx"


def _new_warnings(result: "IngestResult") -> int:
    """Those of files that were not in the book already, and those about rows of earlier batches."""
    of_files = sum(len(file["warnings"]) for file in result["files"] if file["same_content_as_batch"] is None)
    return of_files + len(result["warnings_about_earlier_rows"])
