"""Counts against expectation, pulled towards one as far as the counts themselves suggest (gamma–Poisson)."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TYPICAL_PULL, PULL_SPREAD_LOG = 10.0, 1.0  # prior of the pull: log ~ N(log 10, 1); simulation study, fresh seeds
PRECISION = 1e-6  # of the place of a minimum
LEAST_PULL, MOST_PULL = 0.1, 10_000.0  # search range of the pull, in events


def log_likelihood(observed: Array, expected: Array, shape: float, rate: float) -> float:
    """Log chance of counts whose rate ratio varies as gamma(shape, rate) (negative binomial).

    in:     observed counts, expected counts over 0, one per group
    out:    sum over the groups
    source: Clayton and Kaldor 1987, from memory
    """
    from scipy.special import gammaln

    terms = (
        gammaln(observed + shape)
        - gammaln(shape)
        - gammaln(observed + 1)
        + shape * np.log(rate / (rate + expected))
        + observed * np.log(expected / (rate + expected))
    )
    return float(terms.sum())


def shrunk_ratio(observed: Array, expected: Array, shape: float, rate: float) -> Array:
    """Mean rate ratio of each group given its count: (observed + shape) / (expected + rate)."""
    ratio: Array = (observed + shape) / (expected + rate)
    return ratio


def shrunk_limits(observed: Array, expected: Array, pull: float, level: float) -> tuple[Array, Array]:
    """Range that holds each group's true ratio with probability `level`, when ratios vary around one."""
    from scipy.special import gammaincinv

    tail = (1 - level) / 2
    low = gammaincinv(observed + pull, tail) / (expected + pull)
    high = gammaincinv(observed + pull, 1 - tail) / (expected + pull)
    return low, high


def fitted_pull(observed: Array, expected: Array) -> float:
    """Events' worth of pull towards one: shape = rate of the gamma that the ratios seem to come from.

    in:     observed counts, expected counts; groups with expected 0 are left out
    out:    between 0.1 and 10,000; large = the groups differ no more than by chance
    source: marginal likelihood (Clayton and Kaldor 1987, from memory) with a weak prior, simulation study
    """
    kept = expected > 0

    def minus_log_posterior(log_pull: float) -> float:
        pull = float(np.exp(log_pull))
        prior = float(((log_pull - np.log(TYPICAL_PULL)) / PULL_SPREAD_LOG) ** 2 / 2)
        return prior - log_likelihood(observed[kept], expected[kept], pull, pull)

    return float(np.exp(minimum_at(minus_log_posterior, np.log(LEAST_PULL), np.log(MOST_PULL))))


def minimum_at(function: Callable[[float], float], low: float, high: float) -> float:
    """Place of the smallest value of a smooth function of one number between two bounds."""
    from scipy.optimize import minimize_scalar

    return float(minimize_scalar(function, bounds=(low, high), method="bounded", options={"xatol": PRECISION}).x)
