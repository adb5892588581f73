"""A starting settings file for a new firm: what its files need said, each line to be looked at by a person."""

import json
from collections.abc import Sequence

from schemas.results_intake import InspectedColumn, InspectedFile

OPENING = (
    "# Settings for areaway, begun from the files that were looked at.",
    "# Lines with a # are suggestions: take the # off where they are right, and correct them where they are not.",
    "",
    "[firm]",
    "# overhead_per_labour_hour = 18.0",
    "# standard_hourly_cost = 42.0",
    "# target_margin = 0.35",
    "# warranty_months = 24",
    "",
    "[limits]",
    "# anchor_torque_max_lbft = { max = 20 }   # from the anchor maker's sheet",
)


def starting_settings(files: Sequence[InspectedFile]) -> str:
    """The text of areaway.toml for these files; as it stands it changes nothing."""
    parts = [*OPENING]
    for kind in dict.fromkeys(file["kind"] for file in files):
        parts += _section(f"headers.{kind}", _headings([file for file in files if file["kind"] == kind]))
    columns = [column for file in files for column in file["columns"]]
    for name in dict.fromkeys(_ours(column) for column in columns if column["read_as"] == "word"):
        parts += _section(f"words.{name}", _words([column for column in columns if _ours(column) == name]))
    parts += _section("dates", _undecided(columns, "date", '"mdy"', '"dmy"'))
    numeric = [column for column in columns if column["read_as"] not in ("date", None) and column["doubts"]]
    parts += _section("numbers", ['# decimal = ","   # bare numbers could be read in two ways'] if numeric else [])
    parts += _section("units", _units(files))
    return "\n".join(parts) + "\n"


def _section(name: str, lines: Sequence[str]) -> list[str]:
    return ["", f"[{name}]", *dict.fromkeys(lines)] if lines else []


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _headings(files: Sequence[InspectedFile]) -> list[str]:
    lines = []
    for file in files:
        for column in file["columns"]:
            if column["column"] is None:
                lines.append(f"# {_quoted(column['header'])} = {_quoted(column['nearest'] or 'our column')}")
        lines += [f"# missing and needed: {name}" for name in file["missing"]]
    return lines


def _ours(column: InspectedColumn) -> str:
    """The column of ours that it is, or that it is most like."""
    return column["column"] or column["nearest"] or column["header"]


def _words(columns: Sequence[InspectedColumn]) -> list[str]:
    return [
        f"# {_quoted(refused['text'])} = {_quoted('our word')}   # {refused['rule']}"
        for column in columns
        for refused in column["refused"]
    ]


def _undecided(columns: Sequence[InspectedColumn], kind: str, first: str, other: str) -> list[str]:
    return [
        f"# {_ours(column)} = {first}   # or {other}: {'; '.join(column['doubts'])}"
        for column in columns
        if column["read_as"] == kind and column["doubts"]
    ]


def _units(files: Sequence[InspectedFile]) -> list[str]:
    """Measured columns that hold bare numbers, with the unit in which they are read now."""
    return [
        f"# {_ours(column)} = {_quoted(column['unit'])}   # bare numbers are read so; e.g. \"cm\", \"ft\""
        for file in files
        for column in file["columns"]
        if column["read_as"] == "length" and column["unit"] and column["filled"]
    ]
