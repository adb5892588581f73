"""What a material costs today: the price list in force, else what was last paid for such a one."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from pipeline.estimators.item_rules import PRICED_BY_AREA

if TYPE_CHECKING:
    import polars as pl

LAST_PURCHASES = 20  # the record's own rule
PURCHASES_WITH_AREA = 200  # how far back to look for an opening of nearly the same area; house rule
ANY = ""


@dataclass(frozen=True)
class PriceLevel:
    """Prices per unit: listed item -> spec -> price; paid item -> spec -> median; by_well item -> well type ->
    median; by_area item -> [area in sq ft, price] of recent purchases, newest first; last item -> median of all."""

    listed: dict[str, dict[str, float]]
    paid: dict[str, dict[str, float]]
    by_well: dict[str, dict[str, float]]
    by_area: dict[str, list[list[float]]]
    last: dict[str, float]

    def as_plain(self) -> dict[str, Any]:
        """The price level as JSON-able values."""
        return asdict(self)


def price_level(purchases: "pl.DataFrame", prices: "pl.DataFrame") -> PriceLevel:
    """Prices of today from purchases and the price list.

    in:     purchases: item, spec, unit_cost, bought_on, well_type, area_sqft, already in the item's own unit;
            prices: item, spec, effective_on, unit_cost, already in force
    out:    PriceLevel
    source: the record's own rule: list in force, else the median of the last 20 purchases
    """
    import polars as pl

    recent = purchases.filter(pl.col("unit_cost") > 0).sort("bought_on", descending=True, nulls_last=True)
    return PriceLevel(
        listed=_listed(prices),
        paid=_medians(recent, "spec"),
        by_well=_medians(recent, "well_type"),
        by_area=_with_area(recent),
        last={item: found[ANY] for item, found in _medians(recent.with_columns(all=pl.lit(ANY)), "all").items()},
    )


def _listed(prices: "pl.DataFrame") -> dict[str, dict[str, float]]:
    import polars as pl

    newest = prices.with_columns(pl.col("spec").fill_null(ANY)).sort("effective_on")
    newest = newest.group_by("item", "spec", maintain_order=True).last()
    found: dict[str, dict[str, float]] = {}
    for item, spec, cost in newest.select("item", "spec", "unit_cost").iter_rows():
        found.setdefault(item, {})[spec] = float(cost)
    return found


def _medians(recent: "pl.DataFrame", by: str) -> dict[str, dict[str, float]]:
    import polars as pl

    named = recent.filter(pl.col(by).is_not_null())
    medians = (
        named.group_by("item", by, maintain_order=True)
        .agg(pl.col("unit_cost").head(LAST_PURCHASES).median())
        .sort("item", by)
    )
    found: dict[str, dict[str, float]] = {}
    for item, word, cost in medians.iter_rows():
        found.setdefault(item, {})[word] = float(cost)
    return found


def _with_area(recent: "pl.DataFrame") -> dict[str, list[list[float]]]:
    import polars as pl

    found = {}
    for item in PRICED_BY_AREA:
        rows = recent.filter((pl.col("item") == item) & pl.col("area_sqft").is_not_null())
        found[item] = [list(row) for row in rows.select("area_sqft", "unit_cost").head(PURCHASES_WITH_AREA).iter_rows()]
    return found


@dataclass(frozen=True)
class Price:
    """Price per unit and where it comes from; None when nothing is known."""

    unit_cost: float | None
    source: str


def knows_spec(level: PriceLevel, item: str, spec: str) -> bool:
    """Whether this size or model stands in the price list or was ever bought."""
    return spec in level.listed.get(item, {}) or spec in level.paid.get(item, {})


def price_of(level: PriceLevel, item: str, spec: str, *, well_type: str, area_sqft: float) -> Price:
    """The price of one item for one opening.

    in:     the price level; item, spec ("" = any); the opening's well type and area
    out:    Price: list in force (by spec, then any), else the last purchases of the spec, else those for the
            same well type or the nearest opening area, else the last purchases of the item
    """
    listed, paid = level.listed.get(item, {}), level.paid.get(item, {})
    if spec and spec in listed:
        return Price(listed[spec], "price list")
    if spec and spec in paid:
        return Price(paid[spec], "last purchases of this spec")
    if ANY in listed:
        return Price(listed[ANY], "price list")
    like_it = _like_it(level, item, well_type, area_sqft)
    if like_it is not None:
        return like_it
    if item in level.last:
        return Price(level.last[item], "last purchases")
    if listed:
        return Price(_middle(sorted(listed.values())), "middle of the price list")
    return Price(None, "no price known")


def _like_it(level: PriceLevel, item: str, well_type: str, area_sqft: float) -> Price | None:
    of_well: Mapping[str, float] = level.by_well.get(item, {})
    if item == "window_well" and well_type in of_well:
        return Price(of_well[well_type], "last purchases of this well type")
    sized = level.by_area.get(item)
    if not sized or not area_sqft > 0:
        return None
    table = np.array(sized)
    nearest = np.argsort(np.abs(np.log(table[:, 0] / area_sqft)), kind="stable")[:LAST_PURCHASES]
    return Price(_middle(sorted(table[nearest, 1].tolist())), "last purchases for the nearest opening area")


def _middle(ordered: list[float]) -> float:
    """Median of ordered values; numpy's own loads a module that a single quote does not need."""
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2
