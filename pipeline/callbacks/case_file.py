"""The case file: what happened when, how alike cases were solved, and what share of them goes with which pattern."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

Row = Mapping[str, Any]

RAIN_DAYS_BEFORE = 2  # the report day and the two before; simulation study: rain that brings leaks
SAME_WORDS = {"wall_type": 1.0, "soil": 0.5, "drain": 0.5, "opening_work": 0.5, "well_type": 0.5}  # house rule
SIMILAR_SHOWN = 5
NOTHING_RECORDED = "nothing_recorded"


@dataclass(frozen=True)
class Lead:
    """A pattern present at the opening: its sentence and its log hazard ratio on the complaint; None = not flagged.

    low, high: the range of the hazard ratio
    """

    pattern: str
    text: str
    effect: float | None
    low: float = nan
    high: float = nan


@dataclass(frozen=True)
class Case:
    """One visit for comparison: its record, the opening's words, and the patterns present there."""

    record: Row
    opening: Row
    patterns: frozenset[str]


def likely_causes(leads: Sequence[Lead], complaint: str) -> list[dict[str, Any]]:
    """Share of callbacks among similar openings that goes with each flagged pattern; the shares add to 1.

    A hazard ratio of exp(sum of effects) leaves exp(−sum) of the callbacks without the patterns; the rest is parted
    in proportion to the effects. Patterns that no search has flagged take no share: the last row names them.
    source: attributable fraction in the exposed (Miettinen 1974), parted as in Eide and Gefeller 1995, from memory
    """
    raising = [(lead.effect, lead) for lead in leads if lead.effect is not None and lead.effect > 0]
    total = sum(effect for effect, _ in raising)
    explained = 1 - exp(-total)
    rows: list[dict[str, Any]] = [
        {"pattern": lead.pattern, "share": explained * effect / total, "why": _why(lead, effect, complaint)}
        for effect, lead in sorted(raising, key=lambda raised: -raised[0])
    ]
    share = 1 - sum(row["share"] for row in rows)
    unproven = [lead.text for lead in leads if lead.effect is None]
    return [*rows, {"pattern": NOTHING_RECORDED, "share": share, "why": _rest_why(complaint, bool(rows), unproven)}]


def _why(lead: Lead, effect: float, complaint: str) -> str:
    often = f"{exp(effect):.1f} times as often with it (range {lead.low:.1f}–{lead.high:.1f})"
    return f"{lead.text}: among similar openings {complaint} callbacks came {often}"


def _rest_why(complaint: str, some_known: bool, unproven: Sequence[str]) -> str:
    also = f"; found here too, not shown to matter in this book: {', '.join(unproven)}" if unproven else ""
    if some_known:
        return f"{complaint} callbacks among similar openings without any of these findings{also}"
    return f"no finding recorded here is known to bring {complaint} callbacks yet{also}"


@dataclass(frozen=True)
class Shelf:
    """Past cases laid out for comparison, newest first; only those that say what was found or done.

    complaint, opening_id: one value per case; words: cases x SAME_WORDS; present: cases x names, whether it was there
    """

    cases: Sequence[Case]
    complaint: NDArray[np.object_]
    opening_id: NDArray[np.object_]
    words: NDArray[np.object_]
    names: Mapping[str, int]
    present: NDArray[np.bool_]


def shelf_of(cases: Sequence[Case]) -> Shelf:
    """Cases laid out for comparison."""
    told = [case for case in cases if case.record.get("cause_found") or case.record.get("work_done")]
    kept = sorted(told, key=lambda case: case.record["reported_on"], reverse=True)
    names = {name: at for at, name in enumerate(sorted(frozenset().union(*(case.patterns for case in kept))))}
    present = np.zeros((len(kept), len(names)), dtype=bool)
    for row, case in enumerate(kept):
        present[row, [names[name] for name in case.patterns]] = True
    return Shelf(
        kept,
        _column([case.record["complaint"] for case in kept]),
        _column([case.record["opening_id"] for case in kept]),
        np.column_stack([_column([case.opening.get(name) for case in kept]) for name in SAME_WORDS]),
        names,
        present,
    )


def _column(values: Sequence[object]) -> NDArray[np.object_]:
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def similar_cases(case: Case, shelf: Shelf) -> list[dict[str, Any]]:
    """The nearest visits with the same complaint at other openings, nearest first, and how they were solved.

    Newest first among equals. Only visits that say what was found or done.
    """
    complaint = case.record.get("complaint")
    alike = shelf.opening_id != case.opening.get("opening_id")
    if complaint is not None:
        alike &= shelf.complaint == complaint
    rows = np.flatnonzero(alike)
    nearest = rows[np.argsort(distances(case, shelf)[rows], kind="stable")[:SIMILAR_SHOWN]]
    return [_similar_row(case, shelf.cases[row]) for row in nearest]


def distances(case: Case, shelf: Shelf) -> NDArray[np.float64]:
    """How unlike a case each of the shelf is; 0 = same findings, wall, soil, drain, work and well.

    One per pattern that only one of the two has, and the weights of SAME_WORDS that differ.
    """
    mine = np.zeros(len(shelf.names), dtype=bool)
    mine[[shelf.names[name] for name in case.patterns if name in shelf.names]] = True
    only_mine = len(case.patterns) - int(mine.sum())
    words = _column([case.opening.get(name) for name in SAME_WORDS])
    weights = np.array(list(SAME_WORDS.values()))
    apart: NDArray[np.float64] = (shelf.present != mine).sum(axis=1) + (shelf.words != words) @ weights + only_mine
    return apart


def _similar_row(case: Case, other: Case) -> dict[str, Any]:
    kept = ("callback_id", "opening_id", "reported_on", "cause_found", "work_done", "fixed", "cost")
    same = [name for name in SAME_WORDS if case.opening.get(name) == other.opening.get(name)]
    return {
        **{name: other.record.get(name) for name in kept},
        "patterns_in_common": sorted(case.patterns & other.patterns),
        "same": same,
    }


def days_of_weather(setting_day: date | None, reports: Sequence[date]) -> dict[date, str]:
    """The days whose weather belongs in the file, and why: the setting, each report and the two days before it."""
    days = {} if setting_day is None else {setting_day: "setting day"}
    for reported in reports:
        for back in range(RAIN_DAYS_BEFORE, -1, -1):
            days[reported - timedelta(days=back)] = "day of the call" if back == 0 else "before the call"
    return days


def weather_rows(recorded: Sequence[Row], days: Mapping[date, str]) -> list[dict[str, Any]]:
    """One row per day asked for, in order; a day that was not recorded has nulls."""
    by_day = {row["observed_on"]: row for row in recorded}
    readings = ("temp_min_f", "temp_max_f", "precipitation_in")
    return [
        {"date": day, "what": what, **{name: by_day.get(day, {}).get(name) for name in readings}}
        for day, what in sorted(days.items())
    ]


def timeline(opening: Row, work: Sequence[Row], checks: Sequence[Row], reports: Sequence[Row]) -> list[dict[str, Any]]:
    """Everything dated about an opening, in order of day."""
    events: list[tuple[date | None, str]] = [
        (opening.get("quoted_on"), "quoted"),
        (opening.get("started_on"), f"job started by crew {opening.get('crew')}"),
        (opening.get("completed_on"), "job completed; the warranty begins"),
        (opening.get("warranty_ends_on"), "the warranty ends"),
        *((row["first_day"], _work_words(row)) for row in work),
        *((card.get("checked_on"), _card_words(card)) for card in checks),
    ]
    for report in reports:
        events += _report_events(report)
    dated = [(day, event) for day, event in events if day is not None]
    return [{"date": day, "event": event} for day, event in sorted(dated, key=lambda entry: entry[0])]


def _work_words(row: Row) -> str:
    until = "" if row["first_day"] == row["last_day"] else f", until {row['last_day']}"
    return f"{str(row['phase']).replace('_', ' ')}: {row['hours']:.1f} h{until}"


def _card_words(card: Row) -> str:
    by = f" by {card['installer']}" if card.get("installer") else ""
    return f"check card filled in{by}"


def _report_events(report: Row) -> list[tuple[date | None, str]]:
    """Report, visit and closing; what was found and done stands with the last of them that has a day."""
    name = f"callback {report['callback_id']}"
    visitor = f" by {report['visited_by_crew']}" if report.get("visited_by_crew") else ""
    note = f" ({report['why_not']})" if report.get("why_not") else ""
    events = [
        (report["reported_on"], f"{name}: {report['complaint']} reported{note}"),
        (report.get("visited_on"), f"{name}: visited{visitor}"),
        (report.get("closed_on"), f"{name}: closed"),
    ]
    dated = [(day, event) for day, event in events if day is not None]
    last_day, last_event = dated[-1]
    return [*dated[:-1], (last_day, last_event + _outcome_words(report))]


def _outcome_words(report: Row) -> str:
    found = f"; found: {report['cause_found']}" if report.get("cause_found") else ""
    done = f"; done: {report['work_done']}" if report.get("work_done") else ""
    return found + done
