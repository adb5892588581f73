"""The firm's dated settings as the book's questions read them, and the copy that rides along in the book."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict, cast

from pipeline.settings import FIRM_KEYS, FIRST_DAY, Settings
from pipeline.store.book import rows

if TYPE_CHECKING:
    import duckdb


class Step(TypedDict):
    """A value and the first day it holds, as a query parameter."""

    valid_from: date
    value: Decimal


def setting_steps(con: "duckdb.DuckDBPyConnection", settings: Settings, name: str, as_of: date) -> list[Step]:
    """A setting as structs of valid_from and value, never empty.

    The standard cost of an hour, when the firm set none, is the median recorded cost of the 12 months before
    `as_of`; 0 while no hour with a cost is in the book.
    """
    if settings.dated(name):
        return cast(list[Step], settings.steps(name))
    median = rows(con, "median_hourly_cost", {"as_of": as_of})[0]["median_hourly_cost"]
    return [Step(valid_from=FIRST_DAY, value=Decimal(0) if median is None else median)]


def remember(con: "duckdb.DuckDBPyConnection", settings: Settings) -> None:
    """Put the settings in force into the book, so that its views for people answer in any DuckDB client."""
    newest = rows(con, "newest_date")[0]["newest"] or FIRST_DAY
    con.execute("delete from firm_settings")
    for name in FIRM_KEYS:
        for step in setting_steps(con, settings, name, newest):
            con.execute("insert into firm_settings values (?, ?, ?)", [name, step["valid_from"], step["value"]])
