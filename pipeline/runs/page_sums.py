"""The sums behind the choices on the warranty page: callbacks, readings and time watched per month and group."""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.store.book import frame
from schemas.vocab import COMPLAINT

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from pipeline.callbacks.history import History
    from pipeline.callbacks.revisit import OpeningsAhead

GROUP = ("branch", "crew", "wall_type")
MONTHS_A_YEAR = 12


def opening_groups(con: "duckdb.DuckDBPyConnection", on: date) -> "pl.DataFrame":
    """Branch, crew and wall type of every opening; finished ones first, in the order of a history."""
    return frame(con, "pages_groups", {"as_of": on})


def warranty_sums(
    groups: "pl.DataFrame", seen: "tuple[History, OpeningsAhead | None]", answers: Mapping[str, Any]
) -> "pl.DataFrame":
    """One row per group and month (first day of it; null = as it stands today) with something to count.

    in:     groups: of opening_groups; seen: the history, and the openings under warranty with their parts of the
            reserve (None while no opening is finished); answers: the parts `callbacks` and `checks`, ISO dates
    out:    branch, crew, wall_type, month, and the sums, 0 where there is nothing to count
    """
    import polars as pl

    readers = {"callbacks": _reports, "checks": _readings}
    tables = [_watched(groups, seen[0], answers["callbacks"]), _ahead(groups, seen[1])]
    for name, sums in readers.items():
        rows = answers[name]["rows"] if isinstance(answers[name], Mapping) else []
        if rows:
            counted = sums(pl.DataFrame(rows, infer_schema_length=None))
            tables.append(counted.join(groups, on="opening_id", how="left", validate="m:1"))
    told = pl.concat(
        [table.drop("opening_id", "completed_on", strict=False) for table in tables], how="diagonal_relaxed"
    )
    return told.group_by(*GROUP, "month").sum().sort(*GROUP, "month")


def _first_of_month(column: str) -> "pl.Expr":
    import polars as pl

    return pl.col(column).cast(pl.String).str.slice(0, 10).str.to_date(strict=False).dt.truncate("1mo").alias("month")


def _reports(rows: "pl.DataFrame") -> "pl.DataFrame":
    """One row per report: is it ours, what did it cost, does it wait."""
    import polars as pl

    ours = pl.col("counts")
    cost = pl.col("cost").cast(pl.Float64)
    return rows.select(
        "opening_id",
        _first_of_month("reported_on"),
        pl.lit(1.0).alias("reports"),
        ours.cast(pl.Float64).alias("counted"),
        (ours & cost.is_not_null()).cast(pl.Float64).alias("costed"),
        pl.when(ours).then(cost).alias("cost"),
        pl.col("days_open").is_not_null().cast(pl.Float64).alias("waiting"),
        *((ours & (pl.col("complaint") == word)).cast(pl.Float64).alias(f"counted_{word}") for word in COMPLAINT),
    )


def _readings(rows: "pl.DataFrame") -> "pl.DataFrame":
    """One row per reading outside the limits."""
    import polars as pl

    back = pl.col("called_back").cast(pl.Float64).alias("readings_back")
    return rows.select("opening_id", _first_of_month("checked_on"), pl.lit(1.0).alias("readings"), back)


def _finished(groups: "pl.DataFrame") -> "pl.DataFrame":
    return groups.filter(groups["completed_on"].is_not_null())


def _watched(groups: "pl.DataFrame", history: "History", callbacks: Any) -> "pl.DataFrame":
    """Callbacks under warranty and opening-years watched, per group and month of the chart of months."""
    import numpy as np
    import polars as pl

    from pipeline.callbacks.watching import by_month_and_group

    numbered = _finished(groups).with_columns(number=pl.struct(GROUP).rank("dense").cast(pl.Int64) - 1)
    named = numbered.unique("number").sort("number").select(GROUP)
    months, events, units = by_month_and_group(history, numbered["number"].to_numpy())
    drawn = (
        {row["month"] for row in callbacks["watching"]["by_month_of_report"]} if isinstance(callbacks, Mapping) else ()
    )
    row, group = np.nonzero((units > 0) & np.isin(months, list(drawn))[:, None])
    return named[group].with_columns(
        pl.Series("month", [f"{months[at]}-01" for at in row], dtype=pl.String).str.to_date(),
        pl.Series("visits", events[row, group]),
        pl.Series("opening_years", units[row, group] / MONTHS_A_YEAR),
    )


def _ahead(groups: "pl.DataFrame", ahead: "OpeningsAhead | None") -> "pl.DataFrame":
    """What stands today and no choice of dates changes: openings under warranty, callbacks and cost still expected."""
    import polars as pl

    now = _finished(groups).select("opening_id", *GROUP, pl.lit(None, dtype=pl.Date).alias("month"))
    if ahead is None:
        return now.with_columns(under_warranty=pl.lit(0.0))
    named = ahead.population.select("opening_id", under_warranty=pl.lit(1.0))
    if ahead.calls is not None and ahead.costs is not None:
        named = named.with_columns(
            pl.Series("expected_callbacks", ahead.calls), pl.Series("expected_cost", ahead.costs)
        )
    return now.join(named, on="opening_id", how="left", validate="1:1")
