"""What the same materials and the same people cost over time, and what old jobs would cost at today's prices."""

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

from schemas.results_money import PriceChange, PriceStep, TodaysPrices

Basket = Mapping[Hashable, tuple[float, float]]  # what was bought -> quantity and amount paid [USD]


@dataclass(frozen=True)
class Link:
    """Price ratio between two baskets over what both hold; None when they share nothing."""

    ratio: float | None
    shared: int


def fisher(before: Basket, now: Basket) -> Link:
    """Price now over price before, of the things in both baskets.

    source: Fisher's ideal index, the root of the product of the index weighted by the old quantities (Laspeyres) and
            by the new ones (Paasche); Fisher 1922, from memory
    """
    same = [key for key in now if key in before and before[key][0] > 0 and now[key][0] > 0 and before[key][1] > 0]
    if not same:
        return Link(None, 0)
    old = {key: before[key][1] / before[key][0] for key in same}
    new = {key: now[key][1] / now[key][0] for key in same}
    laspeyres = sum(new[key] * before[key][0] for key in same) / sum(before[key][1] for key in same)
    paasche = sum(now[key][1] for key in same) / sum(old[key] * now[key][0] for key in same)
    return Link(sqrt(laspeyres * paasche), len(same))


def chained(baskets: Sequence[Basket]) -> list[float | None]:
    """Index of each period against the last (100), linked period by period; None before a gap in the links."""
    levels: list[float | None] = [100.0] if baskets else []
    for at in range(len(baskets) - 1, 0, -1):
        ratio = fisher(baskets[at - 1], baskets[at]).ratio
        later = levels[0]
        levels.insert(0, None if ratio is None or later is None else later / ratio)
    return levels


def price_change(before: Basket, now: Basket, *, weight: Mapping[Hashable, float]) -> PriceChange:
    """How much more the same things cost now, and what that is worth on what was bought now. [share of 1, USD]

    in:     weight: lines or hours behind each thing bought now
    """
    link = fisher(before, now)
    same = [key for key in now if key in before]
    spent = sum(amount for _, amount in now.values())
    change = None if link.ratio is None else link.ratio - 1
    return PriceChange(
        change=change,
        effect=0.0 if link.ratio is None else spent * (1 - 1 / link.ratio),
        weight_now=float(sum(weight[key] for key in same)),
        weight_before=float(sum(before[key][0] for key in same)),
    )


def index_of_quarters(paid: Sequence[Mapping[str, Any]]) -> list[PriceStep]:
    """Index of material prices and of wages by quarter, the newest quarter of each being 100.

    in:     rows of the question `paid_by_quarter`
    """
    levels = {kind: _levels([line for line in paid if line["kind"] == kind]) for kind in ("materials", "wages")}
    return [
        PriceStep(
            quarter=quarter,
            materials=levels["materials"].get(quarter),
            wages=levels["wages"].get(quarter),
            material_lines=int(_sum(paid, ("materials", quarter), "lines")),
            hours=_sum(paid, ("wages", quarter), "quantity"),
        )
        for quarter in sorted({line["quarter"] for line in paid})
    ]


def _levels(paid: Sequence[Mapping[str, Any]]) -> dict[str, float | None]:
    baskets: dict[str, dict[Hashable, tuple[float, float]]] = defaultdict(dict)
    for line in paid:
        baskets[line["quarter"]][line["thing"]] = (line["quantity"], line["amount"])
    quarters = sorted(baskets)
    return dict(zip(quarters, chained([baskets[quarter] for quarter in quarters]), strict=True))


def _sum(paid: Sequence[Mapping[str, Any]], of: tuple[str, str], column: str) -> float:
    return float(sum(line[column] for line in paid if (line["kind"], line["quarter"]) == of))


def todays_prices(costs: Sequence[Mapping[str, Any]], index: Sequence[PriceStep]) -> list[TodaysPrices]:
    """Labour and material of groups of jobs at the newest quarter's wages and prices. [USD]

    in:     rows of the question `costs_by_quarter`; the index
    out:    each quarter's cost over its index; a quarter that nothing links takes the next one that has a level
    """
    level = {kind: _without_gaps(index, kind) for kind in ("materials", "wages")}
    then: dict[tuple[str | None, str], float] = defaultdict(float)
    today: dict[tuple[str | None, str], float] = defaultdict(float)
    for cost in costs:
        key = (cost["group_name"], cost["kind"])
        then[key] += cost["amount"]
        today[key] += cost["amount"] * 100 / level[cost["kind"]].get(cost["quarter"], 100.0)
    groups = sorted({group for group, _ in then}, key=lambda group: (group is None, group or ""))
    return [
        TodaysPrices(
            group=group,
            labour_cost=then[group, "wages"],
            material_cost=then[group, "materials"],
            labour_cost_today=today[group, "wages"],
            material_cost_today=today[group, "materials"],
        )
        for group in groups
    ]


def _without_gaps(index: Sequence[PriceStep], kind: str) -> dict[str, float]:
    found, later = {}, 100.0
    for step in reversed(index):
        level = step["materials"] if kind == "materials" else step["wages"]
        later = later if level is None else level
        found[step["quarter"]] = later
    return found
