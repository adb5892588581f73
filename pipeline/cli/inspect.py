"""`areaway inspect`: how each column of new files is understood, with doubts."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.text import common, finish, note, table

if TYPE_CHECKING:
    from schemas.results_intake import InspectedColumn, InspectedFile


def inspect(
    ctx: typer.Context,
    paths: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files or folders.", show_default=False)],
    kind: Annotated[str | None, typer.Option(help="Kind of record, when the names do not tell.")] = None,
    out: Annotated[
        Path, typer.Option(help="Where the starting settings go; never written over.")
    ] = Path("areaway.toml"),
    as_json: Annotated[bool, typer.Option("--json", help="One JSON document.")] = False,
) -> None:
    """Look at files without taking them in: what each column is taken for, and what is doubtful."""
    from pipeline.runs.inspect import inspect_

    _, settings = common(ctx)
    result = inspect_(paths, settings, out, kind=kind)
    written = {"path": result["settings_path"], "what": "starting settings"}
    finish([*result["files"], written], as_json, (line for file in result["files"] for line in lines(file)))
    note(f"wrote {result['settings_path']}: look through it before the first ingest")


def lines(file: "InspectedFile") -> Iterator[str]:
    """One file as a person reads it."""
    name = file["path"] if file["sheet"] is None else f"{file['path']}[{file['sheet']}]"
    counts = "" if file["good"] is None else f": {file['good']:,} good, {file['waiting']:,} would wait"
    yield f"{name} is read as {file['kind']}, {file['rows']:,} rows{counts}"
    if file["missing"]:
        yield f"  missing and needed: {', '.join(file['missing'])}"
    yield from (f"  {doubt}" for doubt in file["doubts"])
    yield from (f"  {line}" for line in table(["heading", "our column", "read as", "filled", "for example"],
                                              [_row(column) for column in file["columns"]]))  # fmt: skip
    for column in file["columns"]:
        yield from (f"  {reading}" for reading in column["readings"])
        yield from (f"  {column['header']}: {doubt}" for doubt in column["doubts"])
        for cell in column["refused"]:
            yield f"  {column['header']}: '{cell['text']}' cannot be read; {cell['rule']}"
    yield ""


def _row(column: "InspectedColumn") -> list[object]:
    ours = column["column"] or (f"kept out; {column['nearest']}?" if column["nearest"] else "kept out")
    read_as = f"{column['read_as']} in {column['unit']}" if column["unit"] not in (None, "date") else column["read_as"]
    example = "; ".join(f"{cell['text']} → {cell['value']}" for cell in column["examples"])
    return [column["header"], ours, read_as, column["filled"], example or None]
