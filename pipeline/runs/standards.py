"""What every money question is measured with: the standard hour, the overhead and the warranty, by date."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from pipeline.settings import Settings
from pipeline.store.book import question
from pipeline.store.firm_settings import Step, setting_steps

if TYPE_CHECKING:
    import duckdb


class Standards(TypedDict):
    """Parameters of the named questions: each a list of structs of valid_from and value."""

    standard: list[Step]
    overhead: list[Step]
    warranty: list[Step]


def standards(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> Standards:
    """The dated values in force, for the parameters `$standard`, `$overhead` and `$warranty` of a question.

    standard: USD per labour hour, the firm's own or the median of the 12 months before `as_of`;
    overhead: USD per labour hour, 0 when not set; warranty: months
    """
    return Standards(
        standard=setting_steps(con, settings, "standard_hourly_cost", as_of),
        overhead=setting_steps(con, settings, "overhead_per_labour_hour", as_of),
        warranty=setting_steps(con, settings, "warranty_months", as_of),
    )


def hold_job_costs(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> Standards:
    """Work out what every job cost by `as_of`, once, for the questions that follow on this connection.

    out: the standards it was measured with
    """
    measured_with = standards(con, settings, as_of)
    con.execute(question("hold_job_costs"), {"as_of": as_of, **dict(measured_with)})
    return measured_with


def hold_visits(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> None:
    """Work out the list of callback visits by `as_of` once; every question that follows on this connection reads it.

    Only questions about that day may follow; one about another day stops with the database's own error.
    """
    terms = standards(con, settings, as_of)
    dated = {"as_of": as_of, "standard": terms["standard"], "warranty": terms["warranty"]}
    con.execute(question("hold_visits"), dated)
    con.execute(question("ask_held_visits"))


def in_force(steps: list[Step], day: date) -> Decimal:
    """The value in force on a day."""
    return next(step["value"] for step in reversed(steps) if step["valid_from"] <= day)
