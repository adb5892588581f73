"""Gamma–Poisson shrinkage against published fits: lip cancer by district, claims per policy, repairs per car."""

import numpy as np
import pytest
from scipy.optimize import minimize

from pipeline.callbacks.shrinkage import log_likelihood, shrunk_limits, shrunk_ratio

# Lip cancer in the 56 districts of Scotland 1975-80, observed and expected (Clayton and Kaldor 1987, table 1)
OBSERVED = """9 39 11 9 15 8 26 7 6 20 13 5 3 8 17 9 2 7 9 7 16 31 11 7 19 15 7 10 16 11 5 3 7 8 11 9 11 8 6 4 10 8 2 6
19 3 2 3 28 6 1 1 1 1 0 0"""
EXPECTED = """1.4 8.7 3 2.5 4.3 2.4 8.1 2.3 2 6.6 4.4 1.8 1.1 3.3 7.8 4.6 1.1 4.2 5.5 4.4 10.5 22.7 8.8 5.6 15.5 12.5 6
9 14.4 10.2 4.8 2.9 7 8.5 12.3 10.1 12.7 9.4 7.2 5.3 18.8 15.8 4.3 14.6 50.7 8.2 5.6 9.3 88.7 19.6 3.4 3.6 5.7 7 4.2
1.8"""

# Claims in a year of 9,461 car policies, 0 to 7 claims (Efron and Hastie, Computer Age Statistical Inference, 6.1)
CLAIMS = np.array([7840, 1317, 239, 42, 14, 4, 4, 1])

# Warranty claims of 15,775 cars, 0 to 4 and 5 or more (Cook and Lawless; data as in the R package CASdatasets)
REPAIRS = np.array([13987, 1243, 379, 103, 34, 29])


def likeliest(minus_log_likelihood, start):
    """Log parameters at the smallest value, by a search that knows nothing of the product."""
    options = {"xatol": 1e-10, "fatol": 1e-10, "maxiter": 9999}
    return np.exp(minimize(minus_log_likelihood, start, method="Nelder-Mead", options=options).x)


def numbers(text):
    return np.array([float(word) for word in text.split()])


def test_lip_cancer_shape_and_rate():
    """Shape 1.879 (Clayton and Kaldor 1987, from memory), rate 1.3217; raw 6.43 and 0 become 3.997 and 0.602."""
    observed, expected = numbers(OBSERVED), numbers(EXPECTED)
    shape, rate = likeliest(lambda q: -log_likelihood(observed, expected, *np.exp(q)), [0, 0])
    assert (shape, rate) == pytest.approx((1.879490, 1.321667), rel=1e-5)
    shrunk = shrunk_ratio(observed, expected, shape, rate)
    assert (shrunk[0], shrunk[-1]) == pytest.approx((3.997362, 0.602079), rel=1e-5)


def test_claims_expected_next_year_by_claims_this_year():
    """Gamma prior with shape .7015 and mean rate parameter 1/.3056; .164 .398 .632 .866 1.100 … (table 6.1)."""
    counts = np.arange(8.0)
    one = np.ones(8)

    def minus_log(q):
        shape, rate = np.exp(q[0]), np.exp(-q[1])
        each = [log_likelihood(counts[i : i + 1], one[:1], shape, rate) for i in range(8)]
        return -float(CLAIMS @ np.array(each))

    shape, scale = likeliest(minus_log, [0, -1])
    assert (shape, scale) == pytest.approx((0.7015123, 0.3055594), rel=1e-5)
    expected = shrunk_ratio(counts, one, shape, 1 / scale)
    assert expected[:7] == pytest.approx([0.164, 0.398, 0.632, 0.866, 1.100, 1.334, 1.568], abs=6e-4)


def test_repairs_per_car_are_clumped():
    """Negative binomial size .198800 and success .545721; own fit on the published counts, last cell 5 or more."""
    counts = np.arange(5.0)

    def minus_log(q):
        shape, rate = np.exp(q)
        each = np.array([log_likelihood(counts[i : i + 1], np.ones(1), shape, rate) for i in range(5)])
        return -float(REPAIRS[:5] @ each + REPAIRS[5] * np.log(1 - np.exp(each).sum()))

    shape, rate = likeliest(minus_log, [0, 0])
    assert (shape, rate / (1 + rate)) == pytest.approx((0.198800, 0.545721), rel=1e-4)


def test_limits_of_a_shrunk_ratio_are_those_of_chi_square():
    """Posterior gamma(3 + 2, 4 + 2): limits chi-square(.025 and .975, 10 df)/12 = 3.2470/12, 20.4832/12."""
    low, high = shrunk_limits(np.array([3.0]), np.array([4.0]), 2.0, 0.95)
    assert (low[0], high[0]) == pytest.approx((3.2470 / 12, 20.4832 / 12), abs=5e-5)
