"""What a job may cost: hours, materials, other costs and callbacks together, once per draw of the table."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.quote.draws import DRAWS, DrawTable, column_for

Numbers = NDArray[np.float64]
MOST_VISITS = 1_000  # visits of one job at which the count gives up; a job of 100 openings expects fewer than 50


@dataclass(frozen=True)
class JobCost:
    """The parts of one job's cost and their spread.

    hours_mean, hours_log_sd: lognormal hours; hour_usd: wage and overhead of an hour; material and other: mean and
    variance of the cost; visits: expected callback visits; visit_usd, visit_log_sd: cost of one visit. [h, USD]
    """

    hours_mean: float
    hours_log_sd: float
    hour_usd: float
    material_mean: float
    material_variance: float
    other_mean: float
    other_variance: float
    visits: float
    visit_usd: float
    visit_log_sd: float


def cost_draws(job: JobCost, table: DrawTable, place: int) -> Numbers:
    """2,048 equally likely costs of one job. [USD]

    in:     the job's parts, the stored table, the job's place in the quote (0, 1, …)
    source: hours lognormal, materials and other costs lognormal by their moments, visits Poisson; house rule
    """
    hours = _spread(job.hours_mean, job.hours_log_sd, column_for(table, "hours", place))
    material = _lognormal(job.material_mean, job.material_variance, column_for(table, "materials", place))
    other = _lognormal(job.other_mean, job.other_variance, column_for(table, "other", place))
    return hours * job.hour_usd + material + other + _callbacks(job, table, place)


def _lognormal(mean: float, variance: float, z: Numbers) -> Numbers:
    if mean <= 0:
        return np.full(DRAWS, mean)
    return _spread(mean, float(np.sqrt(np.log1p(variance / mean**2))), z)


def _spread(mean: float, log_sd: float, z: Numbers) -> Numbers:
    """A lognormal of this mean, whose log has this sd."""
    drawn: Numbers = mean * np.exp(log_sd * z - log_sd**2 / 2)
    return drawn


def _callbacks(job: JobCost, table: DrawTable, place: int) -> Numbers:
    visits = poisson_quantile(job.visits, column_for(table, "visits", place))
    z = column_for(table, "visit_cost", place)
    return visits * _spread(job.visit_usd, job.visit_log_sd, z)


def poisson_quantile(expected: float, u: Numbers) -> Numbers:
    """How many visits a uniform draw stands for: the Poisson distribution read backwards.

    in:     expected visits, uniform draws
    out:    whole numbers as floats, at most MOST_VISITS
    """
    visits = np.zeros_like(u)
    chance = below = float(np.exp(-expected))
    for number in range(1, MOST_VISITS + 1):
        beyond = u > below
        if not beyond.any():
            break
        visits = np.where(beyond, number, visits)
        chance *= expected / number
        below += chance
    return visits


def share_above(costs: Numbers, price: float) -> float:
    """Share of the draws in which the cost is more than the price. [0-1]"""
    return float(np.mean(costs > price))


def quantile_80(costs: Numbers) -> float:
    """The cost that four draws in five stay under: the 1,639th smallest of 2,048. [USD]"""
    return float(np.sort(costs)[int(np.ceil(0.8 * DRAWS)) - 1])
