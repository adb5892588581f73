"""The jobs that explain a month: what each earned beyond what its revenue usually brings, and what made it so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pipeline.costing.bridge import FIRST, LAST, REST, bridge
from pipeline.costing.figures import signed_dollars
from schemas.results_money import BridgeStep, JobThatExplains

JOBS_NAMED = 3
STEPS_NAMED = 2
LEAST_SHARE = Decimal("0.01")  # a job that moved less than 1 % of the month's revenue explains nothing; house rule
AGREED = ("price of change orders", "cost of change orders")
PRICE = "its price"
PLAINLY = {REST: "all other costs"}  # of a job whose quote was not saved: one step, all that is not hours, wages, use
ZERO = Decimal(0)


@dataclass(frozen=True)
class Usual:
    """What jobs usually keep: profit after callbacks over revenue; whether overhead is in the figures."""

    margin: Decimal
    overhead_set: bool


def jobs_that_explain(
    jobs: Sequence[Mapping[str, Any]], profits: Sequence[Decimal], usual: Usual
) -> list[JobThatExplains]:
    """The three completed jobs that moved the month most against the usual margin. [USD]

    in:     exact figures of the month's jobs (question `jobs_list`), their profits after callbacks as shown
    out:    largest effect first; effect = profit after callbacks less usual margin times revenue, to the cent, which
            adds up over all jobs to what the month earned beyond the usual; steps add up to it.
            Jobs without hours are left out: their cost is not known
    """
    revenue = sum((job["revenue"] for job in jobs), ZERO)
    found = [explained(job, profit, usual) for job, profit in zip(jobs, profits, strict=True) if job["has_labour"]]
    far = [job for job in found if abs(job["effect"]) > LEAST_SHARE * revenue]
    return sorted(far, key=lambda job: -abs(job["effect"]))[:JOBS_NAMED]


def explained(job: Mapping[str, Any], profit: Decimal, usual: Usual) -> JobThatExplains:
    """What one job earned beyond what its revenue usually brings, and the steps that made it so. [USD]"""
    effect = (profit - usual.margin * job["revenue"]).quantize(Decimal("0.01"))
    steps = _steps(bridge(job, profit), effect, usual)
    return JobThatExplains(job_id=job["job_id"], effect=effect, why=_why(effect, steps), steps=steps)


def _steps(bridged: Sequence[BridgeStep], effect: Decimal, usual: Usual) -> list[BridgeStep]:
    """Differences from the quote, and how the quote itself stood to the usual margin.

    A quoted cost holds overhead. Without an overhead setting the rest of it cannot be told from the price.
    """
    untold = (FIRST, LAST, *AGREED) if usual.overhead_set else (FIRST, LAST, *AGREED, REST)
    told = [step for step in bridged if step["step"] not in untold]
    price = effect - sum((step["amount"] for step in told), ZERO)
    return [*told, BridgeStep(step=PRICE, amount=price)] if bridged else []


def _why(effect: Decimal, steps: Sequence[BridgeStep]) -> str:
    """The steps that pulled the same way as the whole, largest first."""
    same_way = [step for step in steps if step["amount"] * effect > 0]
    named = sorted(same_way, key=lambda step: -abs(step["amount"]))[:STEPS_NAMED]
    if not named:
        return "no quoted cost to compare with"
    return f"mainly {' and '.join(_told(step) for step in named)}"


def _told(step: BridgeStep) -> str:
    return f"{PLAINLY.get(step['step'], step['step'])} ({signed_dollars(step['amount'])})"
