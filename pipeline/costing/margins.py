"""Margins of groups of jobs: exact sums in, figures to the cent that add up, ratios and variances out."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from pipeline.costing.cents import cents, rows_to_the_cent, shares_to_the_cent, table_to_the_cent
from schemas.results_money import MarginRow

# Revenue, then what is taken off it in the order of the profit lines.
PARTS = {"revenue": 1, "labour_cost": -1, "material_cost": -1, "other_cost": -1, "overhead": -1, "callback_cost": -1}
GROSS_PROFIT_PARTS, JOB_PROFIT_PARTS, PROFIT_AFTER_CALLBACKS_PARTS = 4, 5, 6
SUBTOTALS = (GROSS_PROFIT_PARTS, JOB_PROFIT_PARTS, PROFIT_AFTER_CALLBACKS_PARTS)
BESIDE = (
    "labour_rate_variance",
    "labour_efficiency_variance",
    "material_price_variance",
    "material_usage_variance",
    "material_cost_with_list_price",
)
COUNTS = ("jobs", "quoted_jobs", "callback_count", "callbacks_not_costed")
HOURS = ("actual_hours", "quoted_hours", "change_order_hours", "hours_of_quoted_jobs", "hours_at_standard")
FOR_RATIOS = (
    "ratio_revenue", "ratio_gross_profit", "ratio_job_profit", "ratio_profit_after_callbacks", "ratio_hours",
)
TOTAL = "total"

Sums = Mapping[str, Any]


def margin_rows(groups: Sequence[Sums]) -> tuple[list[MarginRow], MarginRow]:
    """Rows of a margins table and its row of totals. [USD, hours, shares of 1]

    in:     one row per group with the exact sums of the question `margins`
    out:    every money figure within a cent of the exact one; each total the sum of its column; profits the
            difference of the figures shown. Ratios are of the exact sums over jobs that have hours, null without
            revenue (or hours)
    """
    sums = [*groups, _total(groups)]
    parts = table_to_the_cent(_parts(groups), SUBTOTALS)
    beside = {name: _shared([row[name] for row in groups]) for name in BESIDE}
    rows = [
        _margin_row(row, money, {name: column[at] for name, column in beside.items()})
        for at, (row, money) in enumerate(zip(sums, parts, strict=True))
    ]
    return rows[:-1], rows[-1]


def single_rows(jobs: Sequence[Sums]) -> list[MarginRow]:
    """Rows rounded each by itself, as a list of jobs shows them. [USD, hours, shares of 1]

    in, out: as for margin_rows, without a total
    """
    money = rows_to_the_cent(_parts(jobs), SUBTOTALS)
    return [
        _margin_row(row, signed, {name: _to_the_cent(row[name]) for name in BESIDE})
        for row, signed in zip(jobs, money, strict=True)
    ]


def _parts(groups: Sequence[Sums]) -> list[list[Decimal]]:
    return [[sign * row[name] for name, sign in PARTS.items()] for row in groups]


def _to_the_cent(value: Decimal | None) -> Decimal | None:
    return None if value is None else cents(value)


def _total(groups: Sequence[Sums]) -> dict[str, Any]:
    names = (*COUNTS, *HOURS, *FOR_RATIOS)
    return {"group_name": TOTAL} | {name: _sum([row[name] for row in groups]) for name in names}


def _sum(values: Sequence[Any]) -> Any:
    """Sum of what is recorded; null when nothing is."""
    known = [value for value in values if value is not None]
    return sum(known) if known else None


def _shared(values: Sequence[Decimal | None]) -> list[Decimal | None]:
    """A column to the cent with its total last; null stays null."""
    shares = iter(shares_to_the_cent([value for value in values if value is not None]))
    column = [None if value is None else next(shares) for value in values]
    return [*column, _sum(column)]


def _margin_row(sums: Sums, signed: Sequence[Decimal], beside: Mapping[str, Decimal | None]) -> MarginRow:
    money = {name: sign * value + 0 for (name, sign), value in zip(PARTS.items(), signed, strict=True)}
    return MarginRow(
        group=sums["group_name"],
        jobs=sums["jobs"] or 0,
        revenue=money["revenue"],
        labour_cost=money["labour_cost"],
        material_cost=money["material_cost"],
        other_cost=money["other_cost"],
        gross_profit=sum(signed[:GROSS_PROFIT_PARTS], Decimal(0)),
        gross_margin=ratio(sums["ratio_gross_profit"], sums["ratio_revenue"]),
        overhead=money["overhead"],
        job_profit=sum(signed[:JOB_PROFIT_PARTS], Decimal(0)),
        job_margin=ratio(sums["ratio_job_profit"], sums["ratio_revenue"]),
        callback_cost=money["callback_cost"],
        profit_after_callbacks=sum(signed, Decimal(0)),
        margin_after_callbacks=ratio(sums["ratio_profit_after_callbacks"], sums["ratio_revenue"]),
        profit_per_labour_hour=ratio(sums["ratio_profit_after_callbacks"], sums["ratio_hours"]),
        actual_hours=sums["actual_hours"] or Decimal(0),
        quoted_jobs=sums["quoted_jobs"] or 0,
        quoted_hours=sums["quoted_hours"],
        change_order_hours=sums["change_order_hours"],
        hours_of_quoted_jobs=sums["hours_of_quoted_jobs"],
        labour_rate_variance=beside["labour_rate_variance"] or Decimal(0),
        labour_efficiency_variance=beside["labour_efficiency_variance"],
        material_price_variance=beside["material_price_variance"],
        material_usage_variance=beside["material_usage_variance"],
        material_cost_with_list_price=beside["material_cost_with_list_price"],
        hours_at_standard=sums["hours_at_standard"],
        callback_count=sums["callback_count"] or 0,
        callbacks_not_costed=sums["callbacks_not_costed"] or 0,
    )


def ratio(part: Decimal | None, whole: Decimal | None) -> float | None:
    """A share; null when the whole is 0 or not recorded."""
    return None if part is None or not whole else float(part / whole)
