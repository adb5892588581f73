"""`areaway inspect`: how each column of new files is understood, with doubts."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson
from pipeline.cli.text import common, counted, finish, note, table

if TYPE_CHECKING:
    from schemas.results_intake import InspectedColumn, InspectedFile

REFUSED_SHOWN = 3


def inspect(
    ctx: typer.Context,
    paths: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="Files or folders.", show_default=False, readable=False)
    ],
    kind: Annotated[
        str | None, typer.Option(metavar="KIND", help="Kind of record, when the names do not tell.")
    ] = None,
    out: Annotated[
        Path, typer.Option(metavar="FILE", help="Where the starting settings go; never written over.")
    ] = Path("areaway.toml"),
    as_json: AsJson = False,
) -> None:
    """Look at files without taking them in: what each column is taken for, and what is doubtful."""
    from pipeline.runs.inspect import inspect_

    _, settings = common(ctx)
    result = inspect_(paths, settings, out, kind=kind)
    written = {"path": result["settings_path"], "what": "starting settings"}
    told = (line for file in result["files"] for line in lines(file))
    finish([*result["files"], written], as_json, [*told, *ending(result["files"])])
    note(f"wrote {result['settings_path']}: look through it before the first ingest")
    if Path(result["settings_path"]) != out:
        note(f"{out} was there already and stays as it is: copy over what you want of the new one")


def lines(file: "InspectedFile") -> Iterator[str]:
    """One file as a person reads it."""
    name = file["path"] if file["sheet"] is None else f"{file['path']}[{file['sheet']}]"
    yield f"{name}: {file['kind'] if file['kind_doubt'] is None else 'kind not known'}, {counted(file['rows'], 'row')}"
    yield f"  {_outcome(file)}"
    yield from (f"  {doubt}" for doubt in file["doubts"])
    if file["columns"]:
        yield from (f"  {line}" for line in table(["your heading", "our column", "read as", "filled", "for example"],
                                                  [_row(column) for column in file["columns"]]))  # fmt: skip
    for column in file["columns"]:
        yield from _notes(column)
    yield ""


def _outcome(file: "InspectedFile") -> str:
    """What ingest would do with the file."""
    if file["kind_doubt"] is not None:
        return f"{file['kind_doubt']}. Until then ingest stops here (exit 3). Most like {file['kind']}, shown so:"
    if file["missing"]:
        verb = "has no column for" if len(file["missing"]) == 1 else "has no columns for"
        needed = f"{verb} {', '.join(file['missing'])}, needed in every file of {file['kind']}"
        return f"{needed}; ingest would stop here (exit 3)"
    if file["good"] is None or file["waiting"] is None:
        return "ingest would stop here (exit 3)"
    waiting = f"{counted(file['waiting'], 'row')} would wait" if file["waiting"] else "none would wait"
    return f"with the starting settings {counted(file['good'], 'row')} can go in, {waiting}"


def _notes(column: "InspectedColumn") -> Iterator[str]:
    """What was decided, doubted and refused in a column."""
    if column["why_unsure"]:
        yield f"  {column['header']}: perhaps {column['nearest']}; {column['why_unsure']}"
    yield from (f"  {reading}" for reading in column["readings"] if not column["doubts"])
    yield from (f"  {column['header']}: {doubt}" for doubt in column["doubts"])
    for cell in column["refused"][:REFUSED_SHOWN]:
        yield f"  {column['header']}: '{cell['text']}' cannot be read; {cell['rule']}"
    more = len(column["refused"][REFUSED_SHOWN:]) + column["refused_more"]
    if more:
        yield f"  {column['header']}: … and {more} more that cannot be read"


def _row(column: "InspectedColumn") -> list[object]:
    is_measured = column["unit"] not in (None, "date", "h")
    read_as = f"{column['read_as']} [{column['unit']}]" if is_measured else column["read_as"]
    example = "; ".join(_example(cell["text"], cell["value"]) for cell in column["examples"])
    return [column["header"], _ours(column), read_as, column["filled"], example or None]


def _example(text: str, value: str) -> str:
    return f"'{text}'" if text == value else f"'{text}' → {value}"


def _ours(column: "InspectedColumn") -> str:
    if column["column"]:
        return column["column"]
    if column["nearest"] is None:
        return "kept out"
    return f"{column['nearest']}?" if column["why_unsure"] else f"{column['nearest']} (by the settings)"


def ending(files: "list[InspectedFile]") -> Iterator[str]:
    """What to do next."""
    stopping = [file for file in files if file["good"] is None]
    if stopping:
        verb = "would stop" if len(stopping) == 1 else "would each stop"
        yield f"{counted(len(stopping), 'file')} {verb} an ingest of the whole folder, with nothing stored; see above."
    if any(column["why_unsure"] for file in files for column in file["columns"]):
        yield "Columns with a ? are kept out until you take the # off their line in the settings."
