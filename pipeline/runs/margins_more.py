"""What margins can add on request: prices over time, jobs at today's prices, the reserve still to come."""

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from pipeline.callbacks.reserve import by_complaint, fitted_model
from pipeline.costing.price_index import index_of_quarters, todays_prices
from pipeline.errors import NotEnoughRecords
from pipeline.runs.reserve import read_history
from pipeline.runs.standards import Standards
from pipeline.settings import Settings
from pipeline.store.book import frame, rows
from schemas.results_money import MarginRow, PriceStep, ReserveOfGroup, TodaysPrices

if TYPE_CHECKING:
    import duckdb


def price_index(con: "duckdb.DuckDBPyConnection", as_of: date) -> list[PriceStep]:
    """Index of material prices and wages by quarter up to a day."""
    return index_of_quarters(rows(con, "paid_by_quarter", {"as_of": as_of}))


def at_todays_prices(
    con: "duckdb.DuckDBPyConnection", asked: dict[str, Any], measured_with: Standards, index: list[PriceStep]
) -> list[TodaysPrices]:
    """The groups of a margins table re-costed; asked: as_of, by, first_day, last_day."""
    terms = {"standard": measured_with["standard"], "overhead": measured_with["overhead"]}
    return todays_prices(rows(con, "costs_by_quarter", {**asked, **terms}), index)


def after_reserve(
    con: "duckdb.DuckDBPyConnection", settings: Settings, asked: dict[str, Any], table: list[MarginRow]
) -> list[ReserveOfGroup]:
    """The groups of a margins table after the callback cost still expected for their jobs.

    errors: NotEnoughRecords with too few costed callbacks for a reserve
    """
    to_come = _reserve_by_job(con, settings, asked["as_of"])
    by_group: dict[str | None, float] = defaultdict(float)
    span = {name: asked[name] for name in ("by", "first_day", "last_day")}
    for job in rows(con, "groups_of_jobs", span):
        by_group[job["group_name"]] += to_come.get(job["job_id"], 0.0)
    return [
        ReserveOfGroup(
            group=row["group"],
            reserve_to_come=by_group[row["group"]],
            profit_after_reserve=float(row["profit_after_callbacks"]) - by_group[row["group"]],
        )
        for row in table
    ]


def _reserve_by_job(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> dict[str, float]:
    """Expected cost of visits still to come inside each job's warranty, from the model of the reserve. [USD]"""
    history = read_history(con, settings, as_of)
    model = fitted_model(history)
    if model is None:
        raise NotEnoughRecords("no reserve yet: too few callbacks with a cost in the book; leave --after-reserve out")
    ends = by_complaint(model, history.warranty_days.astype(float)) - by_complaint(model, history.end_age)
    cost = np.clip(ends, 0.0, None) @ model.severity.mean
    found: dict[str, float] = defaultdict(float)
    terms = {"as_of": as_of, "warranty": _warranty(con, settings, as_of)}
    for job_id, amount in zip(frame(con, "warranty_openings", terms)["job_id"].to_list(), cost.tolist(), strict=True):
        found[job_id] += amount
    return found


def _warranty(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> Any:
    from pipeline.runs.standards import standards

    return standards(con, settings, as_of)["warranty"]
