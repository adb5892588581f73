"""Margins: what completed jobs cost and earned, by month, wall, crew or another group, and why they differed."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.costing.margins import margin_rows
from pipeline.costing.quote_bias import quote_biases
from pipeline.errors import NotEnoughRecords, WrongUsage
from pipeline.runs.spans import EVER, Span, days_of, trailing_year
from pipeline.runs.standards import Standards, hold_job_costs, in_force
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book, rows
from schemas.results_money import MarginRow, Margins, QuoteBias

if TYPE_CHECKING:
    import duckdb

GROUPS = ("month", "wall_type", "crew", "branch", "opening_work", "job_size", "job")
ALL_JOBS = "all"
HOURS = "hours"


@dataclass(frozen=True)
class Cut:
    """How jobs are grouped, which days of completion, and what is asked on top."""

    by: str = "month"
    span: Span = EVER
    prices: bool = False
    reserve: bool = False


BY_MONTH = Cut()


def margins_(book: Path, settings: Settings, cut: Cut = BY_MONTH, *, as_of: date | None = None) -> Margins:
    """Margins of the jobs completed in a span of days, grouped.

    errors: WrongUsage for a group that does not exist; NotEnoughRecords when no job is finished by the day, or too
            few costed callbacks for the reserve that was asked for
    """
    if cut.by not in GROUPS:
        raise WrongUsage(f"--by is '{cut.by}'; it must be one of {', '.join(GROUPS)}")
    with open_book(book) as con:
        on = as_of or newest_date(con)
        refuse_without_a_finished_job(con, on)
        asked = Asked(on, cut, hold_job_costs(con, settings, on))
        result = margins_of(con, settings, asked)
        _add_what_is_asked_on_top(con, settings, asked, result)
        return result


def newest_finished(con: "duckdb.DuckDBPyConnection", as_of: date) -> date | None:
    """The day the newest job was completed by a day; None without any."""
    day: date | None = rows(con, "newest_finished_job", {"as_of": as_of})[0]["day"]
    return day


def refuse_without_a_finished_job(con: "duckdb.DuckDBPyConnection", as_of: date) -> None:
    """Nothing about money can be told before the first job is finished.

    errors: NotEnoughRecords when none is by the day
    """
    first = rows(con, "first_finished_job")[0]["day"]
    if first is None or first > as_of:
        known = "none is finished in the book" if first is None else f"the first was finished on {first}"
        raise NotEnoughRecords(f"0 jobs finished by {as_of}, at least 1 is needed; {known}")


@dataclass(frozen=True)
class Asked:
    """The day of the question, the cut, and what the job costs held on the connection were measured with."""

    as_of: date
    cut: Cut
    measured_with: Standards


def _add_what_is_asked_on_top(
    con: "duckdb.DuckDBPyConnection", settings: Settings, asked: Asked, result: Margins
) -> None:
    from pipeline.runs.margins_more import after_reserve, at_todays_prices, price_index

    days = {"as_of": asked.as_of, "by": asked.cut.by, **days_of(asked.cut.span)}
    if asked.cut.prices:
        result["price_index"] = price_index(con, asked.as_of)
        result["at_todays_prices"] = at_todays_prices(con, days, asked.measured_with, result["price_index"])
    if asked.cut.reserve:
        result["after_reserve"] = after_reserve(con, settings, days, result["rows"])


def margins_of(con: "duckdb.DuckDBPyConnection", settings: Settings, asked: Asked) -> Margins:
    """The same from job costs already held on this connection, without what is asked on top."""
    overhead_set = settings.is_set("overhead_per_labour_hour")  # a quoted cost holds overhead: the actual one must too
    table, total = grouped(con, asked.cut.by, asked.cut.span)
    waiting_rows, without_labour = doubts(con, asked.cut.span)
    return Margins(
        as_of=asked.as_of,
        by=asked.cut.by,
        newest_completed_on=newest_finished(con, asked.as_of),
        overhead_set=overhead_set,
        standard_hourly_cost=in_force(asked.measured_with["standard"], asked.as_of),
        standard_set=settings.is_set("standard_hourly_cost"),
        waiting_rows=waiting_rows,
        jobs_without_labour=without_labour,
        rows=table,
        total=total,
        trailing_twelve_months=grouped(con, ALL_JOBS, trailing_year(asked.as_of))[1],
        quote_bias=[
            bias for bias in bias_of_quotes(con, asked.cut.span) if overhead_set or bias["measure"] == HOURS
        ],
    )


def grouped(con: "duckdb.DuckDBPyConnection", by: str, span: Span) -> tuple[list[MarginRow], MarginRow]:
    """Rows and total over the job costs held on this connection."""
    return margin_rows(rows(con, "margins", {"by": by, **days_of(span)}))


def bias_of_quotes(con: "duckdb.DuckDBPyConnection", span: Span, wall_type: str | None = None) -> list[QuoteBias]:
    """Bias of quoted hours and quoted cost on the jobs completed in a span, of one wall type or all."""
    return quote_biases(rows(con, "quote_against_actual", {"wall_type": wall_type, **days_of(span)}))


def doubts(con: "duckdb.DuckDBPyConnection", span: Span) -> tuple[int, list[str]]:
    """How many rows in quarantine name the jobs, and which jobs have no hours at all."""
    doubtful = rows(con, "doubts_about_costs", days_of(span))
    return sum(job["waiting_rows"] for job in doubtful), [job["job_id"] for job in doubtful if job["is_without_labour"]]
