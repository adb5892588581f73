"""Callback rates with exact limits, and rates of two groups compared within strata."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HUNDRED = 100.0
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Estimate:
    """A figure and its range."""

    value: float
    low: float
    high: float


def poisson_limits(events: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Exact limits of the expected number of events, given the number seen.

    source: chi-square form of Garwood 1936 (from memory); 0 events have the lower limit 0
    """
    from scipy.special import gammaincinv

    tail = (1 - confidence) / 2
    low = float(gammaincinv(events, tail)) if events > 0 else 0.0
    return low, float(gammaincinv(events + 1, 1 - tail))


def rate_per_100_years(events: int, opening_years: float) -> Estimate:
    """Callbacks per 100 opening-years with exact limits; nan without exposure."""
    if opening_years <= 0:
        return Estimate(np.nan, np.nan, np.nan)
    low, high = poisson_limits(events)
    scale = HUNDRED / opening_years
    return Estimate(events * scale, low * scale, high * scale)


def rate_ratio(events: tuple[int, int], years: tuple[float, float]) -> Estimate:
    """Ratio of two rates with exact limits: the share of the first group's events given their total.

    in:     events and exposure, (first, second); the second group needs an event for a finite ratio
    source: binomial limits of Clopper and Pearson 1934 on the conditional count, from memory
    """
    from scipy.special import betaincinv

    first, second = events
    share_low = float(betaincinv(first, second + 1, (1 - CONFIDENCE) / 2)) if first else 0.0
    share_high = float(betaincinv(first + 1, second, (1 + CONFIDENCE) / 2)) if second else 1.0
    exposure = years[1] / years[0]
    value = first / second * exposure if second else np.inf
    return Estimate(value, _odds(share_low) * exposure, _odds(share_high) * exposure)


def _odds(share: float) -> float:
    return share / (1 - share) if share < 1 else np.inf


def stratified_rate_ratio(events: Array, years: Array) -> Estimate:
    """Mantel-Haenszel ratio of two rates over strata, with Greenland-Robins limits.

    in:     events and exposure: strata x 2 (with, without); strata without exposure on both sides are left out
    out:    nan when a side has no events
    source: Mantel and Haenszel 1959; variance Greenland and Robins 1985; from memory
    """
    from scipy.special import ndtri

    used = (years > 0).all(axis=1)
    events, years = events[used], years[used]
    total = years.sum(axis=1)
    up = (events[:, 0] * years[:, 1] / total).sum()
    down = (events[:, 1] * years[:, 0] / total).sum()
    if up <= 0 or down <= 0:
        return Estimate(np.nan, np.nan, np.nan)
    variance = (events.sum(axis=1) * years.prod(axis=1) / total**2).sum() / (up * down)
    reach = np.exp(ndtri(0.5 + CONFIDENCE / 2) * np.sqrt(variance))
    return Estimate(float(up / down), float(up / down / reach), float(up / down * reach))


def standardised_ratio(observed: int, expected: float) -> Estimate:
    """Observed over expected events with exact limits; nan when nothing is expected."""
    if expected <= 0:
        return Estimate(np.nan, np.nan, np.nan)
    low, high = poisson_limits(observed)
    return Estimate(observed / expected, low / expected, high / expected)
