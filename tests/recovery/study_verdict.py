"""When a study's figure counts as having reached its target."""

from collections.abc import Sequence

import numpy as np

FEWEST_FIRMS = 20  # house rule: single firms are noisy
CERTAIN = (
    "Met within 2 se: the mean is beyond the target, but no further than two standard errors. 0 or 1 with ± 0.000 is "
    "no certainty: after none in n firms the 95 % limit is about 3/n. – = nothing to count."
)


def mean_and_error(values: Sequence[float]) -> tuple[float, float]:
    """Mean over firms and two standard errors of it; nan from one firm."""
    error = 2 * np.std(values, ddof=1) / np.sqrt(len(values)) if len(values) > 1 else np.nan
    return float(np.mean(values)), float(error)


def bounds(aim: str) -> tuple[float, float]:
    """Least and most of a target such as `>= 0.35`, `<= 0.1`, `within 0.2`, `0.8-1.2` or `0.95` (at least)."""
    words = aim.split()
    if words[0] == "within":
        return -float(words[1]), float(words[1])
    if words[0] == "<=":
        return -np.inf, float(words[1])
    low, _, high = words[-1].partition("-")
    return float(low), float(high) if high else np.inf


def verdict(figure: tuple[float, float], within: tuple[float, float], firms: int, fewest: int = FEWEST_FIRMS) -> str:
    """Whether a mean ± two standard errors reaches a range; with fewer firms than asked it never counts as met."""
    mean, error = figure
    low, high = within
    if low <= mean <= high:
        told = "met"
    elif mean + error >= low and mean - error <= high:
        told = "met within 2 se"
    else:
        return "NOT MET"
    return told if firms >= fewest else f"not shown, {firms} of {fewest} firms"
