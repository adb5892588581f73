"""Funnel limits: how far an ordinary group's count may stray from its expectation by chance alone."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WATCH_PROBABILITY = 0.975  # upper 95 % limit (Spiegelhalter 2005, from memory)
ACT_PROBABILITY = 0.999  # upper 99.8 % limit (same)


def poisson_limit(expected: Array, probability: float) -> Array:
    """Ratio of observed to expected that an ordinary group stays under with this probability; never below 0.

    in:     expected counts over 0
    source: interpolated exact Poisson quantile (Spiegelhalter 2005, appendix, from memory)
    """
    from scipy.special import pdtr, pdtrik

    quantile = np.ceil(np.maximum(pdtrik(probability, expected), 0.0))
    below = np.where(quantile > 0, pdtr(np.maximum(quantile - 1, 0.0), expected), 0.0)
    upto = pdtr(quantile, expected)
    excess = (upto - probability) / (upto - below)
    limit: Array = np.maximum((quantile - excess) / expected, 0.0)
    return limit


def chance_of_as_many(observed: Array, expected: Array) -> Array:
    """Probability that a Poisson count with this expectation is at least as high as observed. [0–1]"""
    from scipy.special import pdtrc

    return np.where(observed > 0, pdtrc(np.maximum(observed - 1, 0.0), expected), 1.0)
