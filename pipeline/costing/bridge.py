"""The bridge from quoted to actual profit of a job: steps that close to the cent."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from pipeline.costing.cents import cents, shares_to_the_cent
from schemas.results_money import BridgeStep

FIRST, LAST = "quoted profit", "actual profit"
REST = "rest of quoted cost"
ZERO = Decimal(0)

QuotedParts = Mapping[str, Decimal]


def bridge(job: Mapping[str, Any], actual_profit: Decimal, quoted: QuotedParts | None = None) -> list[BridgeStep]:
    """Steps from quoted to actual profit; a positive step raised it. [USD]

    in:     job: exact figures of a job (question `jobs_list`); actual_profit: after callbacks, as shown;
            quoted: labour_cost, material_cost, other_cost, overhead, callback_allowance of a saved quote
    out:    first the quoted profit, last the actual one; the steps between add up to their difference, to the cent.
            Without a saved quote all that is not hours, wages, list prices and use is one step.
            Empty without a quoted cost
    """
    if job["quoted_cost"] is None:
        return []
    first = cents(job["contract_price"] - job["quoted_cost"])
    exact = _known_steps(job) | (_steps_of_quote(job, quoted) if quoted else {"callbacks": -job["callback_cost"]})
    exact[REST] = _exact_profit(job) - (job["contract_price"] - job["quoted_cost"]) - sum(exact.values(), ZERO)
    steps = shares_to_the_cent(list(exact.values()), actual_profit - first)
    between = [BridgeStep(step=name, amount=amount) for name, amount in zip(exact, steps, strict=True)]
    return [BridgeStep(step=FIRST, amount=first), *between, BridgeStep(step=LAST, amount=actual_profit)]


def _exact_profit(job: Mapping[str, Any]) -> Decimal:
    costs = ("labour_cost", "material_cost", "other_cost", "overhead", "callback_cost")
    profit: Decimal = job["revenue"] - sum((job[cost] for cost in costs), ZERO)
    return profit


def _known_steps(job: Mapping[str, Any]) -> dict[str, Decimal]:
    """What the standards explain; a step without its standard is not there."""
    steps = {
        "price of change orders": job["change_orders"],
        "cost of change orders": -job["change_order_cost"],
        "wage rate": -job["labour_rate_variance"],
        "labour hours": _negative(job["labour_efficiency_variance"]),
        "material prices": _negative(job["material_price_variance"]),
        "material use": _negative(job["material_usage_variance"]),
    }
    return {name: amount for name, amount in steps.items() if amount is not None}


def _steps_of_quote(job: Mapping[str, Any], quoted: QuotedParts) -> dict[str, Decimal]:
    """The rest split as the saved quote splits it; change orders are in the quote's terms by hours only."""
    priced = -(job["material_price_variance"] or ZERO) - (job["material_usage_variance"] or ZERO)
    return {
        "materials otherwise": quoted["material_cost"] - job["material_cost"] - priced,
        "other costs": quoted["other_cost"] - job["other_cost"],
        "overhead": quoted["overhead"] - job["overhead"],
        "callbacks": quoted["callback_allowance"] - job["callback_cost"],
    }


def _negative(amount: Decimal | None) -> Decimal | None:
    return None if amount is None else -amount
