"""How well orders are predicted: jobs held out by date, their purchases against the model's whole packs."""

from typing import TYPE_CHECKING, Any

import numpy as np

from pipeline.estimators.known import Defaults
from pipeline.estimators.materials_fit import FEWEST_JOBS, fit_materials, purchases_of
from pipeline.estimators.standard_use import orders_by_job
from pipeline.takeoff.openings import Numbers

if TYPE_CHECKING:
    import polars as pl

HELD_OUT_SHARE = 0.2
SLACK = 1e-6


def measure_materials(
    jobs: "pl.DataFrame",
    openings: "pl.DataFrame",
    materials: "pl.DataFrame",
    prices: "pl.DataFrame",
    *,
    defaults: Defaults,
) -> dict[str, Any] | None:
    """The last fifth of finished jobs with purchases, ordered for by a model of the earlier ones.

    in:     as fit_materials
    out:    {"jobs", "holdout_jobs", "holdout_lines", "cost_error", "bias", "by_item": [...]}; cost_error = sum of
            |ordered - bought| x price over sum of bought x price; bias = ordered over bought, less 1;
            pack_hit = share of job and item lines with the very same packs. None with too few jobs.
    """
    import polars as pl

    done = jobs.filter(pl.col("completed_on").is_not_null())
    done = done.join(materials.select("job_id").unique(), on="job_id", how="semi").sort("completed_on", "job_id")
    ids = done["job_id"].to_list()
    cut = len(ids) - round(HELD_OUT_SHARE * len(ids))
    past, unseen = pl.col("job_id").is_in(ids[:cut]), pl.col("job_id").is_in(ids[cut:])
    learned = (jobs.filter(past), openings.filter(past), materials.filter(past))
    if cut == len(ids) or purchases_of(*learned, defaults).jobs_with_lines < FEWEST_JOBS:
        return None
    model = fit_materials(*learned, prices, defaults=defaults)
    test = purchases_of(jobs.filter(unseen), openings.filter(unseen), materials.filter(unseen), defaults)
    price = _mean_prices(test.raw)
    rows = []
    for order in orders_by_job(model, test.openings, test.quantities, test.job):
        bought = _bought(test, order.item, order.unit)
        if order.item in price and bought.any():
            rows.append(_row(order.item, order.unit, order.order_quantity, bought, price[order.item]))
    return _summary(rows, len(ids), len(ids) - cut, model)


def _mean_prices(raw: "pl.DataFrame") -> dict[str, float]:
    import polars as pl

    paid = raw.filter(pl.col("unit_cost") > 0).group_by("item").agg(pl.col("unit_cost").mean()).sort("item")
    return dict(paid.iter_rows())


def _bought(test: Any, item: str, unit: str) -> Numbers:
    import polars as pl

    lines = test.lines.filter((pl.col("item") == item) & (pl.col("unit") == unit))
    number = lines["job_number"].cast(pl.Int64).to_numpy()
    return np.asarray(np.bincount(number, lines["quantity"].to_numpy(), test.jobs), dtype=float)


def _row(item: str, unit: str, ordered: Numbers, bought: Numbers, price: float) -> dict[str, Any]:
    some = (ordered > 0) | (bought > 0)
    missed = np.abs(ordered - bought)[some]
    return {
        "item": item,
        "unit": unit,
        "holdout_lines": int(some.sum()),
        "cost_error": float(missed.sum() / bought.sum()),
        "bias": float(ordered.sum() / bought.sum() - 1),
        "pack_hit": float(np.mean(missed < SLACK)),
        "cost": float(bought.sum() * price),
    }


def _summary(rows: list[dict[str, Any]], jobs: int, held_out: int, model: Any) -> dict[str, Any] | None:
    cost = sum(row["cost"] for row in rows)
    if not cost:
        return None
    by_item = [
        {**{key: value for key, value in row.items() if key != "cost"}, "pack_size": model.items[row["item"]].pack_size}
        for row in rows
    ]
    return {
        "jobs": jobs,
        "holdout_jobs": held_out,
        "holdout_lines": sum(row["holdout_lines"] for row in rows),
        "cost_error": sum(row["cost_error"] * row["cost"] for row in rows) / cost,
        "bias": sum(row["bias"] * row["cost"] for row in rows) / cost,
        "by_item": by_item,
    }
