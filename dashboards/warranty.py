"""The warranty page: what is waiting, which habit costs us most, which openings to visit before the next rain."""

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
from dashboards.words import (
    anchor,
    count,
    day,
    esc,
    link,
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
            warranty_sums.totals(parts, counted),
            section("Readings outside our own limits", _checks(parts), name="checks"),
            section(
                "Which habit to change first", _charts(warranty_charts.habits(parts)), _patterns(parts), name="patterns"
            ),
            section("Are callbacks getting better?", _charts(trend_charts.over_time(parts)), name="trend"),
            section("Crews", _charts([warranty_charts.crews_funnel(parts)]), name="crews"),
            section("Case files", case_files.render(parts), name="cases"),
        )
    )
    question, scripts = "What comes back, and what can we do about it?", ("areaway.js", "filters.js")
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
    said = []
    open_now = waiting(parts)
    if have(parts, "callbacks") is not None:
        said.append(
            f"{count(len(open_now), 'callback waits', 'callbacks wait')}"
            + (f", the oldest for {count(open_now[0]['days_open'], 'day')}." if open_now else ".")
        )
    habits = flagged(parts)
    if habits:
        cost = attributed_cost(habits[0])
        money = f", about {cost} of callbacks so far, {IF_CAUSAL}" if cost else ""
        said.append(f"The finding that goes with most callback cost: {fact(habits[0])} ({habits[0]['cause']}){money}.")
    elif have(parts, "patterns") is not None:
        said.append("No install pattern stands out clearly in these records yet.")
    return said or [missing(parts, "callbacks")]


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
            "Callbacks per 100 opening-years",
            number(rate),
            "last twelve months",
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
    return [
        Big(
            "Readings outside our limits", f"{len(rows)}", "on check cards", compare=f"{back} of them called back since"
        )
    ]


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
            word(row["complaint"]),
            day(row["reported_on"]),
            row["days_open"],
            "ours" if row["counts"] else str(row["why_not"] or ""),
        ]
        for row in shown
    ]
    headers = ["Callback", "Opening", "Complaint", "Reported", "Days waiting", "Ours to pay"]
    marks = _marks(parts, shown)
    return table(Table("Open callbacks, the longest waiting first", headers, body, row_marks=marks))


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
    body: list[list[Cell]] = [
        [
            _opening_link(row["opening_id"], places),
            day(row["completed_on"]),
            percent(row["probability"]),
            usd(row["expected_cost"]),
            _likeliest(row["by_cause"]),
            _why(row["reasons"]),
        ]
        for row in rows
    ]
    names = [anchor("opening", row["opening_id"]) for row in rows]
    headers = ["Opening", "Finished", "Chance of a callback", "Expected cost", "Most likely", "Why"]
    caption = f"Finished openings most likely to call back {REVISIT_DAYS_WORD}"
    return table(Table(caption, headers, body, names, _marks(parts, rows)))


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
            _limit(row["limit"]),
            "yes" if row["called_back"] else "",
        ]
        for row in newest
    ]
    headers = ["Opening", "Job", "Crew", "Checked", "Reading", "Value", "Limit", "Called back"]
    more = f" The newest {len(newest)} of {len(rows)} are shown." if len(newest) < len(rows) else ""
    back = sum(bool(row["called_back"]) for row in rows)
    said = f"{count(len(rows), 'reading')} outside the limits; {back} of those openings have called back since.{more}"
    return paragraph(said) + table(
        Table("Readings outside our limits, newest first", headers, body, row_marks=_marks(parts, newest))
    )


def _reading(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _limit(limit: object) -> str:
    if not isinstance(limit, Mapping):
        return _reading(limit)
    words = {"min": "at least", "max": "at most"}
    return ", ".join(f"{words.get(side, side)} {_reading(value)}" for side, value in limit.items() if value is not None)


def _patterns(parts: Parts) -> str:
    rows = pattern_rows(parts)
    if not rows:
        return ""
    order = list(LEVEL_WORDS)
    ordered = sorted(rows, key=lambda row: (order.index(row["level"]), -(row["hazard_ratio"] or 0), row["pattern"]))
    body = [_pattern_row(row) for row in ordered]
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
    return paragraph(LEADS, "note") + table(
        Table("All patterns looked at", headers, body, [_place(row) for row in ordered])
    )


def _of(row: Mapping[str, Any], what: str) -> str:
    """With the finding, out of those where it was looked for."""
    return f"{row[f'{what}_with']} of {row[f'{what}_with'] + row[f'{what}_without']}"


def _place(row: Mapping[str, Any]) -> str:
    return anchor("pattern", f"{row['pattern']}-{row['cause']}")


def _pattern_row(row: Mapping[str, Any]) -> list[str | int | None]:
    times = None
    if row["hazard_ratio"] is not None:
        times = f"{number(row['hazard_ratio'])} ({number(row['low'])} to {number(row['high'])})"
    elif row.get("smallest_hr_seen"):
        times = f"only above {number(row['smallest_hr_seen'])} would show"
    stands = f"; stands in for {plain(row['stands_in_for'])}" if row.get("stands_in_for") else ""
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
