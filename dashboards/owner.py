"""The owner's page: did we make money, on which work, and is it getting better?"""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import owner_charts, sums
from dashboards.charts import Chart, figure_data, render
from dashboards.html import Big, Raw, Table, bigs, bullets, paragraph, section, table, too_few
from dashboards.page import Page
from dashboards.parts import Parts, have, missing, ratio, rows_of, total
from dashboards.words import anchor, count, day, esc, hours, link, month, percent, usd

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
NEEDED_JOBS = "Needs at least one finished job with a price and hours; then this part fills itself."


def owner(parts: Parts) -> Page:
    """The owner's page from the answers of margins, month, jobs and reserve.

    parts: as_of, margins (by month), month, job_rows (frame), bridge, open_jobs, reserve, overhead_set
    """
    body = "".join(
        (
            bigs(_bigs(parts)),
            section("The month in words", _month_words(parts), name="month"),
            section("Where the money goes", _charts(owner_charts.money(parts)), name="money"),
            section("Cut it your way", _filters(parts), name="cut"),
            section(
                "What is still to come", _charts(owner_charts.to_come(parts)), _roll_forward(parts), name="to-come"
            ),
            section("Jobs still open", _open_jobs(parts), name="open-jobs"),
            section("Jobs", _jobs(parts), name="jobs"),
        )
    )
    scripts = ("areaway.js", "filters.js")
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
    losing = [row for row in rows_of(parts, "open_jobs") if row.get("heading_for_loss")]
    warning = f"{count(len(losing), 'open job is', 'open jobs are')} heading for a loss." if losing else ""
    return [sentence, *([warning] if warning else []), *_caveats(parts)]


def _caveats(parts: Parts) -> list[str]:
    margins = have(parts, "margins") or {}
    said = [] if margins.get("overhead_set") else ["Overhead is not set, so profit here is before overhead."]
    waiting = margins.get("waiting_rows") or 0
    if waiting:
        said.append(f"{count(waiting, 'row')} still wait in quarantine, so cost may be too low.")
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
    return Big("Profit per labour hour", usd(last.get("profit_per_labour_hour")), "USD per hour", spread, compare)


def _hours_against_quotes(months: Sequence[Mapping[str, Any]]) -> list[Big]:
    year = months[-YEAR_MONTHS:]
    bias = ratio(total(year, "hours_of_quoted_jobs"), total(year, "quoted_hours"))
    if bias is None:
        return []
    monthly = [ratio(row["hours_of_quoted_jobs"] or 0, row["quoted_hours"] or 0) for row in year]
    known = [share - 1 for share in monthly if share is not None]
    spread = f"by month: {percent(min(known))} to {percent(max(known))}"
    compare = f"{count(total(year, 'quoted_jobs'), 'quoted job')} in twelve months"
    value = percent(abs(bias - 1))
    unit = "more hours than quoted" if bias >= 1 else "fewer hours than quoted"
    return [Big("Hours against our quotes", value, unit, spread, compare)]


def _reserve(parts: Parts) -> list[Big]:
    reserve = have(parts, "reserve")
    if reserve is None:
        return []
    spread = f"8 times in 10 between {usd(reserve['low_80'])} and {usd(reserve['high_80'])}"
    compare = f"{count(reserve['openings_under_warranty'], 'opening')} under warranty"
    return [Big("Callbacks still to pay for", usd(reserve["expected_cost"]), "USD", spread, compare)]


def _month_words(parts: Parts) -> str:
    found = have(parts, "month")
    if found is None:
        return too_few(missing(parts, "month"))
    sentences = _by_subject(found["sentences"])
    explain = _explaining(found.get("jobs_that_explain_it") or [], _shown_jobs(parts))
    return paragraph(f"{month(found['month'])}.", "note") + sentences + explain


def _by_subject(sentences: Sequence[Mapping[str, Any]]) -> str:
    """What to do first, then the reasons by subject; a subject of which nothing is said is left out."""
    told: dict[str, list[str]] = {subject: [] for subject in SUBJECTS}
    for sentence in sentences:
        subject = next((name for name, topics in SUBJECTS.items() if sentence["topic"] in topics), REST)
        told[subject].append(sentence["text"])
    return "".join(f'<h3 class="claim">{name}</h3>{bullets(texts)}' for name, texts in told.items() if texts)


def _explaining(jobs: Sequence[Any], shown: frozenset[str]) -> str:
    if not jobs:
        return ""
    rows = [job if isinstance(job, Mapping) else {"job_id": job} for job in jobs]
    columns = [name for name in rows[0] if name != "job_id" and not isinstance(rows[0][name], (list, dict))]
    body = [
        [
            Raw(link("job", row["job_id"], known=str(row["job_id"]) in shown)),
            *(_cell(name, row[name]) for name in columns),
        ]
        for row in rows
    ]
    return table(Table("The jobs that explain the month", ["Job", *(_heading(name) for name in columns)], body))


def _heading(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _cell(name: str, value: Any) -> str | None:
    if value is None or isinstance(value, str):
        return value
    if name.endswith("_on"):
        return day(value)
    if "hours" in name and "per" not in name:
        return hours(value)
    return percent(value) if "margin" in name or "share" in name else usd(value)


def _shown_jobs(parts: Parts) -> frozenset[str]:
    frame = have(parts, "job_rows")
    return frozenset() if frame is None else frozenset(owner_charts.recent(frame, parts["as_of"])["job_id"].to_list())


def _filters(parts: Parts) -> str:
    jobs = have(parts, "job_rows")
    if jobs is None or jobs.is_empty():
        return too_few(missing(parts, "job_rows") if jobs is None else NEEDED_JOBS)
    cells = sums.sums(jobs)
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
    shown = f'<div class="charts">{answer}{plot}{data}</figure></div>'
    return f"{form}{sums.CHOICE_SAID}{said}{crews}{shown}{sums.as_block(cells)}"


def _roll_forward(parts: Parts) -> str:
    reserve = have(parts, "reserve")
    if reserve is None or not reserve.get("roll_forward"):
        return ""
    names = ("opening", "accrued", "spent", "change_in_estimate", "closing")
    body = [[month(row["month"]), *(usd(row.get(name)) for name in names)] for row in reserve["roll_forward"]]
    headers = ["Month", "At the start", "Added for new work", "Spent", "Estimate changed", "At the end"]
    return table(Table("How the amount set aside moved", headers, body))


def _open_jobs(parts: Parts) -> str:
    rows = rows_of(parts, "open_jobs")
    if not rows:
        found = have(parts, "open_jobs")
        return too_few(missing(parts, "open_jobs")) if found is None else paragraph("No job is open.")
    ordered = sorted(rows, key=lambda row: float(row.get("expected_profit") or 0))
    body = [
        [
            str(row["job_id"]),
            "heading for a loss" if row.get("heading_for_loss") else "",
            usd(row.get("revenue")),
            usd(row.get("cost_to_date")),
            usd(row.get("expected_final_cost")),
            usd(row.get("expected_profit")),
        ]
        for row in ordered
    ]
    headers = ["Job", "Watch", "Price", "Cost so far", "Expected final cost", "Expected profit"]
    names = [anchor("open-job", row["job_id"]) for row in ordered]
    return table(Table("Open jobs, the worst first", headers, body, names))


def _jobs(parts: Parts) -> str:
    frame = have(parts, "job_rows")
    if frame is None or frame.is_empty():
        return too_few(missing(parts, "job_rows") if frame is None else NEEDED_JOBS)
    recent = owner_charts.recent(frame, parts["as_of"])
    body = [_job_row(row) for row in recent.iter_rows(named=True)]
    names = [anchor("job", name) for name in recent["job_id"].to_list()]
    headers = ["Job", "Finished", "Wall", "Crew", "Revenue", "Hours", "Quoted hours", "Callbacks", "Profit", "Margin"]
    said = paragraph(
        "The jobs finished last. A point in a chart above leads here; for one job in full: areaway jobs JOB."
    )
    return said + table(Table("Finished jobs, newest first", headers, body, names))


def _job_row(row: Mapping[str, Any]) -> list[str | Raw | None]:
    from dashboards.words import word

    return [
        Raw(f"<b>{esc(row['job_id'])}</b>"),
        day(row["completed_on"]),
        word(row["wall_type"]),
        row["crew"],
        usd(row["revenue"]),
        hours(row["actual_hours"]),
        hours(row["quoted_hours"]),
        usd(row["callback_cost"]),
        usd(row["profit"]),
        percent(row["margin"]),
    ]
