"""The data dictionary: every column, unit, limit and word of the records, written from the models."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from schemas.kinds import KINDS, Kind
from schemas.links import LINKS
from schemas.vocab import WORDS

README = Path(__file__).parent / "README.md"
UNITS = {"in": "in", "f": "°F", "lbft": "lbft", "h": "h", "USD": "USD", "date": "", "": ""}
VALUE_KINDS = {
    "text": "text", "id": "id", "word": "word", "yes_no": "yes or no", "date": "date", "length": "length",
    "temperature": "temperature", "torque": "torque", "hours": "hours", "money": "money", "number": "number",
    "count": "whole number",
}  # fmt: skip
INTRODUCTION = """# Data dictionary

Written by `make docs` from the models in this folder; a test fails when it is stale.

The ten kinds of record, one table each. **Key** columns name a row. A column without *must* may be empty or absent:
empty means *not recorded*, never 0, unless the meaning says otherwise. Lengths are inches, temperatures °F, torque
pound-feet, money US dollars, hours decimal hours. Dates run from 1990 (weather: from 1700) to the day of receipt;
only quotes and prices may be dated ahead. Ids are text: capital and small letters differ, zeros in front count.
"""


def dictionary() -> str:
    """The text of schemas/README.md."""
    parts = [INTRODUCTION]
    for kind in KINDS.values():
        parts.append("\n".join(_kind(kind)))
    parts.append("\n".join(_words()))
    return "\n".join(parts)


def _kind(kind: Kind) -> Iterator[str]:
    yield f"## {kind.name}"
    yield ""
    yield str(kind.model.__doc__).split("\n")[0]
    if kind.natural:
        named = ", ".join(f"`{name}`" for name in kind.natural)
        yield f"A row without `{kind.key[0]}` is named by {named} and its number among such rows of its file."
    yield ""
    yield "| column | must | value | unit | limits | meaning |"
    yield "|---|---|---|---|---|---|"
    for name, column in kind.columns().items():
        yield _row(kind, name, column)
    yield from (f"\nRule: {check.description or _sentence(check.name)}" for check in kind.model.to_schema().checks)
    yield ""


def _row(kind: Kind, name: str, column: Any) -> str:
    about = column.metadata
    shown = f"**{name}**" if name in kind.key else name
    parents = sorted({link.parent for link in LINKS if (link.kind, link.column) == (kind.name, name)})
    limits = limits_in_words(column.checks) if about["kind"] != "word" else f"list `{name}`"
    limits = "; ".join(part for part in (limits, *(f"must be in {parent}" for parent in parents)) if part)
    must = "" if about["optional"] else "must"
    cells = (shown, must, VALUE_KINDS[about["kind"]], UNITS[about["unit"]], limits, about["meaning"])
    return f"| {' | '.join(cells)} |"


def limits_in_words(checks: Sequence[Any]) -> str:
    """The limits of a column: `more than 0 and at most 36`."""
    phrases = {
        "greater_than": ("more than", "min_value"),
        "greater_than_or_equal_to": ("at least", "min_value"),
        "less_than_or_equal_to": ("at most", "max_value"),
    }
    found = [(phrases[check.name], check.statistics) for check in checks if check.name in phrases]
    return " and ".join(f"{words} {statistics[value]}" for (words, value), statistics in found)


def _sentence(name: str) -> str:
    return name.replace("_", " ").capitalize() + "."


def _words() -> Iterator[str]:
    yield "## Word lists"
    yield ""
    yield "Words are read in any case, with blanks, hyphens or underscores between their parts."
    for name, words in WORDS.items():
        yield ""
        yield f"### {name}"
        yield ""
        yield "| word | meaning |"
        yield "|---|---|"
        yield from (f"| {word} | {meaning} |" for word, meaning in words.items())
    yield ""


if __name__ == "__main__":
    README.write_text(dictionary(), encoding="utf-8")
