"""The case file: what happened when, how alike cases were solved, and what share of them goes with which pattern."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp
from typing import Any

Row = Mapping[str, Any]

RAIN_DAYS_BEFORE = 2  # the report day and the two before; simulation study: rain that brings leaks
SAME_WORDS = {"wall_type": 1.0, "soil": 0.5, "drain": 0.5, "opening_work": 0.5, "well_type": 0.5}  # house rule
SIMILAR_SHOWN = 5
NOTHING_RECORDED = "nothing_recorded"


@dataclass(frozen=True)
class Lead:
    """A pattern present at the opening: its sentence, its log hazard ratio on the complaint, whether it is flagged."""

    pattern: str
    text: str
    effect: float
    flagged: bool


@dataclass(frozen=True)
class Case:
    """One visit for comparison: its record, the opening's words, and the patterns present there."""

    record: Row
    opening: Row
    patterns: frozenset[str]


def likely_causes(leads: Sequence[Lead], complaint: str) -> list[dict[str, Any]]:
    """Share of callbacks among similar openings that goes with each pattern; the shares add to 1.

    A hazard ratio of exp(sum of effects) leaves exp(−sum) of the callbacks without the patterns; the rest is parted
    in proportion to the effects. Patterns that bring no callbacks have no share.
    source: attributable fraction in the exposed (Miettinen 1974), parted as in Eide and Gefeller 1995, from memory
    """
    raising = [lead for lead in leads if lead.effect > 0]
    total = sum(lead.effect for lead in raising)
    unexplained = exp(-total)
    rows: list[dict[str, Any]] = [
        {"pattern": lead.pattern, "share": (1 - unexplained) * lead.effect / total, "why": _why(lead, complaint)}
        for lead in sorted(raising, key=lambda lead: -lead.effect)
    ]
    share = 1 - sum(row["share"] for row in rows)
    return [*rows, {"pattern": NOTHING_RECORDED, "share": share, "why": _rest_why(complaint, alone=not rows)}]


def _why(lead: Lead, complaint: str) -> str:
    doubt = "" if lead.flagged else ", not yet beyond chance"
    return (
        f"{lead.text}: among similar openings {complaint} callbacks came {exp(lead.effect):.1f} times as often "
        f"with it{doubt}"
    )


def _rest_why(complaint: str, *, alone: bool) -> str:
    if alone:
        return f"no finding recorded here is known to bring {complaint} callbacks yet"
    return f"{complaint} callbacks among similar openings without any of these findings"


def similar_cases(case: Case, others: Sequence[Case]) -> list[dict[str, Any]]:
    """The nearest visits with the same complaint at other openings, nearest first, and how they were solved.

    Distance: one per pattern that only one of the two has, and the weights of SAME_WORDS that differ; newest first
    among equals. Only visits that say what was found or done.
    """
    complaint = case.record.get("complaint")
    told = [
        other
        for other in others
        if other.record["opening_id"] != case.opening.get("opening_id")
        and complaint in (None, other.record["complaint"])
        and (other.record.get("cause_found") or other.record.get("work_done"))
    ]
    newest_first = sorted(told, key=lambda other: other.record["reported_on"], reverse=True)
    nearest = sorted(newest_first, key=lambda other: distance(case, other))[:SIMILAR_SHOWN]
    return [_similar_row(case, other) for other in nearest]


def distance(case: Case, other: Case) -> float:
    """How unlike two cases are; 0 = same findings, wall, soil, drain, work and well."""
    words = sum(weight for name, weight in SAME_WORDS.items() if case.opening.get(name) != other.opening.get(name))
    return len(case.patterns ^ other.patterns) + words


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
