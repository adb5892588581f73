"""Beta-binomial shares against the families of Saxony; tolerance = the digits that can be told."""

import numpy as np
import pytest
from scipy import optimize

from pipeline.callbacks.beta_binomial import log_likelihood, shrunk_shares

# Boys among the first 12 children of 6,115 families in Saxony (Lindsey and Altham 1998; counts from memory)
FAMILIES = np.array([3, 24, 104, 286, 670, 1033, 1343, 1112, 829, 478, 181, 45, 7])
BOYS, CHILDREN = np.arange(13.0), 12.0


def minus_log_likelihood(log_ends):
    each = np.array([log_likelihood(np.array([k]), np.array([CHILDREN]), *np.exp(log_ends)) for k in BOYS])
    return -float(FAMILIES @ each)


def test_likeliest_beta_of_the_saxon_families():
    """34.1028 and 31.5782, AIC 24,989.7427 (reference fit; the ridge is flat: 1e-4)."""
    assert FAMILIES.sum() == 6115
    best = optimize.minimize(
        minus_log_likelihood, np.log([34, 31]), method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-8}
    )
    assert np.exp(best.x) == pytest.approx([34.1028, 31.5782], rel=1e-4)
    assert 2 * best.fun + 4 == pytest.approx(24_989.7427, abs=1e-3)


def test_groups_alike_lie_at_the_share_of_all():
    """Four crews with 10 of 100 each: about 10 in 100, and the range is narrower than one crew alone would give."""
    share, low, high = shrunk_shares(np.full(4, 10.0), np.full(4, 100.0), 0.95)
    assert share == pytest.approx(np.full(4, 0.10), abs=0.003)
    assert (low > 0.049).all()  # Clopper and Pearson of 10 in 100: 0.049 to 0.176
    assert (high < 0.176).all()


def test_few_openings_are_pulled_further_than_many():
    """2 of 4 and 50 of 100 against 10 of 100 in two others: the few move more towards the rest."""
    share, low, high = shrunk_shares(np.array([2.0, 50, 10, 10]), np.array([4.0, 100, 100, 100]), 0.95)
    assert share[0] < share[1] < 0.5
    assert (low < share).all()
    assert (share < high).all()


def test_nothing_looked_at_gives_no_share():
    assert np.isnan(shrunk_shares(np.zeros(2), np.zeros(2), 0.95)[0]).all()
