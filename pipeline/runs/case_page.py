"""The case file as one page to print: plain HTML that needs nothing else, all text escaped."""

from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from pipeline.errors import InputError
from schemas.vocab import WORDS

if TYPE_CHECKING:
    from schemas.results_warranty import CaseFile

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
body {{ font: 15px/1.45 system-ui, sans-serif; color: #1c1c1c; }}
body {{ max-width: 52rem; margin: 1.5rem auto; padding: 0 1rem; }}
h1 {{ font-size: 1.4rem; }} h2 {{ font-size: 1.1rem; margin: 1.4rem 0 .3rem; }}
table {{ border-collapse: collapse; width: 100%; }}
th, td {{ text-align: left; vertical-align: top; padding: .2rem .6rem .2rem 0; border-bottom: 1px solid #ccc; }}
.note {{ color: #444; }}
@media print {{
  body {{ margin: 0; max-width: none; font-size: 11pt; }}
  h2 {{ break-after: avoid; }} tr {{ break-inside: avoid; }}
}}
</style></head><body>
<h1>{title}</h1>
{sections}
<p class="note">Shares are of callbacks among similar openings in this firm's past: leads to look into, not proof.
Dig, wall and drain work follows local code and licensed practice.</p>
</body></html>
"""
OWN_WORDS = {word for words in WORDS.values() for word in words}
NO_READINGS = ("opening_id", "checked_on", "installer")
TITLES = (
    ("timeline", "What happened"),
    ("weather", "Weather on the setting day and before each call"),
    ("patterns_present", "Findings present"),
    ("likely_causes", "What callbacks of this kind go with, among similar openings"),
    ("similar", "Nearest cases and how they were solved"),
)


def write_case_page(case: "CaseFile", folder: Path) -> Path:
    """Write the page into the folder, which is made if it is missing; returns its path.

    errors: InputError when the folder cannot be written
    """
    about = case["callback"]["callback_id"] if case["callback"] else case["opening"]["opening_id"]
    place = folder / f"case-{quote(str(about), safe='')}.html"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        place.write_text(case_page(case), encoding="utf-8")
    except OSError as error:
        raise InputError(f"{place} cannot be written: {error.strerror}; give another folder with --out") from error
    return place


def case_page(case: "CaseFile") -> str:
    """The page's text."""
    opening: Mapping[str, Any] = case["opening"]
    title = f"Opening {opening['opening_id']}, job {opening['job_id']}"
    if case["callback"]:
        title = f"Callback {case['callback']['callback_id']}: {case['callback']['complaint']} at o{title[1:]}"
    lists: Mapping[str, Any] = case
    parts = [_section(heading, lists[name]) for name, heading in TITLES]
    parts.append(_section("Cost (USD)", _pairs(case["cost"])))
    parts.append(_section("Check card", _pairs(case["checks"][0]) if case["checks"] else []))
    parts.append(_section("The opening", _pairs(opening)))
    return PAGE.format(title=escape(title), sections="\n".join(parts))


def _pairs(row: Mapping[str, Any]) -> list[dict[str, Any]]:
    """A row as lines of name and value; what was not recorded says so."""
    shown = {name: value for name, value in row.items() if name not in ("opening_id", "job_id")}
    return [dict(zip(("what", "value"), reading_told(*reading), strict=True)) for reading in shown.items()]


def reading_told(reading: str, value: Any) -> tuple[str, Any]:
    """A reading's name in words and its value with its unit, such as ("wall temperature", "34 °F")."""
    from pipeline.callbacks.wording import reading_words

    name, unit = reading_words(reading)
    has_unit = unit and value is not None and not isinstance(value, bool)
    return name, f"{value:g}{unit}" if has_unit else value


def card_lines(card: Mapping[str, Any]) -> list[str]:
    """The readings of one check card in words, a line each."""
    told = [reading_told(*reading) for reading in card.items() if reading[0] not in NO_READINGS]
    return [f"{name}: {_plain(value)}" for name, value in told]


def _plain(value: Any) -> str:
    if value is None or isinstance(value, bool):
        return {None: "not recorded", True: "yes", False: "no"}[value]
    return str(value)


def _section(heading: str, body: Sequence[Mapping[str, Any]]) -> str:
    if not body:
        return f"<h2>{escape(heading)}</h2><p>nothing recorded</p>"
    names = list(body[0])
    head = "".join(f"<th scope='col'>{escape(name.replace('_', ' '))}</th>" for name in names)
    lines = "".join("<tr>" + "".join(f"<td>{_cell(name, row[name])}</td>" for name in names) + "</tr>" for row in body)
    return f"<h2>{escape(heading)}</h2><table><thead><tr>{head}</tr></thead><tbody>{lines}</tbody></table>"


def _cell(name: str, value: Any) -> str:
    if value is None:
        return "not recorded"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "share":
        return f"{100 * value:.0f} %"
    if isinstance(value, float):
        return f"{value:,.2f}".rstrip("0").rstrip(".")
    if isinstance(value, (list, tuple)):
        return escape(", ".join(str(part).replace("_", " ") for part in value)) or "–"
    word = name in ("pattern", "level") or value in OWN_WORDS
    return escape(str(value).replace("_", " ") if word else str(value))
