"""What a page is given: each part is the answer of a command, or the sentence that says why there is none."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards.words import readable, usd

Parts = Mapping[str, Any]
IF_CAUSAL = "if the link is causal"
ALLOWING = ", after allowing for"
NOT_GATHERED = "This part of the page has no records to stand on yet."


def have(parts: Parts, name: str) -> Any | None:
    """The part, or None when it is only a sentence or absent."""
    found = parts.get(name)
    return None if isinstance(found, str) else found


def missing(parts: Parts, name: str) -> str:
    """Why a part is not there, as a sentence for the reader."""
    found = parts.get(name)
    return found if isinstance(found, str) else NOT_GATHERED


def rows_of(parts: Parts, name: str) -> Sequence[Mapping[str, Any]]:
    """The rows of a part; none when the part is missing."""
    found = have(parts, name)
    if found is None:
        return []
    rows: Sequence[Mapping[str, Any]] = found["rows"] if isinstance(found, Mapping) else found
    return rows


def total(rows: Sequence[Mapping[str, Any]], name: str) -> float:
    """Sum of one figure over rows; a row without it adds nothing."""
    return sum(float(row[name]) for row in rows if row.get(name) is not None)


def ratio(part: float, whole: float) -> float | None:
    """part / whole; None when there is no whole."""
    return part / whole if whole else None


def pattern_rows(parts: Parts) -> Sequence[Mapping[str, Any]]:
    """All patterns looked at; none when the part is missing."""
    found = have(parts, "patterns")
    rows: Sequence[Mapping[str, Any]] = [] if found is None else found["patterns"]
    return rows


def watched_months(parts: Parts) -> Sequence[Mapping[str, Any]]:
    """Callbacks by month of report with their limits; none when the part is missing."""
    found = have(parts, "callbacks")
    rows: Sequence[Mapping[str, Any]] = [] if found is None else found["watching"]["by_month_of_report"]
    return rows


def fact(pattern: Mapping[str, Any]) -> str:
    """What was found at setting, in words."""
    return readable(str(pattern["fact"]))


def attributed_cost(pattern: Mapping[str, Any]) -> str | None:
    """What goes with a pattern so far, with its range; None when nothing does. [USD, text]"""
    cost = pattern.get("attributable_cost")
    if cost is None:
        return None
    low, high = pattern.get("attributable_cost_low"), pattern.get("attributable_cost_high")
    return usd(cost) if low is None or high is None else f"{usd(cost)} ({usd(low)} to {usd(high)})"


def claim(pattern: Mapping[str, Any]) -> str | None:
    """The pattern's own sentence without its conditions; None when it is not worded so."""
    text = str(pattern["text"])
    return readable(f"{text.split(ALLOWING)[0]}.") if ALLOWING in text else None
