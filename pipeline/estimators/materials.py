"""Materials of an opening: use per take-off, whole packs, prices of today."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from pipeline.estimators.item_rules import (
    ONE_EACH,
    ONE_OR_NONE,
    ONLY_WITH_A_WELL,
    SHARE_CONDITION,
    SPEC_COLUMN,
)
from pipeline.estimators.packs import packs_mean_variance, packs_to_order
from pipeline.estimators.prices import PriceLevel, price_of
from pipeline.takeoff.list import TakeOff, take_off
from pipeline.takeoff.openings import Openings, count, words

LIKELY = 0.5  # an item that more than half of such openings have is ordered; house rule
SAFE_Z = 1.2816  # 90 % quantile of a standard normal
EACH = "ea"


@dataclass(frozen=True)
class ItemModel:
    """Use of one item.

    driver: the take-off quantity it follows ("" = one or none per opening); level, walls: log use per unit of it;
    sd, wall_sd: noise of the log; shares: condition -> share of openings that have it; standard_error of level.
    """

    item: str
    unit: str
    pack_size: float
    driver: str
    level: float
    walls: dict[str, float]
    sd: float
    wall_sd: dict[str, float]
    shares: dict[str, float]
    standard_error: float
    lines: int


@dataclass(frozen=True)
class MaterialsModel:
    """Use of every item that was ever bought, and the prices of today."""

    items: dict[str, ItemModel]
    prices: PriceLevel
    jobs: int

    def to_json(self) -> dict[str, Any]:
        """The model as JSON-able values."""
        return {
            "items": {name: asdict(item) for name, item in self.items.items()},
            "prices": self.prices.as_plain(),
            "jobs": self.jobs,
        }

    @staticmethod
    def from_json(body: Mapping[str, Any]) -> "MaterialsModel":
        """The model that to_json wrote."""
        items = {name: ItemModel(**item) for name, item in body["items"].items()}
        return MaterialsModel(items, PriceLevel(**body["prices"]), body["jobs"])


@dataclass(frozen=True)
class MaterialLine:
    """One item of one opening.

    quantity: expected use; order_quantity: whole packs in units of unit; unit_cost per unit (None = no price known,
    then the costs are None); cost = order_quantity x unit_cost; expected_cost = expected packs x price;
    variance of the cost; log_usage, log_sd: median and spread of the use (order_quantity 0 = unlikely to be
    needed); safe_order: enough in nine cases of ten; rule: where the quantity comes from; price_source.
    """

    item: str
    spec: str
    quantity: float
    unit: str
    order_quantity: float
    pack_size: float
    unit_cost: float | None
    cost: float | None
    expected_cost: float | None
    variance: float
    safe_order: float
    median_usage: float
    share: float
    rule: str
    price_source: str


def predict_materials(
    model: MaterialsModel, openings: Openings, quantities: TakeOff | None = None
) -> list[list[MaterialLine]]:
    """The material lines of each opening.

    in:     the stored model; the columns of openings without gaps (see known.fill_gaps; window_spec and well_spec
            when given); their take-off, made here when left out
    out:    one list of lines per opening, items that cannot occur left out
    source: usage in whole packs; simulation study, fresh seeds
    """
    quantities = quantities or take_off(openings)
    return [_lines_of(model, openings, quantities, index) for index in range(count(openings))]


def _lines_of(model: MaterialsModel, openings: Openings, quantities: TakeOff, index: int) -> list[MaterialLine]:
    facts = opening_facts(openings, quantities, index)
    lines = []
    for name, item in model.items.items():
        use = _use(item, facts, quantities, index)
        if use is not None:
            lines.append(_line(model, item, facts, use, _spec(name, openings, index)))
    return lines


def opening_facts(openings: Openings, quantities: TakeOff, index: int) -> dict[str, Any]:
    """The words an item's share and price may depend on."""
    deep = quantities.quantity("ladder")[index] > 0
    wall, work = str(words(openings, "wall_type")[index]), str(words(openings, "opening_work")[index])
    return {
        "wall_type": wall,
        "well_type": str(words(openings, "well_type")[index]),
        "opening_work": work,
        "cut_wall": work if work == "replace" else wall,
        "deep_well": "deep" if deep else "shallow",
        "area_sqft": float(quantities.quantity("opening_area")[index]),
    }


@dataclass(frozen=True)
class _Use:
    """Median use and its log spread (0 = exactly so), the share of openings that have it, and the rule."""

    median: float
    log_sd: float
    share: float
    rule: str


def _use(item: ItemModel, facts: Mapping[str, Any], quantities: TakeOff, index: int) -> _Use | None:
    if item.item in ONLY_WITH_A_WELL and facts["well_type"] == "none":
        return None
    if item.item in ONE_EACH:
        return _Use(1.0, 0.0, 1.0, "one to an opening")
    if not item.driver:
        share = _share(item, facts[ONE_OR_NONE[item.item]])
        return _Use(1.0, 0.0, share, f"{share:.0%} of such openings had one")
    quantity = float(quantities.quantity(item.driver)[index])
    if not quantity > 0:
        return None
    wall = facts["wall_type"]
    factor = float(np.exp(item.level + item.walls.get(wall, 0.0)))
    rule = f"{item.driver.replace('_', ' ')} {quantity:.1f} × {factor:.3g}"
    return _Use(quantity * factor, item.wall_sd.get(wall, item.sd), _share(item, facts[SHARE_CONDITION]), rule)


def _share(item: ItemModel, condition: str) -> float:
    return item.shares.get(condition, item.shares[""])


def _spec(item: str, openings: Openings, index: int) -> str:
    column = SPEC_COLUMN.get(item)
    return "" if column is None else str(words(openings, column)[index])


def _line(
    model: MaterialsModel, item: ItemModel, facts: Mapping[str, Any], use: _Use, spec: str
) -> MaterialLine:
    price = price_of(model.prices, item.item, spec, well_type=facts["well_type"], area_sqft=facts["area_sqft"])
    packs, packs_variance = _packs(item, use)
    expected_packs = use.share * packs
    variance_packs = use.share * (packs_variance + packs**2) - expected_packs**2
    order = float(packs_to_order(np.array(use.median), item.pack_size)) * item.pack_size
    order = order if use.share >= LIKELY else 0.0
    safe = float(packs_to_order(np.array(use.median * np.exp(SAFE_Z * use.log_sd)), item.pack_size)) * item.pack_size
    cost = price.unit_cost
    return MaterialLine(
        item=item.item,
        spec=spec,
        quantity=use.share * use.median * float(np.exp(use.log_sd**2 / 2)),
        unit=item.unit,
        order_quantity=order,
        pack_size=item.pack_size,
        unit_cost=cost,
        cost=None if cost is None else order * cost,
        expected_cost=None if cost is None else expected_packs * item.pack_size * cost,
        variance=0.0 if cost is None else variance_packs * (item.pack_size * cost) ** 2,
        safe_order=safe if use.share >= LIKELY else 0.0,
        median_usage=use.median,
        share=use.share,
        rule=use.rule,
        price_source=price.source,
    )


def _packs(item: ItemModel, use: _Use) -> tuple[float, float]:
    if use.log_sd == 0:
        return float(packs_to_order(np.array(use.median), item.pack_size)), 0.0
    return packs_mean_variance(float(np.log(use.median)), use.log_sd, item.pack_size)


@dataclass(frozen=True)
class OrderLine:
    """One item of a whole job: its openings' use pooled, then rounded up to whole packs."""

    item: str
    spec: str
    order_quantity: float
    unit: str
    cost: float | None


def job_order(openings_lines: Sequence[Sequence[MaterialLine]]) -> list[OrderLine]:
    """What to order for a job.

    in:     the lines of each of its openings
    out:    one line per item, spec and unit: summed median use of the openings likely to need it, in whole packs
    """
    pooled: dict[tuple[str, str, str], list[MaterialLine]] = {}
    for lines in openings_lines:
        for line in lines:
            if line.share >= LIKELY:
                pooled.setdefault((line.item, line.spec, line.unit), []).append(line)
    return [_order_line(key, lines) for key, lines in pooled.items()]


def _order_line(key: tuple[str, str, str], lines: list[MaterialLine]) -> OrderLine:
    usage, pack = sum(line.median_usage for line in lines), lines[0].pack_size
    order = float(packs_to_order(np.array(usage), pack)) * pack
    priced = [line.unit_cost for line in lines if line.unit_cost is not None]
    each = sum(priced) / len(priced) if priced else None
    return OrderLine(key[0], key[1], order, key[2], None if each is None else order * each)
