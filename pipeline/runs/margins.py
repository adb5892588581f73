"""Margins: what completed jobs cost and earned, by month, wall, crew or another group, and why they differed."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.costing.margins import margin_rows
from pipeline.costing.quote_bias import quote_biases
from pipeline.errors import WrongUsage
from pipeline.runs.standards import hold_job_costs, in_force
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book, rows
from schemas.results_money import MarginRow, Margins, QuoteBias

if TYPE_CHECKING:
    import duckdb

GROUPS = ("month", "wall_type", "crew", "branch", "opening_work", "job_size", "job")
ALL_JOBS = "all"


@dataclass(frozen=True)
class Span:
    """Days of completion asked for; None = open on that side."""

    first_day: date | None = None
    last_day: date | None = None


EVER = Span()


def margins_(
    book: Path, settings: Settings, *, as_of: date | None = None, by: str = "month", span: Span = EVER
) -> Margins:
    """Margins of the jobs completed in a span of days, grouped.

    errors: WrongUsage for a group that does not exist; NotEnoughRecords when the book holds no dated work
    """
    if by not in GROUPS:
        raise WrongUsage(f"--by is '{by}'; it must be one of {', '.join(GROUPS)}")
    with open_book(book) as con:
        on = as_of or newest_date(con)
        return _margins(con, settings, _Asked(on, by, span))


@dataclass(frozen=True)
class _Asked:
    as_of: date
    by: str
    span: Span


def _margins(con: "duckdb.DuckDBPyConnection", settings: Settings, asked: _Asked) -> Margins:
    measured_with = hold_job_costs(con, settings, asked.as_of)
    table, total = grouped(con, asked.by, asked.span)
    waiting_rows, without_labour = doubts(con, asked.span)
    return Margins(
        as_of=asked.as_of,
        by=asked.by,
        overhead_set=settings.is_set("overhead_per_labour_hour"),
        standard_hourly_cost=in_force(measured_with["standard"], asked.as_of),
        standard_set=settings.is_set("standard_hourly_cost"),
        waiting_rows=waiting_rows,
        jobs_without_labour=without_labour,
        rows=table,
        total=total,
        trailing_twelve_months=grouped(con, ALL_JOBS, trailing_year(asked.as_of))[1],
        quote_bias=bias_of_quotes(con, settings, asked.span),
    )


def grouped(con: "duckdb.DuckDBPyConnection", by: str, span: Span) -> tuple[list[MarginRow], MarginRow]:
    """Rows and total over the job costs held on this connection."""
    return margin_rows(rows(con, "margins", {"by": by, **days_of(span)}))


def bias_of_quotes(con: "duckdb.DuckDBPyConnection", settings: Settings, span: Span) -> list[QuoteBias]:
    """Bias in hours, and in cost where overhead is set (a quoted cost holds overhead, so the actual one must)."""
    biases = quote_biases(rows(con, "quote_against_actual", days_of(span)))
    return [bias for bias in biases if bias["measure"] == "hours" or settings.is_set("overhead_per_labour_hour")]


def doubts(con: "duckdb.DuckDBPyConnection", span: Span) -> tuple[int, list[str]]:
    """How many rows in quarantine name the jobs, and which jobs have no hours at all."""
    doubtful = rows(con, "doubts_about_costs", days_of(span))
    return sum(job["waiting_rows"] for job in doubtful), [job["job_id"] for job in doubtful if job["is_without_labour"]]


def days_of(span: Span) -> dict[str, date | None]:
    """The span as query parameters."""
    return {"first_day": span.first_day, "last_day": span.last_day}


def month_span(month: str) -> Span:
    """All days of a month given as YYYY-MM.

    errors: WrongUsage when it is not a month
    """
    try:
        first = date.fromisoformat(f"{month}-01")
    except ValueError as error:
        raise WrongUsage(f"the month is '{month}'; it must be written as 2026-03") from error
    return Span(first, first.replace(day=monthrange(first.year, first.month)[1]))


def trailing_year(as_of: date) -> Span:
    """The twelve months that end on a day."""
    last = monthrange(as_of.year - 1, as_of.month)[1]
    year_before = date(as_of.year - 1, as_of.month, min(as_of.day, last))
    return Span(date.fromordinal(year_before.toordinal() + 1), as_of)
