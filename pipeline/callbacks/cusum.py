"""Watching for a rise: running sum of the excess over a reference, and how long it takes to speak."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CELLS = 120  # states of the Markov chain; more change the run length by under 1 %
SEARCH_STEPS = 30


def cusum_high(values: Array, references: Array | float) -> Array:
    """Sum of each value's excess over its reference so far, never below 0 (Page 1954, from memory)."""
    sums = np.zeros(len(values))
    total = 0.0
    for place, excess in enumerate(values - references):
        total = max(0.0, total + float(excess))
        sums[place] = total
    return sums


def average_run_length(
    distribution: Callable[[Array], Array], reference: float, limit: float, *, cells: int = CELLS
) -> float:
    """Values until the running sum passes the limit, on average, started at 0.

    in:     cumulative distribution function of one value; reference and limit in its unit
    source: Markov chain of Brook and Evans 1972, from memory
    """
    width = 2 * limit / (2 * cells - 1)
    states: Array = np.arange(cells).astype(float) * width
    needed = states[None, :] - states[:, None] + reference
    moves = distribution(needed + width / 2) - distribution(needed - width / 2)
    moves[:, 0] = distribution(width / 2 - states + reference)
    return float(np.linalg.solve(np.eye(cells) - moves, np.ones(cells))[0])


def poisson_distribution(mean: float) -> Callable[[Array], Array]:
    """Cumulative distribution function of a count with this mean."""
    from scipy.special import pdtr

    def distribution(value: Array) -> Array:
        return np.where(value < 0, 0.0, pdtr(np.floor(np.maximum(value, 0.0)), mean))

    return distribution


def reference_for(mean: float, ratio: float) -> float:
    """Reference value that finds a rise of this ratio soonest: mean × (ratio − 1) / log ratio.

    source: likelihood ratio of two Poisson means (Lucas 1985, from memory)
    """
    return mean * (ratio - 1) / float(np.log(ratio))


def limit_for(mean: float, reference: float, run_length: float) -> float:
    """Limit at which an unchanged rate raises a false alarm once in `run_length` values, on average."""
    distribution = poisson_distribution(mean)
    low, high = 0.0, 4.0 + 12.0 * float(np.sqrt(mean))
    for _ in range(SEARCH_STEPS):
        middle = (low + high) / 2
        if average_run_length(distribution, reference, middle) < run_length:
            low = middle
        else:
            high = middle
    return high
