"""The owner's lists of jobs: those that lost money or fell short, open ones, those finished last."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from dashboards import owner_charts, sums
from dashboards.html import Cell, Raw, Table, paragraph, table, too_few
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.words import anchor, count, day, esc, hours, link, percent, sentence_case, unbroken, usd, word

NEEDED_JOBS = "Needs at least one finished job with a price and hours; then this part fills itself."
BASIS = {
    "hours model": "the hours model",
    "quoted hours": "the hours quoted",
    "quoted cost": "the cost quoted",
}


def lost_money(parts: Parts) -> str | None:
    """The sentence on finished jobs at a loss; None when nothing was gathered."""
    found = have(parts, "short_jobs")
    if found is None or not found["jobs"]:
        return None
    year = f"of the {count(found['jobs'], 'job')} finished in the last twelve months"
    unknown = found["without_hours"]
    apart = f" {count(unknown, 'more has', 'more have')} no hours on record, so nobody can tell." if unknown else ""
    if not found["at_a_loss"]:
        return f"None {year} lost money.{apart}"
    worst = found["rows"][0]
    named = f"job {worst['job_id']} lost {usd(-worst['profit_after_callbacks'])}, {worst['why']}"
    return f"{found['at_a_loss']} {year} lost money, {usd(-found['lost'])} together; the worst: {named}.{apart}"


def short_jobs(parts: Parts, cells: pl.DataFrame | None) -> str:
    """Jobs at a loss, then those furthest below the usual margin, each with why."""
    found = have(parts, "short_jobs")
    if found is None or not found["rows"]:
        return too_few(missing(parts, "short_jobs") if found is None else NEEDED_JOBS)
    shown = shown_jobs(parts)
    rows = found["rows"]
    body = [_short_row(row, shown) for row in rows]
    headers = ["Job", "Finished", "Wall", "Crew", "Revenue", "Profit", "Margin", "Short of usual", "Why"]
    usual = percent(found["usual_margin"])
    said = (
        f"{lost_money(parts)} The usual job of the year kept {usual} of its revenue after overhead and callbacks; "
        "the reasons are steps from its quote to what it earned. Crews do different walls: compare like with like."
    )
    caption = "Jobs that lost money, the worst first, then those furthest below the usual margin"
    return paragraph(said) + table(Table(caption, headers, body, row_marks=_marks(cells, rows)))


def _short_row(row: Mapping[str, Any], shown: frozenset[str]) -> list[Cell]:
    return [
        Raw(link("job", row["job_id"], known=str(row["job_id"]) in shown)),
        day(row["completed_on"]),
        word(row["wall_type"]),
        row["crew"],
        usd(row["revenue"]),
        usd(row["profit_after_callbacks"]),
        percent(row["margin_after_callbacks"]),
        usd(-row["effect"]),
        sentence_case(unbroken(str(row["why"]))),
    ]


def shown_jobs(parts: Parts) -> frozenset[str]:
    """Jobs that have a line in the list of finished jobs."""
    frame = have(parts, "job_rows")
    return frozenset() if frame is None else frozenset(owner_charts.recent(frame, parts["as_of"])["job_id"].to_list())


def open_jobs(parts: Parts, cells: pl.DataFrame | None) -> str:
    """Open jobs, the worst first."""
    rows = rows_of(parts, "open_jobs")
    if not rows:
        found = have(parts, "open_jobs")
        return too_few(missing(parts, "open_jobs")) if found is None else paragraph("No job is open.")
    ordered = sorted(rows, key=_worst_first)
    body = [_open_row(row) for row in ordered]
    headers = ["Job", "Crew", "Price", "Cost so far", "Expected final cost", "Expected profit", "Watch"]
    names = [anchor("open-job", row["job_id"]) for row in ordered]
    marks = _marks(cells, ordered)
    return paragraph(_basis(rows)) + table(Table("Open jobs, the worst first", headers, body, names, marks))


def _worst_first(row: Mapping[str, Any]) -> float:
    return float("inf") if row.get("expected_profit") is None else float(row["expected_profit"])


def _open_row(row: Mapping[str, Any]) -> list[Cell]:
    return [
        str(row["job_id"]),
        row.get("crew"),
        usd(row.get("revenue")),
        usd(row.get("cost_to_date")),
        usd(row.get("expected_final_cost")),
        usd(row.get("expected_profit")),
        Raw('<b class="warn">heading for a loss</b>') if row.get("heading_for_loss") else Raw(""),
    ]


def _basis(rows: Sequence[Mapping[str, Any]]) -> str:
    named = {BASIS.get(str(row["expected_basis"]), "") for row in rows if row.get("expected_basis")}
    known = " or ".join(sorted(name for name in named if name))
    start = f"Expected from {known} and what is spent" if known else "Expected from what is spent and quoted"
    return f"{start}: a middle guess without a range, the less certain the less of the job is done."


def finished_jobs(parts: Parts, cells: pl.DataFrame | None) -> str:
    """The jobs finished last, newest first; they follow the choice on the page."""
    frame = have(parts, "job_rows")
    if frame is None or frame.is_empty():
        return too_few(missing(parts, "job_rows") if frame is None else NEEDED_JOBS)
    rows = list(owner_charts.recent(frame, parts["as_of"]).iter_rows(named=True))
    names = [anchor("job", row["job_id"]) for row in rows]
    headers = ["Job", "Finished", "Wall", "Crew", "Revenue", "Hours", "Quoted hours", "Callbacks", "Profit", "Margin"]
    older = frame.height - len(rows)
    told = f" Older jobs ({older:,}) count in the totals and charts, not here." if older else ""
    said = (
        f"The {count(len(rows), 'job')} finished last.{told} A point in a chart leads here; "
        "for all about one job: areaway jobs and its number."
    )
    caption = "Finished jobs, newest first"
    body = [_job_row(row) for row in rows]
    return paragraph(said) + table(Table(caption, headers, body, names, _marks(cells, rows)))


def _job_row(row: Mapping[str, Any]) -> list[Cell]:
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


def _marks(cells: pl.DataFrame | None, rows: Sequence[Mapping[str, Any]]) -> list[Mapping[str, str]]:
    """By what a choice finds the row of each job; an open job belongs to no period."""
    return [] if cells is None else [sums.marks(row, cells) for row in rows]
