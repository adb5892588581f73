"""The day an estimate is made for: the newest work in the book, or on starter rates the newest day of anything."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import NotEnoughRecords
from pipeline.settings import FIRST_DAY, Settings
from pipeline.store.book import newest_date, open_book, rows

if TYPE_CHECKING:
    import duckdb


def newest_day(book: Path) -> date | None:
    """The newest worked_on, completed_on or reported_on of a book; None when it holds none of them."""
    with open_book(book) as con:
        newest: date | None = rows(con, "newest_date")[0]["newest"]
    return newest


def day_of_estimates(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date | None) -> date:
    """The as-of day of a fit or a quote.

    errors: NotEnoughRecords when the book holds no dated work and the settings no starter rates
    """
    if as_of is not None:
        return as_of
    try:
        return newest_date(con)
    except NotEnoughRecords:
        if not settings.starter_rates:
            raise
    newest: date | None = rows(con, "newest_known_day")[0]["newest"]
    return newest or FIRST_DAY
