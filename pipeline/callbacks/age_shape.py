"""How the visit rate changes with an opening's age: one smooth curve for all complaints, tilted a little for each."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import COMPLAINTS, History
from schemas.units import DAYS_PER_YEAR

Array = NDArray[np.float64]

EDGES_DAYS = np.concatenate([np.arange(0.0, 730.0, 10.0), np.arange(730.0, 9200.0, 30.0)])  # cells of age, to 25 years
HEAD_START_DAYS = 30.0  # keeps the rate of the first weeks finite; house rule
KNOTS = 13  # corners of the curve, evenly spaced in log age
BEND_SPREAD = 0.2  # prior sd of the bend at a corner, log rate; own simulator, seeds below 10,000
SLOPE_PRIOR = (-0.3, 0.4)  # centre and sd of the slope on log age: calls get rarer; common practice, no source
TILT_SPREAD = 0.3  # prior sd of a complaint's own slope about the common one; own simulator, seeds below 10,000
NEWTON_STEPS, LARGEST_STEP, CLOSE_ENOUGH = 50, 1.0, 1e-9


@dataclass(frozen=True)
class Ages:
    """Cells of age: their edges, the log age of their middles and the corners of the curve; the last has no end."""

    edges: Array
    head_start: float
    unit: float = DAYS_PER_YEAR

    @property
    def log_middle(self) -> Array:
        """Log of (middle of the cell + head start) in units. [log years]"""
        middle: Array = np.log(((self.edges[:-1] + self.edges[1:]) / 2 + self.head_start) / self.unit)
        return middle

    @property
    def basis(self) -> Array:
        """What each corner counts in each cell: straight lines between corners in log age."""
        corners, middle = self.corners, self.log_middle
        return np.column_stack([np.interp(middle, corners, unit) for unit in np.eye(KNOTS)])

    @property
    def corners(self) -> Array:
        """Places of the corners on the scale of log age."""
        return np.linspace(self.log_middle[0], self.log_middle[-1], KNOTS)

    def events(self, ages: Array, weights: Array) -> Array:
        """Events per cell."""
        return np.histogram(np.minimum(ages, self.edges[-1]), bins=self.edges, weights=weights)[0].astype(float)

    def exposure(self, end_ages: Array) -> Array:
        """Time watched per cell by units that are watched from 0 to their end ages. [units of time]"""
        ends = np.sort(end_ages)
        summed = np.concatenate([[0.0], np.cumsum(ends)])
        gone = np.searchsorted(ends, self.edges)
        reached: Array = summed[gone] + (len(ends) - gone) * self.edges
        reached[-1] = summed[-1]  # the last cell has no end: warranties may be longer than 25 years
        return np.diff(reached) / self.unit


AGES = Ages(EDGES_DAYS, HEAD_START_DAYS)


@dataclass(frozen=True)
class Curve:
    """Log rate at the corners with its covariance."""

    values: Array
    covariance: Array


@dataclass(frozen=True)
class AgeShape:
    """Relative visit rate by age, the last cell's for ever; grown is its integral up to each edge. [years at rate 1]"""

    log_rate: Array
    grown: Array

    def cumulative(self, age_days: Array) -> Array:
        """Visits expected by that age at an opening of rate 1. [years at rate 1]"""
        beyond = np.maximum(age_days - AGES.edges[-1], 0.0) / AGES.unit
        reached: Array = np.interp(age_days, AGES.edges, self.grown) + beyond * np.exp(self.log_rate[-1])
        return reached


def shape_of(log_rate: Array) -> AgeShape:
    """The shape whose log rate is given per cell."""
    steps = np.exp(log_rate) * np.diff(AGES.edges) / AGES.unit
    return AgeShape(log_rate, np.concatenate([[0.0], np.cumsum(steps)]))


@dataclass(frozen=True)
class Shapes:
    """Age shape of each complaint, in the order of COMPLAINTS, and the common curve they lean on."""

    by_complaint: tuple[AgeShape, ...]
    common: Curve


def fitted_shapes(history: History) -> Shapes:
    """Age shapes from the visits inside the warranty; flat while there is none.

    source: Poisson process with a smooth log rate (penalised as in Whittaker 1923, from memory); the shape shared by
            the complaints: simulation study, fresh seeds
    """
    inside = history.in_warranty
    ages, weights, cause = history.visit_age[inside], history.weight[inside], history.cause[inside]
    exposure = AGES.exposure(history.end_age)
    common = fitted_curve(AGES, AGES.events(ages, weights), exposure)
    log_rate = AGES.basis @ common.values
    shapes = []
    for number in range(len(COMPLAINTS)):
        of_it = cause == number
        tilt = _tilt(AGES.events(ages[of_it], weights[of_it]), exposure * np.exp(log_rate))
        shapes.append(shape_of(log_rate + tilt * AGES.log_middle))
    return Shapes(tuple(shapes), common)


def fitted_curve(
    ages: Ages, events: Array, exposure: Array, *, bend: float = BEND_SPREAD, slope: tuple[float, float] = SLOPE_PRIOR
) -> Curve:
    """Log rate at the corners that makes the events likeliest, leaning on a straight line in log age.

    in:     events and time watched per cell; prior sd of the bend at each corner; centre and sd of the whole slope
    out:    values per corner and their covariance; without events the prior's line
    """
    penalty = _penalty(ages.corners, bend, slope[1])
    line = slope[0] * (ages.corners - ages.corners.mean())
    level = np.log(max(float(events.sum()), 1.0) / max(float(exposure.sum()), np.finfo(float).tiny))
    start = np.full(KNOTS, level)
    if events.sum() == 0:
        return Curve(start + line, np.zeros((KNOTS, KNOTS)))
    about_line = exposure * np.exp(ages.basis @ line)
    values, information = poisson_newton(ages.basis, (events, about_line), penalty, start)
    covariance: Array = np.linalg.inv(information).astype(np.float64)
    return Curve(values + line, covariance)


def _penalty(corners: Array, bend: float, slope: float) -> Array:
    """Precision of the corners: bends about 0, slope about 0, level free."""
    bends = np.diff(np.eye(len(corners)), n=2, axis=0)
    ends = np.zeros(len(corners))
    ends[[0, -1]] = np.array([-1.0, 1.0]) / (corners[-1] - corners[0])
    precision: Array = bends.T @ bends / bend**2 + np.outer(ends, ends) / slope**2
    return precision


def _tilt(events: Array, expected_shape: Array) -> float:
    """A complaint's own slope on log age beside the common one, leaning on 0."""
    if events.sum() == 0:
        return 0.0
    features = np.column_stack([np.ones(len(events)), AGES.log_middle])
    level = np.log(float(events.sum()) / max(float(expected_shape.sum()), np.finfo(float).tiny))
    penalty = np.diag([0.0, TILT_SPREAD**-2])
    values, _ = poisson_newton(features, (events, expected_shape), penalty, np.array([level, 0.0]))
    return float(values[1])


def poisson_newton(features: Array, data: tuple[Array, Array], penalty: Array, start: Array) -> tuple[Array, Array]:
    """Coefficients of a log rate under a quadratic penalty, and their information.

    in:     features per cell; data: events and exposure per cell
    """
    events, exposure = data
    values = start.copy()
    for _ in range(NEWTON_STEPS):
        expected = exposure * np.exp(features @ values)
        information = features.T @ (features * expected[:, None]) + penalty
        move = np.linalg.solve(information, features.T @ (events - expected) - penalty @ values)
        move *= min(1.0, LARGEST_STEP / max(float(np.abs(move).max()), CLOSE_ENOUGH))
        values = values + move
        if np.abs(move).max() < CLOSE_ENOUGH:
            break
    return values, information
