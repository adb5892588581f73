"""Spans of days a money question is about: a month, the year up to a day, any two days."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from pipeline.errors import WrongUsage


@dataclass(frozen=True)
class Span:
    """Days of completion asked for; None = open on that side."""

    first_day: date | None = None
    last_day: date | None = None

    def __post_init__(self) -> None:
        if self.first_day and self.last_day and self.first_day > self.last_day:
            raise WrongUsage(f"the days run from {self.first_day} to {self.last_day}; the first must come first")


EVER = Span()


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


def year_before(first_day: date) -> Span:
    """The twelve months that end the day before."""
    return trailing_year(date.fromordinal(first_day.toordinal() - 1))
