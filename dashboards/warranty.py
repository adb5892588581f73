"""The warranty page: what is waiting, what goes with most cost, which openings to visit before the next rain."""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import case_files, trend_charts, warranty_charts, warranty_sums
from dashboards.charts import Chart, render
from dashboards.html import Big, Cell, Raw, Table, bigs, bullets, disclosure, paragraph, section, table, too_few
from dashboards.page import Page
from dashboards.parts import (
    IF_CAUSAL,
    Parts,
    attributed_cost,
    fact,
    have,
    missing,
    pattern_rows,
    rows_of,
    watched_months,
)
from dashboards.warranty_costs import costs_by_complaint
from dashboards.words import (
    anchor,
    count,
    day,
    esc,
    link,
    month,
    number,
    percent,
    plain,
    readable,
    reading,
    sentence_case,
    usd,
    word,
)

LEVEL_WORDS = {
    "strong": "strong",
    "likely": "likely",
    "too_early": "too early to tell",
    "not_enough_data": "not enough data",
}
COST_HEADING = f"Cost so far, {IF_CAUSAL}"
REASONS_SHOWN = 2
LEADS = "A pattern is a lead from past jobs, not proof, and never a judgement of a person."
REVISIT_DAYS_WORD = "before the warranty ends"
YEAR_MONTHS = 12
PER_HUNDRED_YEARS = 1200  # callbacks per opening-month to callbacks per 100 opening-years


def warranty(parts: Parts) -> Page:
    """The warranty page from the answers of checks, patterns, crews, callbacks, revisit and reserve.

    parts: as_of, checks, curves (rows), patterns, torque, revisit, crews, callbacks, cases, rain, reserve,
    opening_groups and warranty_sums (frames)
    """
    counted = warranty_sums.cells(parts)
    body = "".join(
        (
            bigs(_bigs(parts)),
            warranty_sums.choices(counted),
            section("Waiting now", _open_callbacks(parts), name="open"),
            section("Visit before the next big rain", _revisit(parts), name="revisit"),
            section("Readings outside our own limits", _checks(parts), name="checks"),
            section(
                "What to look into first", _charts(warranty_charts.habits(parts)), _patterns(parts), name="patterns"
            ),
            section("Are callbacks getting better?", _charts(trend_charts.over_time(parts)), name="trend"),
            section("Crews", _charts([warranty_charts.crews_funnel(parts)]), name="crews"),
            warranty_sums.totals(parts, counted),
            section("Case files", case_files.render(parts), name="cases"),
        )
    )
    question, scripts = "What comes back, and what can we do about it?", ("areaway.js", "filters.js", "lists.js")
    return Page("warranty", question, _lead(parts), body, str(parts["as_of"]), scripts)


def _charts(charts: Sequence[Chart]) -> str:
    return f'<div class="charts">{"".join(render(chart) for chart in charts)}</div>'


def waiting(parts: Parts) -> list[Mapping[str, Any]]:
    """Callbacks not closed yet, the longest waiting first."""
    rows = [row for row in rows_of(parts, "callbacks") if row.get("days_open") is not None]
    return sorted(rows, key=lambda row: (-row["days_open"], str(row["callback_id"])))


def flagged(parts: Parts) -> list[Mapping[str, Any]]:
    """Patterns that stand out, the costliest first."""
    rows = [row for row in pattern_rows(parts) if row["flagged"]]
    return sorted(rows, key=lambda row: (-(row.get("attributable_cost") or 0), row["pattern"]))


def _lead(parts: Parts) -> list[str]:
    """Whom to call, where to go, what to change: the first of each."""
    said = [text for text in (_call_first(parts), _visit_first(parts), _change_first(parts)) if text]
    return said or [missing(parts, "callbacks")]


def _call_first(parts: Parts) -> str:
    if have(parts, "callbacks") is None:
        return ""
    open_now = waiting(parts)
    if not open_now:
        return "No callback waits."
    first = open_now[0]
    wait = f"{word(first['complaint'])} at opening {first['opening_id']}, waiting {count(first['days_open'], 'day')}"
    look = case_files.look_first(parts, first["callback_id"])
    hint = f"; look first for: {look}" if look else ""
    return (
        f"{count(len(open_now), 'callback waits', 'callbacks wait')}. Call first: {first['callback_id']}, {wait}{hint}."
    )


def _visit_first(parts: Parts) -> str:
    rows = rows_of(parts, "revisit")
    if not rows:
        return ""
    first = rows[0]
    return (
        f"Visit first: opening {first['opening_id']}, {percent(first['probability'])} likely to call back "
        f"{REVISIT_DAYS_WORD}, {_likeliest(first['by_cause'])} most likely."
    )


def _change_first(parts: Parts) -> str:
    habits = flagged(parts)
    if not habits:
        return "" if have(parts, "patterns") is None else "No install pattern stands out clearly in these records yet."
    cost = attributed_cost(habits[0])
    money = f", about {cost} of callbacks so far, {IF_CAUSAL}" if cost else ""
    return f"Look into first: where {fact(habits[0])} ({habits[0]['cause']}){money}."


def _bigs(parts: Parts) -> list[Big]:
    figures = []
    if have(parts, "callbacks") is not None:
        open_now = waiting(parts)
        oldest = f"oldest: {count(open_now[0]['days_open'], 'day')}" if open_now else ""
        figures.append(
            Big("Callbacks waiting", f"{len(open_now)}", "open", oldest, _median_wait(open_now), bool(open_now))
        )
    return [*figures, *_rate(parts), *_riskiest(parts), *_outside(parts)]


def _median_wait(open_now: Sequence[Mapping[str, Any]]) -> str:
    return f"middle wait: {count(open_now[len(open_now) // 2]['days_open'], 'day')}" if open_now else ""


def _rate(parts: Parts) -> list[Big]:
    months = watched_months(parts)
    last, before = months[-YEAR_MONTHS:], months[-2 * YEAR_MONTHS : -YEAR_MONTHS]
    rate = _per_hundred_years(last)
    if rate is None:
        return []
    monthly = [PER_HUNDRED_YEARS * row["rate"] for row in last]
    earlier = _per_hundred_years(before)
    compare = f"the twelve months before: {number(earlier)}" if earlier is not None else ""
    return [
        Big(
            "Callbacks a year per 100 openings",
            number(rate),
            f"twelve whole months to {month(last[-1]['month'])}",
            f"single months: {number(min(monthly))} to {number(max(monthly))}",
            compare,
        )
    ]


def _per_hundred_years(months: Sequence[Mapping[str, Any]]) -> float | None:
    opening_months = sum(row["opening_months"] for row in months)
    return PER_HUNDRED_YEARS * sum(row["callbacks"] for row in months) / opening_months if opening_months else None


def _riskiest(parts: Parts) -> list[Big]:
    rows = rows_of(parts, "revisit")
    if not rows:
        return []
    spread = f"the list below: {percent(rows[-1]['probability'])} to {percent(rows[0]['probability'])}"
    return [Big("Likeliest to call back", percent(rows[0]["probability"]), REVISIT_DAYS_WORD, spread)]


def _outside(parts: Parts) -> list[Big]:
    if have(parts, "checks") is None:
        return []
    rows = rows_of(parts, "checks")
    back = sum(bool(row["called_back"]) for row in rows)
    compare = f"{back:,} at openings that called back since"
    return [Big("Readings outside our limits", f"{len(rows):,}", "on cards, sizes, setting days", compare=compare)]


def _open_callbacks(parts: Parts) -> str:
    if have(parts, "callbacks") is None:
        return too_few(missing(parts, "callbacks"))
    rows = waiting(parts)
    if not rows:
        return paragraph("Nothing is waiting.")
    known = case_files.known(parts)
    shown = rows[: warranty_charts.MOST_ROWS]
    body: list[list[Cell]] = [
        [
            Raw(link("callback", row["callback_id"], known=str(row["callback_id"]) in known)),
            str(row["opening_id"]),
            case_files.crew_of(parts, row["callback_id"]),
            word(row["complaint"]),
            day(row["reported_on"]),
            row["days_open"],
            sentence_case(case_files.look_first(parts, row["callback_id"])),
            _ours(row),
        ]
        for row in shown
    ]
    headers = [
        "Callback",
        "Opening",
        "Set by",
        "Complaint",
        "Reported",
        "Days waiting",
        "Look first for",
        "Ours to pay",
    ]
    marks = _marks(parts, shown)
    return table(Table("Open callbacks, the longest waiting first", headers, body, row_marks=marks))


def _ours(row: Mapping[str, Any]) -> str:
    if not row["counts"]:
        return f"no: {row['why_not']}" if row["why_not"] else "no"
    if row.get("before_completion"):
        return "yes, before completion"
    return "yes" if row.get("in_warranty", True) else "yes, after the warranty's end"


def _marks(parts: Parts, rows: Sequence[Mapping[str, Any]]) -> list[Mapping[str, str]]:
    return warranty_sums.marks(parts, [str(row["opening_id"]) for row in rows])


def _revisit(parts: Parts) -> str:
    rows = rows_of(parts, "revisit")
    if not rows:
        return (
            too_few(missing(parts, "revisit"))
            if have(parts, "revisit") is None
            else paragraph("No opening is under warranty.")
        )
    places = case_files.places(parts)
    body = [_visit_row(row, places) for row in rows]
    names = [anchor("opening", row["opening_id"]) for row in rows]
    headers = ["Opening", "Crew", "Finished", "Warranty ends", "Chance", "Expected cost", "Most likely", "Why"]
    caption = f"Finished openings most likely to call back {REVISIT_DAYS_WORD}"
    return _whole_list(parts, len(rows)) + table(Table(caption, headers, body, names, _marks(parts, rows)))


def _visit_row(row: Mapping[str, Any], places: Mapping[str, str]) -> list[Cell]:
    return [
        _opening_link(row["opening_id"], places),
        row.get("crew"),
        day(row["completed_on"]),
        day(row.get("warranty_ends_on")),
        percent(row["probability"]),
        usd(row["expected_cost"]),
        _likeliest(row["by_cause"]),
        _why(row["reasons"]),
    ]


def _whole_list(parts: Parts, listed: int) -> str:
    """How much of the whole the list holds, what its figures mean, and the range of their sum."""
    found, reserve = have(parts, "revisit"), have(parts, "reserve")
    under = found.get("openings_under_warranty") if isinstance(found, Mapping) else None
    rest = f"{listed} of the {under} under warranty; all: areaway revisit --top {under}. " if under else ""
    whole = (
        f" All openings under warranty together: {usd(reserve['expected_cost'])}, 8 times in 10 between "
        f"{usd(reserve['low_80'])} and {usd(reserve['high_80'])}."
        if reserve is not None
        else ""
    )
    return paragraph(
        f"{rest}Expected cost is the opening's part of the reserve, by the calls expected of it.{whole} "
        "Times as often are given for findings that stand out in the book, with their range; a finding is a lead, not "
        "proof.",
        "note",
    )


def _why(reasons: Sequence[str]) -> Raw:
    """The first reasons in sight, the rest on demand."""
    told = [sentence_case(readable(reason)) for reason in reasons]
    first, rest = told[:REASONS_SHOWN], told[REASONS_SHOWN:]
    more = disclosure(f"{len(rest)} more", bullets(rest)) if rest else ""
    return Raw(esc(". ".join(first)) + more)


def _opening_link(opening_id: object, places: Mapping[str, str]) -> Raw:
    place = places.get(str(opening_id))
    return Raw(f'<a href="#{place}">{esc(opening_id)}</a>' if place else esc(opening_id))


def _likeliest(by_cause: Mapping[str, float]) -> str:
    return max(by_cause, key=lambda cause: by_cause[cause]) if by_cause else ""


def _checks(parts: Parts) -> str:
    rows = rows_of(parts, "checks")
    if not rows:
        none = "No reading breaks the firm's own limits; limits are set under [limits] in the settings."
        return too_few(missing(parts, "checks")) if have(parts, "checks") is None else paragraph(none)
    newest = sorted(rows, key=lambda row: str(row["checked_on"]), reverse=True)[: warranty_charts.MOST_ROWS]
    body: list[list[Cell]] = [
        [
            str(row["opening_id"]),
            str(row["job_id"]),
            str(row["crew"] or ""),
            day(row["checked_on"]),
            reading(row["reading"]),
            _reading(row["value"]),
            _limit(row["limit"], row["value"]),
            "yes" if row["called_back"] else "",
        ]
        for row in newest
    ]
    headers = ["Opening", "Job", "Crew", "Checked", "Reading", "Value", "Limit", "Called back"]
    more = f" The newest {len(newest)} are listed; all of them: areaway checks." if len(newest) < len(rows) else ""
    back = sum(bool(row["called_back"]) for row in rows)
    said = (
        f"{count(len(rows), 'reading')} outside the limits, {back:,} of them at openings that have called back since."
        f"{more}"
    )
    return paragraph(said) + table(
        Table("Readings outside our limits, newest first", headers, body, row_marks=_marks(parts, newest))
    )


def _reading(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _limit(limit: object, value: object) -> str:
    words = {"min": "at least", "max": "at most"}
    if isinstance(limit, (int, float)) and isinstance(value, (int, float)):
        return f"{words['min' if value < limit else 'max']} {_reading(float(limit))}"
    if not isinstance(limit, Mapping):
        return _reading(limit)
    return ", ".join(f"{words.get(side, side)} {_reading(value)}" for side, value in limit.items() if value is not None)


def _patterns(parts: Parts) -> str:
    rows = pattern_rows(parts)
    if not rows:
        return ""
    order = list(LEVEL_WORDS)
    ordered = sorted(rows, key=lambda row: (order.index(row["level"]), -(row["hazard_ratio"] or 0), row["pattern"]))
    facts = {row["pattern"]: fact(row) for row in rows}
    body = [_pattern_row(row, facts) for row in ordered]
    headers = [
        "Pattern",
        "Cause",
        "How sure",
        "Times as often",
        "Callbacks with it",
        "Openings with it",
        "Recorded on",
        COST_HEADING,
    ]
    looked_at = table(Table("All patterns looked at", headers, body, [_place(row) for row in ordered]))
    return paragraph(LEADS, "note") + looked_at + costs_by_complaint(parts)


def _of(row: Mapping[str, Any], what: str) -> str:
    """With the finding, out of those where it was looked for."""
    return f"{row[f'{what}_with']:,} of {row[f'{what}_with'] + row[f'{what}_without']:,}"


def _place(row: Mapping[str, Any]) -> str:
    return anchor("pattern", f"{row['pattern']}-{row['cause']}")


def _pattern_row(row: Mapping[str, Any], facts: Mapping[str, str]) -> list[str | int | None]:
    times = None
    if row["hazard_ratio"] is not None:
        times = f"{number(row['hazard_ratio'])} ({number(row['low'])} to {number(row['high'])})"
    elif row.get("smallest_hr_seen"):
        times = f"only above {number(row['smallest_hr_seen'])} would show"
    other = row.get("stands_in_for")
    stands = f"; goes with, and may only stand in for: {facts.get(other) or plain(other)}" if other else ""
    return [
        f"{sentence_case(fact(row))}{stands}",
        row["cause"],
        LEVEL_WORDS[row["level"]],
        times,
        _of(row, "callbacks"),
        _of(row, "openings"),
        percent(row["recorded_share"]),
        attributed_cost(row),
    ]
