"""Figures, dates and our words as a reader meets them: plain, with units, and safe to put in a page."""

import html
import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from schemas.vocab import READINGS, WORDS

NOTHING = "–"
MINUS = "\u2212"
GAP = "\u00a0"  # keeps a figure and its unit on one line
JOINER = "\u2060"  # keeps a sign and what it stands before on one line
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
KNOWN_WORDS = frozenset(word for words in WORDS.values() for word in words)
UNSAFE_IN_ID = re.compile(r"[^A-Za-z0-9-]")
SPAN_OF_FIGURES = re.compile(r"(?<=\d)\u2013(?=\d)")
ISO_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
FIGURE_AND_UNIT = re.compile(r"(?<=\d) (?=(?:%|h|in|lbf·ft|°F|points)(?:\W|$))")
STEP_WORDS = {"rest of quoted cost": "all other costs"}
COLUMN_NAME = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
UNIT_ENDINGS = {"_lbft": "lbf·ft", "_in": "in", "_f": "°F"}

Row = Mapping[str, Any]


def esc(text: object) -> str:
    """Any value as text that cannot become markup."""
    return html.escape(str(text), quote=True)


def usd(amount: float | None) -> str:
    """Whole dollars: $1,250, −$300; a dash when there is none."""
    return NOTHING if amount is None else _signed(amount, f"${abs(float(amount)):,.0f}")


def percent(share: float | None, digits: int = 0) -> str:
    """A share of 1 as a percentage."""
    return NOTHING if share is None else _signed(share, f"{abs(100 * float(share)):.{digits}f}{GAP}%")


def rare(chance: float) -> str:
    """A chance as a percentage; no small one is shown as none."""
    least = 0.001
    return f"under {percent(least, 1)}" if chance < least else percent(chance, 1 if chance < 0.1 else 0)


def number(value: float | None, digits: int = 1) -> str:
    """A plain figure with a fixed number of decimals."""
    return NOTHING if value is None else _signed(value, f"{abs(float(value)):,.{digits}f}")


def hours(value: float | None) -> str:
    """Hours to a tenth."""
    return NOTHING if value is None else f"{number(value)}{GAP}h"


def _signed(value: float, figure: str) -> str:
    shown_as_zero = not figure.strip(f"$0.,%{GAP}")
    return f"{MINUS}{figure}" if value < 0 and not shown_as_zero else figure


def count(how_many: float, one: str, many: str | None = None) -> str:
    """1 job, 12 jobs."""
    return f"{how_many:,.0f}{GAP}{one if how_many == 1 else many or one + 's'}"


def word(value: object) -> str:
    """One of our words without its underscores; anything else as it is."""
    text = NOTHING if value is None or value == "" else str(value)
    return text.replace("_", " ") if text in KNOWN_WORDS or text in ("mixed", "not recorded") else text


def units(text: object) -> str:
    """A unit word, or a phrase that holds one, as it is said: cu yd for yd3."""
    return str(text).replace("yd3", "cu yd")


def plain(name: object) -> str:
    """A column or pattern name as words."""
    return str(name).replace("_", " ")


def reading(name: object) -> str:
    """A reading of the check card with its unit: highest anchor torque, lbf·ft."""
    text = str(name)
    for ending, unit in UNIT_ENDINGS.items():
        if text.endswith(ending):
            return f"{READINGS.get(text) or plain(text.removesuffix(ending))}, {unit}"
    return READINGS.get(text) or plain(text)


def readable(text: str) -> str:
    """A sentence of ours with column names put into words, units and ranges written as on the rest of the page."""
    told = COLUMN_NAME.sub(lambda found: reading(found.group()), text)
    return unbroken(SPAN_OF_FIGURES.sub(" to ", told).replace("lbft", "lbf·ft"))


def unbroken(text: str) -> str:
    """A sentence in which no line ends between a figure and its unit, or between a minus sign and its dollars."""
    return FIGURE_AND_UNIT.sub(GAP, text).replace(f"{MINUS}$", f"{MINUS}{JOINER}$")


def step_words(step: object) -> str:
    """A step from quoted to actual profit in words."""
    text = plain(step)
    return STEP_WORDS.get(text, text)


def sentence_case(text: str) -> str:
    """The first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def day(value: date | str | None) -> str:
    """14 Mar 2026."""
    if value is None:
        return NOTHING
    at = value if isinstance(value, date) else date.fromisoformat(str(value)[:10])
    return f"{at.day} {MONTHS[at.month - 1][:3]} {at.year}"


def days_in(text: str) -> str:
    """A sentence of ours with its dates written as on the rest of the page."""
    return ISO_DAY.sub(lambda found: day(found.group()), text)


def month(value: date | str | None) -> str:
    """March 2026, from 2026-03 or a date."""
    if value is None:
        return NOTHING
    text = str(value)
    return f"{MONTHS[int(text[5:7]) - 1]} {text[:4]}"


def anchor(kind: str, name: object) -> str:
    """The place of a job, opening or callback in a page: letters, figures and hyphens only."""
    return f"{kind}-" + UNSAFE_IN_ID.sub(lambda found: f"_{ord(found.group()):x}", str(name))


def link(kind: str, name: object, *, known: bool = True) -> str:
    """A link to that place; plain text when the page has no such place."""
    return f'<a href="#{anchor(kind, name)}">{esc(name)}</a>' if known else esc(name)


def listed(parts: list[str]) -> str:
    """a, b and c."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
