"""Open jobs: what they have cost so far, what they will have cost at the end, which are heading for a loss."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pipeline.costing.cents import cents

ZERO = Decimal(0)
FROM_MODEL, FROM_HOURS, FROM_COST = "hours model", "quoted hours", "quoted cost"


@dataclass(frozen=True)
class Rates:
    """Cost of an hour still to be worked: standard wage and overhead in force today. [USD/h]"""

    standard: Decimal
    overhead: Decimal


@dataclass(frozen=True)
class Outlook:
    """Where an open job is heading; None = nothing to go by, or not open any more. [USD]"""

    cost_to_date: Decimal | None
    expected_final_cost: Decimal | None
    expected_profit: Decimal | None
    basis: str | None

    @property
    def heading_for_loss(self) -> bool | None:
        """Whether the expected profit is below zero."""
        return None if self.expected_profit is None else self.expected_profit < 0


FINISHED = Outlook(None, None, None, None)


def outlook(
    job: Mapping[str, Any], rates: Rates, worked: Mapping[str, Decimal], predicted: Mapping[str, float] | None
) -> Outlook:
    """Cost of an open job to date and at its end.

    in:     job: exact figures of a job (question `jobs_list`); worked: hours by phase to date;
            predicted: hours by phase from the model, None when it is not fitted
    out:    hours to come = in each phase what the model expects beyond the hours worked (the quoted hours as a whole
            without a model), change orders added; everything but labour and overhead = the larger of what is spent
            and what the quote held for it. Without quoted cost and hours nothing is expected
    source: house rule
    """
    to_date = _spent(job) + job["callback_cost"]
    hours, basis = _hours_to_come(job, worked, predicted)
    final = _final_cost(job, rates, hours)
    if final is None:
        return Outlook(cents(to_date), None, None, None)
    shown = cents(final)
    return Outlook(cents(to_date), shown, cents(job["revenue"]) - shown, basis)


def _spent(job: Mapping[str, Any]) -> Decimal:
    spent: Decimal = job["labour_cost"] + job["material_cost"] + job["other_cost"] + job["overhead"]
    return spent


def _hours_to_come(
    job: Mapping[str, Any], worked: Mapping[str, Decimal], predicted: Mapping[str, float] | None
) -> tuple[Decimal | None, str]:
    if predicted is not None:
        beyond = sum(max(hours - float(worked.get(phase, ZERO)), 0.0) for phase, hours in predicted.items())
        return Decimal(str(round(beyond, 4))) + max(job["change_order_hours"], ZERO), FROM_MODEL
    if job["quoted_labour_hours"] is not None:
        return max(job["quoted_labour_hours"] + job["change_order_hours"] - job["actual_hours"], ZERO), FROM_HOURS
    return None, FROM_COST


def _final_cost(job: Mapping[str, Any], rates: Rates, hours_to_come: Decimal | None) -> Decimal | None:
    if job["quoted_cost"] is None:
        return None
    planned: Decimal = job["quoted_cost"] + job["change_order_cost"]
    callbacks: Decimal = job["callback_cost"]
    if hours_to_come is None or job["quoted_labour_hours"] is None:
        return max(planned, _spent(job)) + callbacks
    an_hour = rates.standard + rates.overhead
    planned_otherwise = planned - an_hour * (job["quoted_labour_hours"] + job["change_order_hours"])
    otherwise: Decimal = max(job["material_cost"] + job["other_cost"], planned_otherwise)
    labour: Decimal = job["labour_cost"] + job["overhead"] + an_hour * hours_to_come
    return labour + otherwise + callbacks
