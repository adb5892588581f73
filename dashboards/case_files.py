"""Case files in the page: what was done at an opening, which readings, what weather, what similar ones had."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import warranty_sums
from dashboards.html import Table, bullets, disclosure, marks_of, paragraph, table, too_few
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.words import (
    anchor,
    count,
    day,
    days_in,
    esc,
    number,
    percent,
    plain,
    readable,
    reading,
    sentence_case,
    usd,
    word,
)

NEVER_SHOWN = frozenset({"site", "installer", "worker_id", "_key", "_batch_id", "_file_id", "_line"})
IN_THE_TITLE = frozenset({"opening_id", "weather_station", "quoted_on"})  # said elsewhere, or of no use at the wall
OF_THE_CALLBACK = (
    "reported_on",
    "visited_on",
    "visited_by_crew",
    "cause_found",
    "work_done",
    "fixed",
    "closed_on",
    "why_not",
)
NOTHING_FOUND = "nothing_recorded"
MOST_CASES = 60
MOST_DAYS = 12
LIKELY = (
    "Shares of the callbacks of this complaint at similar openings that go with each finding: leads, not the cause."
)


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
        "Open callbacks first, then the openings most worth a visit, likely before the warranty ends. For any other: "
        "areaway callbacks and its number.",
        "note",
    )
    marks = warranty_sums.marks(parts, [str(case["opening"]["opening_id"]) for case in cases])
    chances = _chances(parts)
    return said + "".join(_case(case, marks_of(mine), chances) for case, mine in zip(cases, marks, strict=True))


def _by_callback(parts: Parts) -> Mapping[str, Mapping[str, Any]]:
    return {str(case["callback"]["callback_id"]): case for case in _cases(parts) if case.get("callback")}


def look_first(parts: Parts, callback_id: object) -> str:
    """The finding that goes with most such callbacks at similar openings, with its share; empty when none does."""
    case = _by_callback(parts).get(str(callback_id), {})
    found = [row for row in case.get("likely_causes") or [] if row["pattern"] != NOTHING_FOUND]
    if not found:
        return ""
    first = max(found, key=lambda row: float(row["share"]))
    return f"{_found(case, first['pattern'])} (goes with {percent(first['share'])} of such callbacks where it is found)"


def crew_of(parts: Parts, callback_id: object) -> str | None:
    """The crew that set the opening of a callback whose case is in the page."""
    crew = _by_callback(parts).get(str(callback_id), {}).get("opening", {}).get("crew")
    return None if crew is None else str(crew)


def _found(case: Mapping[str, Any], pattern: str) -> str:
    """A finding of this case in words."""
    told = {row["pattern"]: row.get("text") for row in case.get("patterns_present") or []}
    return readable(str(told.get(pattern) or plain(pattern)))


def _case(case: Mapping[str, Any], marks: str, chances: Mapping[str, str]) -> str:
    opening = case["opening"]
    name = _place(case)
    parts = (
        _list_of("The callback", _of_callback(case)),
        _likely(case),
        _similar(case),
        _readings(case),
        _weather(case),
        _cost(case),
        disclosure("The opening as built", _list_of("The opening", opening, IN_THE_TITLE)),
        disclosure("What happened, day by day", _timeline(case)) if case.get("timeline") else "",
    )
    chance = chances.get(str(opening["opening_id"]), "")
    return (
        f'<details class="case" id="{name}" tabindex="-1"{marks}><summary>{esc(_title(case, chance))}</summary>'
        f"<div>{''.join(parts)}</div></details>"
    )


def _of_callback(case: Mapping[str, Any]) -> Mapping[str, Any]:
    callback = case.get("callback") or {}
    return {name: callback.get(name) for name in OF_THE_CALLBACK}


def _chances(parts: Parts) -> Mapping[str, str]:
    """What is feared of each opening to visit, in words."""
    return {
        str(row["opening_id"]): f"{percent(row['probability'])} likely to call back"
        for row in rows_of(parts, "revisit")
    }


def _title(case: Mapping[str, Any], chance: str) -> str:
    callback, opening = case.get("callback"), case["opening"]
    ahead = f"{chance}; " if chance else ""
    if callback is None:
        return f"Opening {opening['opening_id']}: {ahead}no callback yet"
    told = f"{word(callback.get('complaint'))}, reported {day(callback.get('reported_on'))}"
    if callback.get("closed_on"):
        return f"Opening {opening['opening_id']}: {ahead}last {callback['callback_id']}, {told}, closed"
    return f"Callback {callback['callback_id']}: {told}, at opening {opening['opening_id']}"


def _similar(case: Mapping[str, Any]) -> str:
    """What was done about the callbacks most like this one, and whether it held."""
    rows = case.get("similar") or []
    if not rows:
        return ""
    fixed = sum(row.get("fixed") is True for row in rows)
    body = [
        [
            str(row["callback_id"]),
            day(row.get("reported_on")),
            row.get("cause_found"),
            row.get("work_done"),
            _yes_or_no(row.get("fixed")),
            usd(row.get("cost")),
        ]
        for row in rows
    ]
    headers = ["Callback", "Reported", "Cause found", "Work done", "Fixed", "Cost"]
    caption = f"The {count(len(rows), 'callback')} most like it, {fixed} of them fixed by that work"
    return table(Table(caption, headers, body))


def _yes_or_no(fixed: bool | None) -> str | None:
    return None if fixed is None else "yes" if fixed else "no"


def _list_of(title: str, facts: Mapping[str, Any], unwanted: frozenset[str] = frozenset({"opening_id"})) -> str:
    said = [
        f"<div><dt>{esc(sentence_case(reading(name)))}</dt><dd>{esc(_value(name, value))}</dd></div>"
        for name, value in facts.items()
        if value not in (None, "", []) and name not in NEVER_SHOWN | unwanted and not isinstance(value, (dict, list))
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
    present = [sentence_case(_found(case, row["pattern"])) for row in case.get("patterns_present") or []]
    found = f'<h3 class="small">Found at install</h3>{bullets(present)}' if present else ""
    return "".join(_list_of("Check card", card) for card in case.get("checks") or []) + found


def _likely(case: Mapping[str, Any]) -> str:
    rows = [
        [sentence_case(_found(case, row["pattern"])), percent(row["share"]), sentence_case(readable(str(row["why"])))]
        for row in case.get("likely_causes") or []
    ]
    if not rows:
        return ""
    return paragraph(LIKELY, "note") + table(Table("What to look for first", ["Finding", "Share", "Why"], rows))


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
    rows = [[day(row.get("date")), days_in(_nameless(str(row["event"]), people))] for row in entries]
    return table(Table(f"What happened, {count(len(rows), 'entry', 'entries')}", ["Day", "Event"], rows))


def _nameless(event: str, people: Sequence[str]) -> str:
    """What happened without who filled in the card: a page names crews, never persons."""
    for person in people:
        event = event.replace(f" by {person}", "")
    return event
