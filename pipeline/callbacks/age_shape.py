"""How the visit rate changes with an opening's age: one shape for all complaints, each leaning its own way a little."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import COMPLAINTS, DAYS_PER_YEAR, History
from pipeline.callbacks.shrinkage import minimum_at

Array = NDArray[np.float64]

HEAD_START_DAYS = 30.0  # keeps the rate of the first weeks finite; house rule
SLOPE_SPREAD = 0.5  # prior of the slope: N(0, 0.5); house rule, weaker than 20 visits
COMPLAINT_SLOPE_SPREAD = 0.3  # how far a complaint's slope strays from the common one; own simulator, fresh seeds
STEEPEST, SHALLOWEST = -0.95, 3.0
KNOTS_DAYS = np.array([0.0, 30, 60, 90, 135, 180, 270, 365, 545, 730, 1095, 1460, 1826, 3653])
BAND_PULL = 10.0  # visits' worth of pull of each band towards the power of age; own simulator, fresh seeds
DIFFERENCE = 1e-3  # step of numerical derivatives of the slope


@dataclass(frozen=True)
class AgeShape:
    """Relative visit rate by age: (age + 30 days)^slope, times a factor per band of KNOTS_DAYS."""

    slope: float
    slope_error: float
    band_factors: Array

    def cumulative(self, age_days: Array) -> Array:
        """Visits expected by that age at an opening of rate 1. [years at rate 1]"""
        at_knots = cumulative_power(KNOTS_DAYS, self.slope)
        steps = np.diff(at_knots) * self.band_factors
        grown = np.concatenate([[0.0], np.cumsum(steps)])
        reached: Array = np.interp(cumulative_power(age_days, self.slope), at_knots, grown)
        return reached

    def with_slope(self, slope: float) -> "AgeShape":
        """The same bends on another slope."""
        return AgeShape(slope, self.slope_error, self.band_factors)


def cumulative_power(age_days: Array, slope: float, head_start_days: float = HEAD_START_DAYS) -> Array:
    """Integral of ((age + head start) / year)^slope from 0 to each age, per year.

    source: power-law intensity (Crow 1974, from memory); without head start the hazard of Weibull 1951
    """
    start = head_start_days / DAYS_PER_YEAR
    years = age_days / DAYS_PER_YEAR + start
    grown: Array = (years ** (slope + 1) - start ** (slope + 1)) / (slope + 1)
    return grown


def fitted_slope(
    event_ages: Array, end_ages: Array, *, weights: Array, prior: tuple[float, float] = (0.0, SLOPE_SPREAD)
) -> tuple[float, float]:
    """Slope of the visit rate with age, and its standard error.

    in:     ages of the visits and the ages until which each opening was watched [days]; weights per visit;
            centre and spread of the prior
    out:    the slope that makes the visits likeliest, leaning on the prior
    source: likelihood of a power-law process (Crow 1974, from memory); the level is taken out of it
    """
    log_ages = float((weights * np.log((event_ages + HEAD_START_DAYS) / DAYS_PER_YEAR)).sum())
    events, (centre, spread) = float(weights.sum()), prior

    def minus_log_posterior(slope: float) -> float:
        exposure = float(cumulative_power(end_ages, slope).sum())
        return events * math.log(exposure) - slope * log_ages + ((slope - centre) / spread) ** 2 / 2

    best = minimum_at(minus_log_posterior, STEEPEST, SHALLOWEST)
    sides = [minus_log_posterior(best + step) for step in (-DIFFERENCE, 0.0, DIFFERENCE)]
    curvature = (sides[0] - 2 * sides[1] + sides[2]) / DIFFERENCE**2
    return best, float(max(curvature, 1 / spread**2)) ** -0.5


def fitted_shapes(history: History) -> tuple[AgeShape, ...]:
    """Age shape of each complaint, in the order of COMPLAINTS, from the visits inside the warranty.

    The slope is common, each complaint's own visits move it a little; the bends of the bands are common.
    """
    inside = history.in_warranty & (history.weight > 0)
    ages, weights, cause = history.visit_age[inside], history.weight[inside], history.cause[inside]
    end_ages = history.end_age
    common, error = fitted_slope(ages, end_ages, weights=weights)
    factors = _band_factors(ages, weights, end_ages, slope=common)
    shapes = []
    for number in range(len(COMPLAINTS)):
        of_it = cause == number
        prior = (common, COMPLAINT_SLOPE_SPREAD)
        slope, _ = fitted_slope(ages[of_it], end_ages, weights=weights[of_it], prior=prior)
        shapes.append(AgeShape(slope, error, factors))
    return tuple(shapes)


def _band_factors(ages: Array, weights: Array, end_ages: Array, *, slope: float) -> Array:
    """(visits + 10) / (expected + 10) of each band, the expectation scaled to all the visits."""
    seen = np.histogram(ages, bins=KNOTS_DAYS, weights=weights)[0]
    reached = [cumulative_power(np.minimum(end_ages, knot), slope).sum() for knot in KNOTS_DAYS]
    expected = np.diff(np.array(reached))
    expected = expected * seen.sum() / max(float(expected.sum()), np.finfo(float).tiny)
    factors: Array = (seen + BAND_PULL) / (expected + BAND_PULL)
    return factors
