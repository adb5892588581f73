"""Case files in the page: what was done at an opening, which readings, what weather, what similar ones had."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import warranty_sums
from dashboards.html import Table, bullets, marks_of, paragraph, table, too_few
from dashboards.parts import Parts, have, missing
from dashboards.words import anchor, count, day, esc, number, percent, plain, reading, usd, word

NEVER_SHOWN = frozenset({"site", "installer", "worker_id", "_key", "_batch_id", "_file_id", "_line"})
MOST_CASES = 60
MOST_DAYS = 12
LIKELY = "Among similar openings with this complaint, these findings were present (a lead, not the cause):"


def _cases(parts: Parts) -> Sequence[Mapping[str, Any]]:
    once = {_place(case): case for case in have(parts, "cases") or []}
    return list(once.values())[:MOST_CASES]


def known(parts: Parts) -> frozenset[str]:
    """Callbacks whose case file is in the page."""
    return frozenset(str(case["callback"]["callback_id"]) for case in _cases(parts) if case.get("callback"))


def places(parts: Parts) -> Mapping[str, str]:
    """Where in the page the case file of an opening stands, for the openings that have one."""
    return {str(case["opening"]["opening_id"]): _place(case) for case in reversed(_cases(parts))}


def _place(case: Mapping[str, Any]) -> str:
    callback = case.get("callback")
    if callback:
        return anchor("callback", callback["callback_id"])
    return anchor("opening-case", case["opening"]["opening_id"])


def render(parts: Parts) -> str:
    """All case files, each behind its own disclosure."""
    cases = _cases(parts)
    if not cases:
        return too_few(missing(parts, "cases")) if have(parts, "cases") is None else paragraph("No case is open.")
    said = paragraph(
        "Open callbacks first, then the openings most worth a visit. For any other: areaway callbacks ID.", "note"
    )
    marks = warranty_sums.marks(parts, [str(case["opening"]["opening_id"]) for case in cases])
    return said + "".join(_case(case, marks_of(mine)) for case, mine in zip(cases, marks, strict=True))


def _case(case: Mapping[str, Any], marks: str) -> str:
    callback, opening = case.get("callback"), case["opening"]
    name = _place(case)
    parts = (_facts(opening), _readings(case), _likely(case), _weather(case), _cost(case), _timeline(case))
    return (
        f'<details class="case" id="{name}" tabindex="-1"{marks}><summary>{esc(_title(callback, opening))}</summary>'
        f"<div>{''.join(parts)}</div></details>"
    )


def _title(callback: Mapping[str, Any] | None, opening: Mapping[str, Any]) -> str:
    if callback is None:
        return f"Opening {opening['opening_id']}, no callback yet"
    return (
        f"Callback {callback['callback_id']}: {word(callback.get('complaint'))} at opening {opening['opening_id']}, "
        f"reported {day(callback.get('reported_on'))}"
    )


def _facts(opening: Mapping[str, Any]) -> str:
    return _list_of("The opening", opening)


def _list_of(title: str, facts: Mapping[str, Any]) -> str:
    said = [
        f"<div><dt>{esc(reading(name))}</dt><dd>{esc(_value(name, value))}</dd></div>"
        for name, value in facts.items()
        if value not in (None, "", []) and name not in NEVER_SHOWN and not isinstance(value, (dict, list))
    ]
    return f'<h3 class="small">{esc(title)}</h3><dl class="facts">{"".join(said)}</dl>' if said else ""


def _value(name: str, value: object) -> str:
    if name.endswith("_on"):
        return day(str(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    return word(value)


def _readings(case: Mapping[str, Any]) -> str:
    present = [str(row.get("text") or plain(row["pattern"])) for row in case.get("patterns_present") or []]
    found = f'<h3 class="small">Found at install</h3>{bullets(present)}' if present else ""
    return "".join(_list_of("Check card", card) for card in case.get("checks") or []) + found


def _likely(case: Mapping[str, Any]) -> str:
    rows = [[plain(row["pattern"]), percent(row["share"]), str(row["why"])] for row in case.get("likely_causes") or []]
    if not rows:
        return ""
    return paragraph(LIKELY, "note") + table(Table("Among similar openings", ["Finding", "Share", "Why"], rows))


def _weather(case: Mapping[str, Any]) -> str:
    days = [
        row for row in case.get("weather") or [] if row.get("precipitation_in") or row.get("temp_min_f") is not None
    ][-MOST_DAYS:]
    if not days:
        return ""
    rows = [
        [
            day(row.get("date")),
            str(row.get("what") or ""),
            number(row.get("precipitation_in"), 2),
            number(row.get("temp_min_f"), 0),
            number(row.get("temp_max_f"), 0),
        ]
        for row in days
    ]
    return table(
        Table("Weather at the nearest station", ["Day", "When", "Rain, in", "Lowest, °F", "Highest, °F"], rows)
    )


def _cost(case: Mapping[str, Any]) -> str:
    amounts = {
        name: value
        for name, value in (case.get("cost") or {}).items()
        if isinstance(value, (int, float)) and not isinstance(value, bool)
    }
    if not any(amounts.values()):
        return paragraph("Not costed yet.", "note") if case.get("callback") else ""
    said = [
        f"{plain(name)} {number(value) + ' h' if 'hours' in name else usd(value)}" for name, value in amounts.items()
    ]
    return f'<h3 class="small">Cost</h3><p>{esc("; ".join(said))}.</p>'


def _timeline(case: Mapping[str, Any]) -> str:
    entries = case.get("timeline") or []
    if not entries:
        return ""
    people = [str(card["installer"]) for card in case.get("checks") or [] if card.get("installer")]
    rows = [[day(row.get("date")), _nameless(str(row["event"]), people)] for row in entries]
    return table(Table(f"What happened, {count(len(rows), 'entry', 'entries')}", ["Day", "Event"], rows))


def _nameless(event: str, people: Sequence[str]) -> str:
    """What happened without who filled in the card: a page names crews, never persons."""
    for person in people:
        event = event.replace(f" by {person}", "")
    return event
