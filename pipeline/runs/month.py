"""The month in words: gathers a month, the year before it and what is open, and has it told."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.costing.cents import cents
from pipeline.costing.explain_month import Usual, jobs_that_explain
from pipeline.costing.figures import day_name, dollars, several
from pipeline.costing.month_words import MonthFacts, say, sentences
from pipeline.costing.price_index import price_change
from pipeline.costing.quote_bias import bias_of_pairs
from pipeline.errors import InputError, NotEnoughRecords
from pipeline.runs.expected_hours import expected_hours
from pipeline.runs.jobs import OVERHEAD, job_rows, list_of_jobs
from pipeline.runs.margins import (
    ALL_JOBS,
    HOURS,
    bias_of_quotes,
    doubts,
    grouped,
    newest_finished,
    refuse_without_a_finished_job,
)
from pipeline.runs.spans import Span, days_of, month_span, trailing_year, year_before
from pipeline.runs.standards import Standards, hold_job_costs, in_force
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book, rows
from schemas.results_money import JobRow, MarginRow, Month, PriceChange, QuoteBias, Sentence

if TYPE_CHECKING:
    import duckdb

    from schemas.results_warranty import Reserve


@dataclass(frozen=True)
class Asked:
    """The month, the day of the question, what costs are measured with; the reserve when already worked out."""

    month: str
    span: Span
    as_of: date
    measured_with: Standards
    reserve: "Reserve | None" = None

    @property
    def first_day(self) -> date:
        """First day of the month."""
        return self.span.first_day or self.as_of

    @property
    def last_day(self) -> date:
        """Last day of the month that is over by the day of the question."""
        return min(self.span.last_day or self.as_of, self.as_of)


def month_(book: Path, settings: Settings, month: str | None = None, *, as_of: date | None = None) -> Month:
    """The month in words, with its numbers; the newest with a finished job when none is named.

    errors: WrongUsage when the month is not written as YYYY-MM; NotEnoughRecords when no job is finished by the day,
            or the month begins after it
    """
    span = month_span(month) if month else None
    with open_book(book) as con:
        on = as_of or newest_date(con)
        refuse_without_a_finished_job(con, on)
        named = month or newest_month(con, on)
        asked = Asked(named, span or month_span(named), on, hold_job_costs(con, settings, on))
        if asked.first_day > on:
            raise NotEnoughRecords(
                f"{named} begins after {on}, the day answered for; "
                f"the newest month with a finished job is {newest_month(con, on)}"
            )
        return month_of(con, settings, asked)


def newest_month(con: "duckdb.DuckDBPyConnection", as_of: date) -> str:
    """The month of the newest job finished by a day; the day's own while none is."""
    return (newest_finished(con, as_of) or as_of).strftime("%Y-%m")


def write_month_page(told: Month, file: Path) -> None:
    """Write the month as a page of HTML.

    errors: InputError when the file cannot be written
    """
    from dashboards.month_page import month_page

    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(month_page(told), encoding="utf-8")
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror}; give another --out") from error


def month_of(con: "duckdb.DuckDBPyConnection", settings: Settings, asked: Asked) -> Month:
    """The same from job costs already held on this connection."""
    listed = list_of_jobs(con, span=asked.span)
    table = job_rows(con, listed, asked.measured_with, asked.as_of)
    facts = _facts(con, settings, asked, (listed, table))
    return Month(
        month=asked.month,
        as_of=asked.as_of,
        overhead_set=settings.is_set(OVERHEAD),
        waiting_rows=doubts(con, asked.span)[0],
        sentences=sentences(facts),
        jobs_that_explain_it=list(facts.explaining),
    )


def _facts(
    con: "duckdb.DuckDBPyConnection",
    settings: Settings,
    asked: Asked,
    jobs: tuple[Sequence[Mapping[str, Any]], Sequence[JobRow]],
) -> MonthFacts:
    listed, table = jobs
    completed = [at for at, job in enumerate(listed) if job["completed_on"] is not None]
    month = grouped(con, ALL_JOBS, asked.span)[1]
    wages, materials = _price_changes(con, asked)
    year = trailing_year(asked.last_day)
    before = grouped(con, ALL_JOBS, year_before(asked.first_day))[1]
    return MonthFacts(
        as_of=asked.as_of,
        first_day=asked.first_day,
        last_day=asked.last_day,
        is_over=asked.last_day == asked.span.last_day,
        month=month,
        year=grouped(con, ALL_JOBS, year)[1],
        jobs=rows(con, "margins", {"by": "job", **days_of(asked.span)}),
        jobs_before=rows(con, "margins", {"by": "job", **days_of(year_before(asked.first_day))}),
        explaining=jobs_that_explain(
            [listed[at] for at in completed],
            [table[at]["profit_after_callbacks"] for at in completed],
            Usual(_usual_margin(before, month), settings.is_set(OVERHEAD)),
        ),
        bias=_hours(bias_of_quotes(con, year)),
        bias_by_wall=_bias_by_wall(con, year),
        against_model=_against_model(con, [listed[at] for at in completed]),
        wages=wages,
        materials=materials,
        callbacks=_callbacks(con, asked),
        open_jobs=[row for row in table if row["status"] == "open"],
        target_margin=settings.value("target_margin", asked.last_day) or Decimal(0),
        standard_hourly_cost=in_force(asked.measured_with["standard"], asked.as_of),
        reserve=_reserve(con, settings, asked),
        doubts=_doubts(con, settings, asked, month),
    )


def _reserve(con: "duckdb.DuckDBPyConnection", settings: Settings, asked: Asked) -> list[Sentence]:
    """What callbacks still to come are expected to cost; nothing while too few are costed to say."""
    from pipeline.runs.reserve import read_history, reserve_of

    as_of = asked.as_of
    try:
        reserve = asked.reserve or reserve_of(read_history(con, settings, as_of), as_of)
    except NotEnoughRecords:
        return []
    if reserve["order_of_magnitude_only"]:
        return []
    cost, low, high = reserve["expected_cost"], reserve["low_80"], reserve["high_80"]
    text = (
        f"From {day_name(as_of)} on, jobs already finished will still cost about {dollars(cost)} in callbacks "
        f"under warranty ({dollars(low)} to {dollars(high)} in 8 of 10 cases)."
    )
    return [say("reserve", text, expected_cost=cost, low_80=low, high_80=high)]


def _against_model(con: "duckdb.DuckDBPyConnection", completed: Sequence[Mapping[str, Any]]) -> QuoteBias | None:
    """Hours of the month's jobs beside what the fitted model expects of their openings; None without a model."""
    with_hours = [job for job in completed if job["has_labour"]]
    expected = expected_hours(con, [job["job_id"] for job in with_hours])
    if not expected:
        return None
    pairs = [
        (sum(expected[job["job_id"]].values()), float(job["actual_hours"]))
        for job in with_hours
        if job["job_id"] in expected
    ]
    return bias_of_pairs(HOURS, pairs)


def _usual_margin(before: MarginRow, month: MarginRow) -> Decimal:
    """Profit after callbacks over revenue of the twelve months before; of the month itself in a first year."""
    for row in (before, month):
        if row["revenue"]:
            return row["profit_after_callbacks"] / row["revenue"]
    return Decimal(0)


def _hours(biases: Sequence[QuoteBias]) -> list[QuoteBias]:
    return [bias for bias in biases if bias["measure"] == HOURS]


def _bias_by_wall(con: "duckdb.DuckDBPyConnection", year: Span) -> list[tuple[str, QuoteBias]]:
    walls = [row["group"] for row in grouped(con, "wall_type", year)[0] if row["group"]]
    return [(wall, bias) for wall in walls for bias in _hours(bias_of_quotes(con, year, wall))]


def _price_changes(con: "duckdb.DuckDBPyConnection", asked: Asked) -> tuple[PriceChange, PriceChange]:
    """Wages and material prices of the month against the twelve months before."""
    paid = rows(con, "things_paid", _days(asked))
    wages, materials = ([line for line in paid if line["kind"] == kind] for kind in ("wages", "materials"))
    return _price_change(wages, "quantity"), _price_change(materials, "lines")


def _price_change(paid: Sequence[Mapping[str, Any]], weight: str) -> PriceChange:
    baskets: dict[bool, dict[Hashable, tuple[float, float]]] = {True: {}, False: {}}
    for line in paid:
        baskets[line["is_now"]][line["thing"]] = (line["quantity"], line["amount"])
    weights = {line["thing"]: line[weight] for line in paid if line["is_now"]}
    return price_change(baskets[False], baskets[True], weight=weights)


def _days(asked: Asked) -> dict[str, date | None]:
    before = year_before(asked.first_day)
    return {"first_day": asked.first_day, "last_day": asked.last_day, "before_day": before.first_day}


def _callbacks(con: "duckdb.DuckDBPyConnection", asked: Asked) -> dict[str, Any]:
    terms = {name: asked.measured_with[name] for name in ("standard", "warranty")}
    counted = rows(con, "visits_reported", {"as_of": asked.as_of, **terms, **_days(asked)})[0]
    return counted | {"cost": cents(counted["cost"])}


def _doubts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, asked: Asked, month: MarginRow
) -> list[Sentence]:
    """What may spoil the figures of the month."""
    waiting, without_labour = doubts(con, asked.span)
    found = []
    if not settings.is_set(OVERHEAD):
        found.append(say("doubts", "Overhead not set: job profit is before overhead."))
    if waiting:
        text = f"In quarantine and naming these jobs: {several(waiting, 'row')}. Their cost may be too low."
        found.append(say("doubts", text, waiting_rows=waiting))
    if without_labour:
        named = ", ".join(without_labour)
        text = f"Completed without a single hour recorded, left out of ratios: {named}."
        found.append(say("doubts", text, jobs_without_labour=len(without_labour)))
    if month["callbacks_not_costed"]:
        missing = month["callbacks_not_costed"]
        text = f"Without a cost yet, so not in the figures: {several(missing, 'callback')} of these jobs."
        found.append(say("doubts", text, callbacks_not_costed=missing))
    return found
