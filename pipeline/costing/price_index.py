"""What the same materials and the same people cost over time, and what old jobs would cost at today's prices."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from schemas.results_money import PriceChange

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
