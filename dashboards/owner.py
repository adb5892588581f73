"""The owner's page: did we make money, on which work, and is it getting better?"""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from dashboards import job_lists, owner_charts, sums
from dashboards.charts import Chart, figure_data, render
from dashboards.html import Big, Cell, Raw, Table, bigs, bullets, disclosure, paragraph, section, table, too_few
from dashboards.page import Page
from dashboards.parts import Parts, have, missing, ratio, rows_of, total
from dashboards.words import count, link, listed, month, percent, sentence_case, unbroken, usd

YEAR_MONTHS = 12
REST = "Money"
SUBJECTS = {
    "What to do": ("prices", "open jobs"),
    REST: ("result", "margin", "jobs"),
    "Hours": ("hours", "hours against the model"),
    "What we paid": ("wages", "materials"),
    "Callbacks": ("callbacks", "reserve"),
    "Before you trust this": ("doubts",),
}
IN_THE_TABLE = "jobs"  # the topic whose sentences the table of jobs holds
NAMED_LOSSES = 3
SPENT_AND_ELSE = (
    "Spent is what the callbacks reported in a month inside their warranty cost as known today, those not costed yet "
    "at their expected cost; later ones are no part of this reserve. "
    "All else is more or fewer callbacks than expected, dearer or cheaper, and what that says of the next. A cost that "
    "comes in late moves both of its month; start and end stay what was set aside on those days."
)


def owner(parts: Parts) -> Page:
    """The owner's page from the answers of margins, month, jobs and reserve.

    parts: as_of, margins (by month), month, job_rows (frame), bridge, open_jobs, reserve, overhead_set
    """
    cells = _cells(parts)
    coming = _charts(owner_charts.to_come(parts))
    body = "".join(
        (
            bigs(_bigs(parts)),
            section("Which jobs lost money, and why", job_lists.short_jobs(parts, cells), name="short-jobs"),
            section(_month_title(parts), _month_words(parts), name="month"),
            section("Jobs still open", job_lists.open_jobs(parts, cells), name="open-jobs"),
            section("Where the money goes", _charts(owner_charts.money(parts)), name="money"),
            section("Cut it your way", _filters(parts, cells), name="cut"),
            section("Jobs", job_lists.finished_jobs(parts, cells), name="jobs"),
            section("What is still to come", coming, _roll_forward(parts), name="to-come"),
        )
    )
    scripts = ("areaway.js", "filters.js", "lists.js")
    return Page("owner", "Did we make money, and on which work?", _lead(parts), body, str(parts["as_of"]), scripts)


def _charts(charts: Sequence[Chart]) -> str:
    return f'<div class="charts">{"".join(render(chart) for chart in charts)}</div>'


def _lead(parts: Parts) -> list[str]:
    months = rows_of(parts, "margins")
    if not months:
        return [missing(parts, "margins")]
    last = months[-1]
    kept, before = last.get("margin_after_callbacks"), _margin(months[-YEAR_MONTHS - 1 : -1])
    sentence = f"{month(last['group'])}: {count(last['jobs'], 'job')} finished, {usd(last['revenue'])} of revenue, "
    sentence += f"{usd(last['profit_after_callbacks'])} kept after overhead and callbacks ({percent(kept)})."
    if before is not None and kept is not None:
        direction = "above" if kept > before else "below"
        sentence += f" That is {direction} the {percent(before)} of the twelve months before."
    return [sentence, *_losses(parts), *_caveats(parts)]


def _losses(parts: Parts) -> list[str]:
    """Finished jobs at a loss, and open ones heading for one, the worst by number."""
    finished = job_lists.lost_money(parts)
    losing = [row for row in rows_of(parts, "open_jobs") if row.get("heading_for_loss")]
    said = [finished] if finished else []
    if losing:
        named = listed([f"{row['job_id']} ({usd(row['expected_profit'])})" for row in losing[:NAMED_LOSSES]])
        more = f", the first of them {named}" if len(losing) > NAMED_LOSSES else f": {named}"
        said.append(f"{count(len(losing), 'open job is', 'open jobs are')} heading for a loss{more}.")
    return [" ".join(said)] if said else []


def _caveats(parts: Parts) -> list[str]:
    margins = have(parts, "margins") or {}
    said = [] if margins.get("overhead_set") else ["Overhead is not set, so profit here is before overhead."]
    waiting = margins.get("waiting_rows") or 0
    if waiting:
        wait = count(waiting, "row of the files waits", "rows of the files wait")
        said.append(f"{wait} to be put right (areaway quarantine), so cost may be too low.")
    return said


def _margin(rows: Sequence[Mapping[str, Any]]) -> float | None:
    return ratio(total(rows, "profit_after_callbacks"), total(rows, "revenue"))


def _bigs(parts: Parts) -> list[Big]:
    months = rows_of(parts, "margins")
    if not months:
        return []
    last, before = months[-1], months[-YEAR_MONTHS - 1 : -1]
    return [_kept(last, before), _per_hour(last, before), *_hours_against_quotes(months), *_reserve(parts)]


def _kept(last: Mapping[str, Any], before: Sequence[Mapping[str, Any]]) -> Big:
    shares = [row["margin_after_callbacks"] for row in before if row.get("margin_after_callbacks") is not None]
    spread = f"months before: {percent(min(shares))} to {percent(max(shares))}" if shares else ""
    usual = _margin(before)
    compare = f"twelve months before: {percent(usual)}" if usual is not None else "no earlier months to compare"
    kept = last.get("margin_after_callbacks")
    alert = kept is not None and usual is not None and kept < usual
    return Big(f"Margin kept, {month(last['group'])}", percent(kept), "of revenue", spread, compare, alert)


def _per_hour(last: Mapping[str, Any], before: Sequence[Mapping[str, Any]]) -> Big:
    usual = ratio(total(before, "profit_after_callbacks"), total(before, "actual_hours"))
    values = [row["profit_per_labour_hour"] for row in before if row.get("profit_per_labour_hour") is not None]
    spread = f"months before: {usd(min(values))} to {usd(max(values))}" if values else ""
    compare = f"twelve months before: {usd(usual)}" if usual is not None else ""
    return Big(
        f"Profit per labour hour, {month(last['group'])}",
        usd(last.get("profit_per_labour_hour")),
        "after callbacks",
        spread,
        compare,
    )


def _hours_against_quotes(months: Sequence[Mapping[str, Any]]) -> list[Big]:
    """Hours worked over hours quoted, change orders counted as quoted, as in the chart and the month's words."""
    year = [{**row, "asked": owner_charts.asked_hours(row)} for row in months[-YEAR_MONTHS:]]
    bias = ratio(total(year, "hours_of_quoted_jobs"), total(year, "asked"))
    if bias is None:
        return []
    monthly = [ratio(row["hours_of_quoted_jobs"] or 0, row["asked"]) for row in year]
    known = [share - 1 for share in monthly if share is not None]
    spread = f"by month: {percent(min(known))} to {percent(max(known))}"
    compare = f"{count(total(year, 'quoted_jobs'), 'quoted job')} in twelve months"
    value = percent(abs(bias - 1))
    unit = "more hours than quoted" if bias >= 1 else "fewer hours than quoted"
    return [Big("Hours against our quotes", value, unit, spread, compare, bias > 1)]


def _reserve(parts: Parts) -> list[Big]:
    reserve = have(parts, "reserve")
    if reserve is None:
        return []
    spread = f"8 times in 10 between {usd(reserve['low_80'])} and {usd(reserve['high_80'])}"
    compare = f"{count(reserve['openings_under_warranty'], 'opening')} under warranty"
    return [Big("Callbacks still to pay for", usd(reserve["expected_cost"]), "expected", spread, compare)]


def _month_title(parts: Parts) -> str:
    found = have(parts, "month")
    return "The month in words" if found is None else f"{month(found['month'])} in words"


def _month_words(parts: Parts) -> str:
    found = have(parts, "month")
    if found is None:
        return too_few(missing(parts, "month"))
    explain = _explaining(found.get("jobs_that_explain_it") or [], job_lists.shown_jobs(parts))
    told = [line for line in found["sentences"] if not (explain and line["topic"] == IN_THE_TABLE)]
    return _by_subject(told) + explain


def _by_subject(sentences: Sequence[Mapping[str, Any]]) -> str:
    """What to do first, then the reasons by subject; a subject of which nothing is said is left out."""
    told: dict[str, list[str]] = {subject: [] for subject in SUBJECTS}
    for sentence in sentences:
        subject = next((name for name, topics in SUBJECTS.items() if sentence["topic"] in topics), REST)
        told[subject].append(unbroken(sentence["text"]))
    blocks = [f'<div><h3 class="claim">{name}</h3>{bullets(texts)}</div>' for name, texts in told.items() if texts]
    return f'<div class="paired">{"".join(blocks)}</div>'


def _explaining(jobs: Sequence[Any], shown: frozenset[str]) -> str:
    rows = [job if isinstance(job, Mapping) else {"job_id": job} for job in jobs]
    if not rows:
        return ""
    body: list[list[Cell]] = [
        [
            Raw(link("job", row["job_id"], known=str(row["job_id"]) in shown)),
            _more_or_less(row.get("effect")),
            sentence_case(unbroken(str(row.get("why") or ""))),
        ]
        for row in rows
    ]
    return table(Table("The jobs that explain the month", ["Job", "Against usual", "Why"], body))


def _more_or_less(effect: float | None) -> str | None:
    if effect is None:
        return None
    return f"+{usd(effect)}" if effect > 0 else usd(effect)


def _cells(parts: Parts) -> pl.DataFrame | None:
    jobs = have(parts, "job_rows")
    return None if jobs is None or jobs.is_empty() else sums.sums(jobs)


def _filters(parts: Parts, cells: pl.DataFrame | None) -> str:
    if cells is None:
        return too_few(missing(parts, "job_rows") if have(parts, "job_rows") is None else job_lists.NEEDED_JOBS)
    form = sums.form(cells, kind="jobs", dated=("Finished from", "Finished up to"))
    answer = table(Table("Totals of the jobs chosen, by day of completion", ["Figure", "Amount"], sums.answer_rows()))
    plot = (
        '<figure class="chart"><h3 class="claim">Margin after callbacks of the jobs chosen, by period</h3>'
        '<div class="plot" id="filtered-plot" style="min-height:330px" role="img" aria-label="Margin after callbacks'
        ' of the jobs chosen, one point per period; the totals stand in the table beside it"></div>'
    )
    data = figure_data("filtered", owner_charts.empty_months()).replace(' class="plot-data"', "")
    crews = "" if "crew" in cells.columns else paragraph("There are too many crews to choose single ones here.", "note")
    said = paragraph("The address of this page keeps your choice: copy it to send the same view.", "note")
    moves = disclosure("What moves with the choice, and what does not", bullets(sums.MOVES))
    shown = f'<div class="charts">{answer}{plot}{data}</figure></div>'
    return f"{form}{sums.CHOICE_SAID}{said}{moves}{crews}{shown}{sums.as_block(cells)}"


def _roll_forward(parts: Parts) -> str:
    reserve = have(parts, "reserve")
    if reserve is None or not reserve.get("roll_forward"):
        return ""
    names = ("opening", "accrued", "spent", "change_in_estimate", "closing")
    body = [[month(row["month"]), *(usd(row.get(name)) for name in names)] for row in reversed(reserve["roll_forward"])]
    headers = ["Month", "At the start", "Added for new work", "Spent", "All else", "At the end"]
    moved = table(Table("How the amount still to pay moved, newest month first", headers, body))
    return moved + paragraph(SPENT_AND_ELSE, "note")
