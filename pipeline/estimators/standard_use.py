"""What each job should use and order of each item by the fitted materials model, for whole books at once."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.item_rules import ONE_EACH, ONE_OR_NONE, ONLY_WITH_A_WELL, SHARE_CONDITION
from pipeline.estimators.materials import LIKELY, ItemModel, MaterialsModel
from pipeline.estimators.packs import packs_to_order
from pipeline.takeoff.list import TakeOff
from pipeline.takeoff.openings import Numbers, Openings, Words, words


@dataclass(frozen=True)
class JobOrder:
    """One item: whole packs per job, in units of unit; one value per job number."""

    item: str
    unit: str
    order_quantity: Numbers


def orders_by_job(
    model: MaterialsModel, openings: Openings, quantities: TakeOff, job: NDArray[np.int64]
) -> list[JobOrder]:
    """Take-off x usage factor of every item, pooled over each job's openings, in whole packs as bought.

    in:     the model; openings without gaps and their take-off; the job number of each, from 0
    out:    one JobOrder per item
    """
    jobs = int(job.max(initial=-1)) + 1
    orders = []
    for item in model.items.values():
        usage = np.asarray(np.bincount(job, likely_usage(item, openings, quantities), jobs), dtype=float)
        packs = packs_to_order(usage, item.pack_size)
        orders.append(JobOrder(item.item, item.unit, packs * item.pack_size))
    return orders


def likely_usage(item: ItemModel, openings: Openings, quantities: TakeOff) -> Numbers:
    """Median use per opening, 0 where fewer than half of such openings have the item."""
    well = words(openings, "well_type") != "none"
    can = well if item.item in ONLY_WITH_A_WELL else np.ones(len(well), dtype=bool)
    if item.item in ONE_EACH:
        return can.astype(float)
    if not item.driver:
        shares = _shares(item, condition_of(ONE_OR_NONE[item.item], openings, quantities))
        return np.where(can & (shares >= LIKELY), 1.0, 0.0)
    factor = np.exp(item.level + np.array([item.walls.get(str(w), 0.0) for w in words(openings, "wall_type")]))
    likely = _shares(item, words(openings, SHARE_CONDITION)) >= LIKELY
    return np.where(likely, quantities.quantity(item.driver) * factor, 0.0)


def condition_of(word: str, openings: Openings, quantities: TakeOff) -> Words:
    """The word an item's share is counted by, per opening."""
    if word == "deep_well":
        return np.where(quantities.quantity("ladder") > 0, "deep", "shallow")
    if word == "cut_wall":
        work = words(openings, "opening_work")
        return np.where(work == "replace", work, words(openings, "wall_type"))
    return words(openings, word)


def _shares(item: ItemModel, condition: Any) -> Numbers:
    return np.array([item.shares.get(str(word), item.shares[""]) for word in condition])
