"""Shares of groups, pulled towards the share of all as far as the groups themselves suggest (beta-binomial)."""

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.shrinkage import minimum_at

Array = NDArray[np.float64]

TYPICAL_SIZE, SIZE_SPREAD_LOG = 20.0, 1.0  # prior of the pull in openings: log ~ N(log 20, 1); house rule
LEAST_SIZE, MOST_SIZE = 0.5, 100_000.0  # search range of the pull, in openings


def log_likelihood(found: Array, looked_at: Array, a: float, b: float) -> float:
    """Log chance of so many found of those looked at, where the groups' shares vary as beta(a, b).

    in:     one value per group
    out:    sum over the groups
    source: Skellam 1948, from memory
    """
    from scipy.special import betaln, gammaln

    ways = gammaln(looked_at + 1) - gammaln(found + 1) - gammaln(looked_at - found + 1)
    terms = ways + betaln(found + a, looked_at - found + b) - betaln(a, b)
    return float(terms.sum())


def shrunk_shares(found: Array, looked_at: Array, level: float) -> tuple[Array, Array, Array]:
    """Each group's share pulled towards that of all, and the range that holds it with probability `level`. [0–1]

    in:     found of looked at, one value per group; nothing looked at in any = nan
    source: empirical Bayes with a weak prior on how much the groups differ; from memory
    """
    from scipy.special import betaincinv

    if looked_at.sum() == 0:
        nothing = np.full(len(found), np.nan)
        return nothing, nothing, nothing
    a, b = _fitted(found, looked_at)
    above, below, tail = found + a, looked_at - found + b, (1 - level) / 2
    return above / (above + below), betaincinv(above, below, tail), betaincinv(above, below, 1 - tail)


def _fitted(found: Array, looked_at: Array) -> tuple[float, float]:
    """The beta the shares seem to come from: its mean that of all, its weight in openings fitted."""
    share = (found.sum() + 0.5) / (looked_at.sum() + 1)  # never 0 or 1

    def minus_log_posterior(log_size: float) -> float:
        size = float(np.exp(log_size))
        prior = float(((log_size - np.log(TYPICAL_SIZE)) / SIZE_SPREAD_LOG) ** 2 / 2)
        return prior - log_likelihood(found, looked_at, share * size, (1 - share) * size)

    size = float(np.exp(minimum_at(minus_log_posterior, np.log(LEAST_SIZE), np.log(MOST_SIZE))))
    return share * size, (1 - share) * size
