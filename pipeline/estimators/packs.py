"""Pack sizes read off purchases, and what buying in whole packs does to a quantity."""

import math

import numpy as np

from pipeline.takeoff.openings import Numbers

# Simulation study, fresh seeds.
PACK_SIZES = (100.0, 50.0, 25.0, 24.0, 20.0, 12.0, 10.0, 6.0, 5.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.1, 0.05)
LEAST_SHARE_DIVIDED = 0.97
DIVISION_SLACK = 1e-6
MOST_PACKS_SUMMED = 200  # above this median the step of one pack no longer matters


def pack_size(quantities: Numbers) -> float:
    """The largest usual pack that divides nearly all quantities bought; the smallest one when none does.

    in:     quantities as bought, above 0
    out:    units per pack
    source: simulation study, fresh seeds
    """
    for size in PACK_SIZES:
        packs = quantities / size
        if np.mean(np.abs(packs - np.round(packs)) < DIVISION_SLACK * np.maximum(packs, 1)) >= LEAST_SHARE_DIVIDED:
            return size
    return PACK_SIZES[-1]


def packs_to_order(usage: Numbers, pack: float) -> Numbers:
    """Whole packs that hold a usage."""
    packs: Numbers = np.ceil(usage / pack - DIVISION_SLACK)
    return packs


def normal_share_above(z: Numbers) -> Numbers:
    """Share of a standard normal above z."""
    return np.array([0.5 * math.erfc(value / math.sqrt(2)) for value in np.ravel(z)]).reshape(np.shape(z))


def packs_mean_variance(log_median: float, log_sd: float, pack: float) -> tuple[float, float]:
    """Mean and variance of the packs needed for a lognormal usage.

    in:     log of the median usage, sd of its log, units per pack
    out:    mean = sum over k >= 0 of P(usage > k packs); variance by the same sum
    source: tail-sum identity for counts
    """
    median_packs = math.exp(log_median) / pack
    if median_packs > MOST_PACKS_SUMMED:
        mean = median_packs * math.exp(log_sd**2 / 2)
        return mean + 0.5, mean**2 * math.expm1(log_sd**2)
    most = math.ceil(median_packs * math.exp(6 * log_sd)) + 1  # beyond six sds nothing is left
    k = np.arange(1, most + 1)
    above = normal_share_above((np.log(k * pack) - log_median) / log_sd)
    mean = 1.0 + float(above.sum())
    square = 1.0 + float(np.sum((2 * k + 1) * above))
    return mean, max(square - mean**2, 0.0)
