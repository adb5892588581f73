"""Findings in words: after, not because of; counts and ranges; never "no effect"."""

import numpy as np

from pipeline.callbacks.attributable import Part
from pipeline.callbacks.patterns import Finding
from pipeline.callbacks.rates import Estimate
from pipeline.callbacks.threshold import LEAST_EVENTS, LOW_IS_WORSE, Threshold
from schemas.vocab import READINGS

WHAT_CAME_BACK = {
    "leak": "leaks",
    "fit": "sashes that bind or will not latch",
    "drainage": "water standing in the well",
}
UNITS = {"_lbft": " lbft", "_in": " in", "_f": " °F"}
SELDOM = 0.5  # house rule: below half of the openings a reading is too seldom recorded
UNEVEN = 0.2  # house rule: crews whose cards differ by more than 20 points in what they record
PROTECTIVE_P = 0.999  # house rule: so few callbacks with a fault are a question about the records
LARGEST_RATIO_SHOWN = 20.0  # house rule: above it a range says "more than"


def sentence(finding: Finding, *, uneven: bool = False) -> str:
    """One finding for the warranty manager: what was seen, how sure, on how many records."""
    parts = [_body(finding), _counts(finding)]
    if finding.recorded_share < SELDOM:
        parts.append("Too seldom recorded to lean on.")
    if uneven:
        parts.append("Crews differ by more than 20 points in how often they record it.")
    return " ".join(parts)


def _body(finding: Finding) -> str:
    what, came_back = finding.text, WHAT_CAME_BACK[finding.cause]
    if finding.flagged:
        return (
            f"Openings where {what} came back for {came_back} about {times(finding.ratio)} as often "
            f"({times_range(finding.low, finding.high)}) as openings without, after allowing for crew, wall type, age "
            "and the other listed patterns. This is a pattern in past jobs, not proof that fixing it will remove the "
            "callbacks."
        )
    if finding.stands_in_for:
        if not finding.enough_data:
            return f"Openings where {what}, and {came_back}: the same finding as {finding.stands_in_for}; see there."
        return (
            f"Where {what}, more openings came back for {came_back}, but that goes with {finding.stands_in_for}: "
            "it stands in for it."
        )
    if not finding.enough_data:
        return f"Openings where {what}, and {came_back}: not enough data yet."
    if finding.p >= PROTECTIVE_P:
        return (
            f"Openings where {what} came back for {came_back} less often than expected. A fault protects nobody: "
            "ask whether it is recorded alike on good days and bad."
        )
    return f"Openings where {what}, and {came_back}: too early to tell. {_smallest(finding)}"


def _smallest(finding: Finding) -> str:
    seen = finding.smallest_ratio_seen
    if not np.isfinite(seen):
        return ""
    if seen > LARGEST_RATIO_SHOWN:
        return "With these few callbacks only a very large difference would show."
    return f"A difference smaller than {times(seen)} would most likely not show yet."


def _counts(finding: Finding) -> str:
    n = finding.callbacks_with + finding.callbacks_without
    return (
        f"{counted(n, 'callback')}, {finding.callbacks_with} of them with it; it was there on "
        f"{finding.openings_with} of {finding.openings_with + finding.openings_without} openings where it was recorded "
        f"({100 * finding.recorded_share:.0f} % of all)."
    )


def counted(number: int, noun: str) -> str:
    """1 callback, 2 callbacks."""
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


def times(ratio: float) -> str:
    """A hazard ratio for a reader: 2.4 times."""
    return f"{ratio:.1f} times"


def times_range(low: float, high: float) -> str:
    """The range of a ratio: 1.3-4.4."""
    return f"{low:.1f}–{high:.1f}"


def attributed(part: Part, total: int) -> str:
    """What goes with a pattern, with its range and its condition."""
    money = ""
    if np.isfinite(part.cost):
        money = f" and ${part.cost:,.0f} (${part.cost_low:,.0f}–${part.cost_high:,.0f})"
    return (
        f"About {part.callbacks:.0f} of {total} such callbacks "
        f"({part.callbacks_low:.0f}–{part.callbacks_high:.0f}){money} go with it, "
        "if the link is causal and the fault fully prevented."
    )


def plainly(ratio: Estimate) -> str:
    """The check that needs no model: rates compared within crews and wall types."""
    return (
        f"Counted plainly, within crews and wall types, it is {times(ratio.value)} as often "
        f"({times_range(ratio.low, ratio.high)})."
    )


def reading_words(reading: str) -> tuple[str, str]:
    """A reading's name in words, and its unit with a blank before it (empty for counts)."""
    ending, unit = next(((ending, unit) for ending, unit in UNITS.items() if reading.endswith(ending)), ("", ""))
    return READINGS.get(reading, reading.removesuffix(ending).replace("_", " ")), unit


def threshold_sentence(found: Threshold) -> str:
    """What the search for a threshold gives, or why it gives none."""
    name, unit = reading_words(found.reading)
    if found.events < LEAST_EVENTS:
        return (
            f"No threshold can be placed on the {name} yet: {counted(found.events, 'callback')} with the reading "
            f"recorded, at least {LEAST_EVENTS} are needed."
        )
    if not found.declared:
        seen = counted(found.events, "callback")
        return f"No threshold can be placed on the {name} yet: {seen}, no cut stands out."
    side = "below" if found.reading in LOW_IS_WORSE else "above"
    return (
        f"Callbacks for {WHAT_CAME_BACK[found.cause]} come more often with a {name} {side} {found.threshold:g}{unit} "
        f"({found.low:g}–{found.high:g}{unit}; {counted(found.events, 'callback')}; chance of so clear a cut by luck "
        f"{100 * found.p:.1f} %). The maker's own limit comes first."
    )


