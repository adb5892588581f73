"""Purchases of an invented firm with known use: whole packs, pooled or per opening, some mis-keyed.

Uses are invented (common practice, no source) and drawn per take-off quantity; nothing is imported from the estimators.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import numpy as np
import polars as pl

from tests.recovery.labour_world import Firm, World

WALLS = ("poured_concrete", "concrete_block", "brick", "stone", "wood_foundation")
# item: unit, pack, price, use per unit of take-off, what it follows, share of jobs with one line for all
ITEMS: dict[str, tuple[str, float, float, float, str, float]] = {
    "gasket_tape": ("ft", 25.0, 1.2, 1.1, "perimeter_ft", 0.5),
    "anchor": ("ea", 10.0, 1.0, 0.9, "perimeter_ft", 0.3),
    "foam": ("can", 1.0, 8.0, 0.09, "perimeter_ft", 0.6),
    "sealant": ("tube", 1.0, 9.0, 0.15, "perimeter_ft", 0.6),
    "grout": ("bag", 1.0, 10.0, 4.0, "grout_cuft", 0.4),
    "gravel": ("ton", 0.5, 30.0, 1.5, "gravel_yd3", 0.3),
    "drain_pipe": ("ft", 10.0, 2.0, 2.5, "drain_ft", 0.3),
    "blade": ("ea", 1.0, 60.0, 0.05, "cut_sqft", 0.7),
    "membrane": ("roll", 1.0, 45.0, 0.03, "well_sqft", 0.5),
    "disposal": ("yd3", 0.5, 35.0, 1.3, "removed_yd3", 0.5),
}
USAGE_SD = 0.12
WALL_SD = 0.15
FIRM_SD = 0.1
MISKEYED = 0.004


@dataclass(frozen=True)
class Stock:
    """Purchases as a frame, and the truth: packs each job bought before mis-keying, median use per opening."""

    materials: pl.DataFrame
    bought: dict[str, np.ndarray]
    median_use: dict[str, np.ndarray]


def make_purchases(firm: Firm, world: World) -> Stock:
    """Draw what a firm of the labour world bought."""
    rng = np.random.default_rng(world.seed + 77_000)
    o = firm.extra["world"]
    take = _take_off(o)
    wall = np.array([WALLS.index(w) for w in o["wall_type"]])
    rows: list[tuple[Any, ...]] = []
    bought, median_use = {}, {}
    for item, (unit, pack, price, rate, basis, pooled) in ITEMS.items():
        by_wall = np.exp(rng.normal(0, WALL_SD, len(WALLS)))
        median = take[basis] * rate * float(np.exp(rng.normal(0, FIRM_SD))) * by_wall[wall]
        median_use[item] = median
        whole = rng.random(world.jobs) < pooled
        bought[item] = _lines(item, (unit, pack, price), median, whole, firm, o, rng, rows)
    schema = {
        "job_id": pl.String, "opening_id": pl.String, "item": pl.String, "spec": pl.String, "unit": pl.String,
        "bought_on": pl.Date, "quantity": pl.Float64, "unit_cost": pl.Float64,
    }  # fmt: skip
    return Stock(pl.DataFrame(rows, schema=schema, orient="row"), bought, median_use)


def _take_off(o: dict[str, Any]) -> dict[str, np.ndarray]:
    W, H, t = o["W"], o["H"], o["t"]
    whole, larger = 2 * (W + H), 2 * (H - o["old_h"]) + W + np.where(o["W"] > o["old_w"], 2 * o["old_h"], 0.0)
    cut_in = np.select([o["work"] == "new_cut", o["work"] == "enlarge"], [whole, larger], 0.0)
    plan = np.nan_to_num(o["well_w"] * o["well_p"])
    return {
        "perimeter_ft": 2 * (W + H) / 12,
        "grout_cuft": 2 * (W + H) * 0.5 * t / 1728,
        "gravel_yd3": plan * 6 / 46656 + np.where(o["drain"] == "gravel_pit", 0.25, 0.0),
        "drain_ft": np.where(o["drain"] == "none", 0.0, o["depth"] / 12),
        "cut_sqft": cut_in * t / 144,
        "well_sqft": np.nan_to_num(o["well_w"]) * (o["depth"] - 6) / 144,
        "removed_yd3": np.maximum(W * H - o["old_w"] * o["old_h"], 0) * t / 46656,
    }


def _lines(
    item: str, packing: tuple[str, float, float], median: np.ndarray, whole: np.ndarray, firm: Firm,
    o: dict[str, Any], rng: np.random.Generator, rows: list[tuple[Any, ...]],
) -> np.ndarray:  # fmt: skip
    """Add the lines of one item; returns the quantity each job bought."""
    unit, pack, price = packing
    job = o["job"]
    names = firm.openings["opening_id"].to_list()
    ids = firm.jobs["job_id"].to_list()
    first = np.unique(job, return_index=True)[1]
    total = np.zeros(len(ids))
    pooled = np.bincount(job, median, len(ids))
    for j in np.flatnonzero(whole & (pooled > 0)):
        total[j] += _line(item, (unit, pack, price), pooled[j], (ids[j], None, o["start"][first[j]]), rng, rows)
    for i in np.flatnonzero(~whole[job] & (median > 0)):
        total[job[i]] += _line(item, (unit, pack, price), median[i], (ids[job[i]], names[i], o["start"][i]), rng, rows)
    return total


def _line(
    item: str, packing: tuple[str, float, float], median: float, where: tuple[Any, ...],
    rng: np.random.Generator, rows: list[tuple[Any, ...]],
) -> float:  # fmt: skip
    unit, pack, price = packing
    quantity = float(np.ceil(median * np.exp(rng.normal(0, USAGE_SD)) / pack) * pack)
    written = quantity * (10 if rng.random() < MISKEYED else 1)
    paid = round(price * float(np.exp(rng.normal(0, 0.03))), 2)
    rows.append((where[0], where[1], item, None, unit, where[2] - timedelta(days=2), written, paid))
    return quantity
