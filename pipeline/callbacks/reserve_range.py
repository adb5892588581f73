"""How far the callback cost to come may fall from its expectation: seeded simulation of what is not known."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.age_shape import AGES
from pipeline.callbacks.history import History
from pipeline.callbacks.reserve import Model, Remaining, by_complaint, expected_visits
from pipeline.callbacks.severity import Recovery, Severity
from pipeline.callbacks.shrinkage import fitted_pull
from schemas.units import DAYS_PER_YEAR

Array = NDArray[np.float64]

DRAWS = 4000
SEED = 1741  # any fixed number: the same book gives the same range
DISPERSION_PULL = 20.0  # expected visits' worth of pull of the dispersion to 1; house rule
TINY = float(np.finfo(float).tiny)
EXACT_SUM_UP_TO = 60  # visits in a draw costed one by one; above, their sum is close to normal


@dataclass(frozen=True)
class Doubt:
    """What makes the future differ from its expectation.

    year_variance: of the ratio of one year's visits to its expectation (wet years, warm years);
    level_variance: of the log of the visit level itself; dispersion: variance over mean of visits among jobs.
    """

    year_variance: float
    level_variance: float
    dispersion: float


def doubt_of(history: History, model: Model) -> Doubt:
    """The three kinds of doubt, measured on the visits so far."""
    seen, expected = visits_by_year(history, model)
    year_variance = 1 / fitted_pull(seen, expected)
    total = max(float(seen.sum()), 1.0)
    dispersion = job_dispersion(history, model)
    counting = dispersion / total
    past_years = year_variance * float(((seen / total) ** 2).sum())
    shape = shape_variance(history, model)
    return Doubt(year_variance, counting + past_years + shape, dispersion)


def visits_by_year(history: History, model: Model) -> tuple[Array, Array]:
    """Counted and expected visits in each 12 months before the as-of date, oldest first."""
    first = float(history.completed.min(initial=history.as_of))
    years = max(int(np.ceil((history.as_of - first) / DAYS_PER_YEAR)), 1)
    days: Array = history.as_of - DAYS_PER_YEAR * np.arange(years, -1, -1).astype(float)
    days[-1] += 1.0  # reports of the as-of date itself belong to the last year
    inside = history.in_warranty
    seen = np.histogram(history.reported[inside], bins=days, weights=history.weight[inside])[0]
    return seen, expected_visits(history, model, days).sum(axis=1)


def job_dispersion(history: History, model: Model) -> float:
    """Variance over mean of the visits of a job, at least 1: openings of one job share a crew and a day."""
    inside = history.in_warranty
    jobs = int(history.job.max(initial=-1)) + 1
    seen = np.bincount(history.job[history.opening[inside]], weights=history.weight[inside], minlength=jobs)
    per_opening = by_complaint(model, history.end_age).sum(axis=1)
    expected = np.bincount(history.job, weights=per_opening, minlength=jobs)
    squares = float(((seen - expected) ** 2).sum())
    return max((squares + DISPERSION_PULL) / (float(expected.sum()) + DISPERSION_PULL), 1.0)


def shape_variance(history: History, model: Model) -> float:
    """Variance of the log of the visits to come that comes from the age shape, the visits so far held fixed.

    source: delta method on the corners of the common curve
    """
    curve, basis = model.shapes.common, AGES.basis
    rate = np.exp(basis @ curve.values)
    past = AGES.exposure(history.end_age)
    whole = AGES.exposure(history.warranty_days)
    lean = _pull_of(basis, (whole - past) * rate) - _pull_of(basis, past * rate)
    return float(lean @ curve.covariance @ lean)


def _pull_of(basis: Array, visits: Array) -> Array:
    """How the log of summed visits moves with each corner."""
    pull: Array = basis.T @ visits / max(float(visits.sum()), TINY)
    return pull


def simulated_costs(ahead: Remaining, model: Model, doubt: Doubt) -> Array:
    """Draws of the whole cost to come. [USD]

    out:    4,000 draws about the expectation, one below 0 where more is got back than spent; gamma year and level,
            Poisson visits, lognormal costs, and at some visits much of it got back
    """
    rng = np.random.default_rng(SEED)
    level = _gamma_about_one(rng, doubt.level_variance, (DRAWS, 1, 1))
    by_year = _visits_by_year_ahead(ahead)
    shocks = _gamma_about_one(rng, doubt.year_variance, (DRAWS, len(by_year), 1))
    clumps = _clumped(rng, by_year[None, :, :] * shocks * level, doubt.dispersion)
    counts = rng.poisson(clumps).sum(axis=1)
    return _costs_of(rng, counts, model)


def _gamma_about_one(rng: np.random.Generator, variance: float, size: tuple[int, ...]) -> Array:
    if variance <= 0:
        return np.ones(size)
    return rng.gamma(1 / variance, variance, size)


def _clumped(rng: np.random.Generator, mean: Array, dispersion: float) -> Array:
    """Poisson means that make the counts' variance `dispersion` times their mean."""
    if dispersion <= 1:
        return mean
    return rng.gamma(mean / (dispersion - 1), dispersion - 1)


def _visits_by_year_ahead(ahead: Remaining) -> Array:
    """Expected visits per coming 12 months (rows) and complaint (columns)."""
    if not ahead.months:
        return np.zeros((1, ahead.visits.shape[1]))
    year = ((ahead.days[:-1] - ahead.days[0]) // DAYS_PER_YEAR).astype(int)
    totals = np.zeros((year.max() + 1, ahead.visits.shape[1]))
    np.add.at(totals, year, ahead.visits)
    return totals


def _costs_of(rng: np.random.Generator, counts: NDArray[np.int64], model: Model) -> Array:
    """Net cost of each draw: so many visits of each complaint, the complaints' own level drawn too."""
    severity = model.severity
    error = rng.multivariate_normal(-np.diag(severity.log_error) / 2, severity.log_error, len(counts))
    back = severity.recovery.share * _gamma_about_one(rng, _relative_variance(severity.recovery), (len(counts),))
    total = np.zeros(len(counts))
    for cause in range(counts.shape[1]):
        visits = _summed(rng, counts[:, cause], severity, back)
        total += visits * severity.gross_mean[cause] * np.exp(error[:, cause])
    return total


def _relative_variance(recovery: Recovery) -> float:
    """Variance of the share got back about one. 0 when nothing is got back."""
    return (recovery.error / recovery.share) ** 2 if recovery.share > 0 else 0.0


def _summed(rng: np.random.Generator, counts: NDArray[np.int64], severity: Severity, back: Array) -> Array:
    """Sums of so many lognormal costs of mean one, of which a share is got back, at few visits and then much.

    in:     counts and the share got back, one per draw
    """
    log_variance, chance = severity.log_variance, severity.recovery.chance
    few = np.where(counts <= EXACT_SUM_UP_TO, counts, 0)
    draw = np.repeat(np.arange(len(counts)), few)
    costs = rng.lognormal(-log_variance / 2, np.sqrt(log_variance), len(draw))
    if chance > 0:
        costs *= 1 - (rng.random(len(draw)) < chance) * (back / chance)[draw]
    exact = np.bincount(draw, weights=costs, minlength=len(counts))
    squares = 1 - 2 * back + (back**2 / chance if chance > 0 else 0.0)
    spread = np.sqrt(np.exp(log_variance) * squares - (1 - back) ** 2)
    normal = counts * (1 - back) + np.sqrt(counts) * spread * rng.standard_normal(len(counts))
    return np.where(counts <= EXACT_SUM_UP_TO, exact, normal)
