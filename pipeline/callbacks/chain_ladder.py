"""Chain ladder on a cumulative triangle: factors, ultimates, Mack's standard error, and the blend with a prior."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
FEWEST_COHORTS = 4  # below, the last variance has no two before it to lean on (Mack 1993, from memory)


@dataclass(frozen=True)
class ChainLadder:
    """factors: growth from each development period to the next; completed: the triangle filled in;
    to_come and error: per cohort, the amount still to come and its standard error; total_error: of their sum."""

    factors: Array
    completed: Array
    to_come: Array
    error: Array
    total_error: float


def chain_ladder(cumulative: Array) -> ChainLadder:
    """Chain ladder with Mack's standard errors.

    in:     square cumulative triangle, oldest cohort first, nan where still to come
    errors: a column whose known cells add to 0 grows by a factor of 1; with fewer than 4 cohorts the errors are nan
    source: Mack 1993, from memory; the last variance by his rule
    """
    size = len(cumulative)
    bases = np.array([cumulative[: size - k - 1, k].sum() for k in range(size - 1)])
    grown = np.array([cumulative[: size - k - 1, k + 1].sum() for k in range(size - 1)])
    factors = np.divide(grown, bases, out=np.ones(size - 1), where=bases > 0)
    completed = _completed(cumulative, factors)
    latest = np.array([cumulative[i, size - 1 - i] for i in range(size)])
    variances = _variances(cumulative, factors)
    error, total_error = _mack_errors(completed, factors, variances, bases)
    return ChainLadder(factors, completed, completed[:, -1] - latest, error, total_error)


def _completed(cumulative: Array, factors: Array) -> Array:
    filled = cumulative.copy()
    size = len(filled)
    for k in range(size - 1):
        filled[size - k - 1 :, k + 1] = filled[size - k - 1 :, k] * factors[k]
    return filled


def _variances(cumulative: Array, factors: Array) -> Array:
    """Mack's variance per development period; the last one extrapolated by his rule."""
    size = len(cumulative)
    variances = np.zeros(size - 1)
    for k in range(size - 1):
        base, grown = cumulative[: size - k - 1, k], cumulative[: size - k - 1, k + 1]
        ratio = np.divide(grown, base, out=np.full(len(base), factors[k]), where=base > 0)
        variances[k] = (base * (ratio - factors[k]) ** 2).sum() / max(size - k - 2, 1)
    if size > 3 and variances[-3] > 0:
        variances[-1] = min(variances[-2] ** 2 / variances[-3], variances[-3], variances[-2])
    return variances


def _mack_errors(completed: Array, factors: Array, variances: Array, bases: Array) -> tuple[Array, float]:
    size = len(completed)
    relative = np.divide(variances, factors**2, out=np.zeros(size - 1), where=factors > 0)
    ultimate = completed[:, -1]
    squares, total = np.zeros(size), 0.0
    for i in range(1, size):
        steps = np.arange(size - 1 - i, size - 1)
        own = _over(relative[steps], completed[i, steps])
        shared = _over(relative[steps], bases[steps])
        squares[i] = ultimate[i] ** 2 * (own + shared).sum()
        total += squares[i] + ultimate[i] * ultimate[i + 1 :].sum() * 2 * shared.sum()
    if size < FEWEST_COHORTS:
        return np.full(size, np.nan), float("nan")
    return np.sqrt(squares), float(np.sqrt(total))


def _over(top: Array, bottom: Array) -> Array:
    """Quotient, 0 where the bottom is not over 0."""
    return np.divide(top, bottom, out=np.zeros(len(top)), where=bottom > 0)


def blended_to_come(ladder: ChainLadder, expected: Array) -> Array:
    """To come per cohort when the expected whole, not the cohort's own start, is trusted for the unseen part.

    in:     expected whole amount of each cohort, oldest first
    source: Bornhuetter and Ferguson 1972, from memory
    """
    whole_over_latest = np.append(np.cumprod(ladder.factors[::-1])[::-1], 1.0)[::-1]
    to_come: Array = expected * (1 - 1 / whole_over_latest)
    return to_come
