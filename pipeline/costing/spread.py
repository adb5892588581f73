"""What the openings of a job cost each: their own lines, and the shared ones spread by one stated rule."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from pipeline.costing.cents import shares_to_the_cent
from schemas.results_money import JobOpening, MarginRow

SPREAD_RULE = (
    "Hours and materials not booked to one opening are spread over the job's openings in proportion to what is "
    "booked to each by name; equally where one of them has nothing booked, and so are other costs."
)


def spread(total: Decimal, own: Sequence[Decimal]) -> list[Decimal]:
    """A job's total over its openings by the rule; the parts add up to it but for the last digit.

    in:     total of the job; own: what is booked to each opening by name
    out:    own part plus a share of the rest
    source: house rule
    """
    rest = total - sum(own, Decimal(0))
    if all(part > 0 for part in own):
        return [part + rest * part / sum(own) for part in own]
    return [part + rest / len(own) for part in own]


def opening_costs(openings: Sequence[Mapping[str, Any]], job: MarginRow) -> list[JobOpening]:
    """Each opening's share of the job's costs; the shares add up to the job's figures to the cent. [USD, hours]

    in:     rows of the question `job_openings`; the job's own row
    """
    if not openings:
        return []
    own_hours = [opening["hours"] for opening in openings]
    labour = _weighted(job["labour_cost"], own_hours, [opening["labour_cost"] for opening in openings])
    materials = spread(job["material_cost"], [opening["material_cost"] for opening in openings])
    other = spread(job["other_cost"], [Decimal(0)] * len(openings))
    callbacks = spread(job["callback_cost"], [opening["callback_cost"] for opening in openings])
    money = zip(
        shares_to_the_cent(labour, job["labour_cost"]),
        shares_to_the_cent(materials, job["material_cost"]),
        shares_to_the_cent(other, job["other_cost"]),
        shares_to_the_cent(callbacks, job["callback_cost"]),
        strict=True,
    )
    hours = spread(job["actual_hours"], own_hours)
    return [_opening(*line) for line in zip(openings, hours, money, strict=True)]


def _weighted(total: Decimal, own_hours: Sequence[Decimal], own_cost: Sequence[Decimal]) -> list[Decimal]:
    """Shared labour cost follows the hours, not the wages, of the openings."""
    rest = total - sum(own_cost, Decimal(0))
    if all(hours > 0 for hours in own_hours):
        return [cost + rest * hours / sum(own_hours) for cost, hours in zip(own_cost, own_hours, strict=True)]
    return [cost + rest / len(own_cost) for cost in own_cost]


def _opening(opening: Mapping[str, Any], hours: Decimal, money: Sequence[Decimal]) -> JobOpening:
    labour, materials, other, callbacks = money
    return JobOpening(
        opening_id=opening["opening_id"],
        wall_type=opening["wall_type"],
        opening_work=opening["opening_work"],
        hours=float(hours),
        labour_cost=labour,
        material_cost=materials,
        other_cost=other,
        callback_cost=callbacks,
        cost=labour + materials + other + callbacks,
    )
