"""Permit, disposal, hire and the like: what past jobs of the same kind paid, as a rate with a range."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, TypedDict

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import polars as pl

Numbers = NDArray[np.float64]
KIND_PULL = 5.0  # jobs' worth of pull of each kind of work to the rate of all jobs; house rule
FEWEST_JOBS = 3
LEAST_VARIATION = 0.05  # of a job's cost about its expectation, so that a range never closes; house rule
WINSOR_SD, LEAST_LOG_SD = 3.5, 0.3  # an amount beyond this many sds of the log is mis-keyed; house rule
MAD_TO_SD = 1.4826  # of a normal
MIXED = "mixed"
Z_80 = 1.2815515655446004  # 90 % quantile of a standard normal: half width of an 80 % range


class CategoryRate(TypedDict):
    """One category: USD per job, USD per opening, ratio of each kind of work to that, variation about it, jobs."""

    per_job: float
    per_opening: float
    kinds: dict[str, float]
    variation: float
    jobs: int


OtherCostRates = dict[str, CategoryRate]


class OtherCost(TypedDict):
    """Expected cost of one category for one job, its 80 % range and its variance. [USD, USD²]"""

    category: str
    expected: float
    low: float
    high: float
    variance: float
    jobs: int


def fit_other_costs(paid: "pl.DataFrame") -> OtherCostRates:
    """Rates per category from finished jobs.

    in:     paid: one row per finished job and category: job_id, category, work (kind of work, or mixed), openings,
            amount (0 where the job paid none)
    out:    category -> rate; nothing when fewer than 3 jobs are finished
    source: least squares of the amount on one per job and the openings, both at least 0; house rule
    """
    rates: OtherCostRates = {}
    for (category,), rows in paid.sort("category", "job_id").group_by("category", maintain_order=True):
        if rows.height >= FEWEST_JOBS:
            rates[str(category)] = _rate(rows)
    return rates


def _rate(rows: "pl.DataFrame") -> CategoryRate:
    amount = _held_to_reason(rows["amount"].to_numpy().astype(float))
    openings = rows["openings"].to_numpy().astype(float)
    per_job, per_opening = _base_and_slope(openings, amount)
    plain = per_job + per_opening * openings
    kinds = _kind_ratios(rows["work"].to_list(), amount, plain)
    expected = plain * np.array([kinds[work] for work in rows["work"].to_list()])
    return CategoryRate(
        per_job=per_job, per_opening=per_opening, kinds=kinds, variation=_variation(amount, expected), jobs=rows.height
    )


def _held_to_reason(amount: Numbers) -> Numbers:
    """Amounts cut to what such payments can be: a slipped decimal point must not set the rate."""
    logs = np.log(amount[amount > 0])
    if len(logs) < FEWEST_JOBS:
        return amount
    middle = float(np.sort(logs)[len(logs) // 2])
    away = np.sort(np.abs(logs - middle))
    sd = max(MAD_TO_SD * float(away[len(away) // 2]), LEAST_LOG_SD)
    return np.minimum(amount, np.exp(middle + WINSOR_SD * sd))


def _base_and_slope(openings: Numbers, amount: Numbers) -> tuple[float, float]:
    if np.ptp(openings) == 0:
        return 0.0, float(amount.sum() / openings.sum())
    slope, base = np.polyfit(openings, amount, 1)
    if slope < 0:
        return float(amount.mean()), 0.0
    return (float(base), float(slope)) if base >= 0 else (0.0, float(amount.sum() / openings.sum()))


def _kind_ratios(works: list[str], amount: Numbers, plain: Numbers) -> dict[str, float]:
    ratios = {}
    usual = float(plain.mean())
    for work in sorted(set(works)):
        here = np.array([one == work for one in works])
        lean = KIND_PULL * usual
        whole = float(plain[here].sum()) + lean
        ratios[work] = max((float(amount[here].sum()) + lean) / whole, 0.0) if whole > 0 else 1.0
    return ratios


def _variation(amount: Numbers, expected: Numbers) -> float:
    usual = float(expected.mean())
    if usual <= 0:
        return LEAST_VARIATION
    return max(float(np.sqrt(np.mean((amount - expected) ** 2))) / usual, LEAST_VARIATION)


def predict_other_costs(rates: Mapping[str, CategoryRate], work: str, openings: int) -> list[OtherCost]:
    """What one job will pay per category.

    in:     stored rates; the job's kind of work (or mixed); how many openings it has
    out:    one line per category that such jobs pay; the range is 80 %, lognormal by its moments. [USD]
    """
    lines = []
    for category, rate in rates.items():
        expected = (rate["per_job"] + rate["per_opening"] * openings) * rate["kinds"].get(work, 1.0)
        if expected > 0:
            lines.append(_line(category, expected, rate))
    return lines


def _line(category: str, expected: float, rate: CategoryRate) -> OtherCost:
    log_variance = float(np.log1p(rate["variation"] ** 2))
    middle, sd = expected * float(np.exp(-log_variance / 2)), float(np.sqrt(log_variance))
    return OtherCost(
        category=category,
        expected=expected,
        low=middle * float(np.exp(-Z_80 * sd)),
        high=middle * float(np.exp(Z_80 * sd)),
        variance=(expected * rate["variation"]) ** 2,
        jobs=rate["jobs"],
    )


def kind_of_work(works: list[str]) -> str:
    """The one kind of work of a job's openings, or mixed."""
    return works[0] if len(set(works)) == 1 else MIXED
