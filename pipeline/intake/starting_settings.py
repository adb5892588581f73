"""A starting settings file for a new firm: what is sure stands ready, what is not waits behind a #, with the doubt."""

import json
from collections.abc import Iterator, Mapping, Sequence

from pipeline.intake.guesses import FEW_WORDS
from schemas.results_intake import InspectedColumn, InspectedFile

DAY_FIRST = "day first, because"
OPENING = (
    "# Settings for areaway, begun from the files that were looked at. Look through them before the first ingest.",
    "# A line without a # is in force. A line with a # is a suggestion: take the # off where it is right,",
    "# and correct it where it is not.",
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


def starting_settings(looked_at: Sequence[InspectedFile], words: Mapping[str, Mapping[str, str]]) -> str:
    """The text of areaway.toml for these files; a file whose kind cannot be told has no part in it.

    in: words: column -> their word -> ours, of the words that are sure
    """
    files = [file for file in looked_at if file["kind_doubt"] is None]
    parts = [*OPENING]
    for kind in dict.fromkeys(file["kind"] for file in files):
        parts += _section(f"headers.{kind}", list(_headings([file for file in files if file["kind"] == kind])))
    columns = [column for file in files for column in file["columns"]]
    listed = [_ours(column) for column in columns if column["read_as"] == "word"]
    for name in dict.fromkeys(listed):
        own = [column for column in columns if column["read_as"] == "word" and _ours(column) == name]
        parts += _section(f"words.{name}", [*_known_words(words.get(name, {})), *_words(own)])
    parts += _section("dates", _undecided_dates(columns))
    numeric = [column for column in columns if column["read_as"] not in ("date", None) and column["doubts"]]
    parts += _section("numbers", ['# decimal = ","   # bare numbers could be read in two ways'] if numeric else [])
    said = [column for file in files if not file["units_to_say"] for column in file["columns"]]
    parts += _section("units", [*_units_to_say(files), *_units(said)])
    return "\n".join(parts) + "\n"


def _section(name: str, lines: Sequence[str]) -> list[str]:
    return ["", f"[{name}]", *dict.fromkeys(lines)] if lines else []


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _one_line(text: str) -> str:
    """A text that ends no comment before its time."""
    return " ".join(text.split())


def _headings(files: Sequence[InspectedFile]) -> Iterator[str]:
    for file in files:
        for column in file["columns"]:
            if column["column"] is not None:
                continue
            line = f"{_quoted(column['header'])} = {_quoted(column['nearest'] or 'our column')}"
            if column["nearest"] is None:
                yield f"# {line}"
            else:
                yield f"# {line}   # {_one_line(column['why_unsure'])}" if column["why_unsure"] else line
        for name in file["missing"]:
            yield f"# missing and needed in {_one_line(file['path'])}: {name}"


def _ours(column: InspectedColumn) -> str:
    """The column of ours that it is, or that it is taken for."""
    return column["column"] or column["nearest"] or column["header"]


def _known_words(pairs: Mapping[str, str]) -> list[str]:
    return [f"{_quoted(theirs)} = {_quoted(ours)}" for theirs, ours in pairs.items()]


def _words(columns: Sequence[InspectedColumn]) -> list[str]:
    """Words that a person is to give a meaning; none where a column holds too many to be a list of words."""
    few = [column for column in columns if len(column["refused"]) + column["refused_more"] <= FEW_WORDS]
    lines = [
        f"# {_quoted(refused['text'])} = {_quoted('our word')}   # {refused['rule']}"
        for column in few
        for refused in column["refused"]
    ]
    many = [_one_line(column["header"]) for column in columns if column not in few]
    return lines + [f"# {header} holds too many different texts to be words of a list" for header in many]


def _undecided_dates(columns: Sequence[InspectedColumn]) -> list[str]:
    """Dates that nothing decides, with the order in which they are not read now."""
    days_first = {_ours(column) for column in columns if any(DAY_FIRST in reading for reading in column["readings"])}
    beside = f"; {', '.join(sorted(days_first))} in these files has the day first" if days_first else ""
    why = f"read month first now, since nothing decides; right if the day stands first{beside}"
    return [
        f'# {_ours(column)} = "dmy"   # {why}'
        for column in columns
        if column["read_as"] == "date" and column["doubts"]
    ]


def _units_to_say(files: Sequence[InspectedFile]) -> list[str]:
    """Units without which a file is refused."""
    return [
        f"# {column} = {_quoted(unit)}   # needed for {_one_line(file['path'])}: the unit that its order said"
        for file in files
        for column, unit in file["units_to_say"].items()
    ]


def _units(columns: Sequence[InspectedColumn]) -> list[str]:
    """Measured columns whose headings name no unit, with the unit in which bare numbers are read now."""
    return [
        f'# {_ours(column)} = "in"   # bare numbers are read so; e.g. "cm", "ft"'
        for column in columns
        if column["read_as"] == "length" and column["unit"] == "in" and column["filled"]
    ]
