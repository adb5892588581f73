"""The quantiles behind the ranges against printed tables, and how often such ranges hold."""

import numpy as np
import pytest

from pipeline.estimators.intervals import _correlation, _multipliers, _t_quantiles
from pipeline.estimators.packs import packs_mean_variance


@pytest.mark.parametrize(("jobs", "printed"), [(18, 1.372), (28, 1.325), (1_000_008, 1.2816)])
def test_eighty_percent_range_uses_students_t(jobs, printed):
    """Two-sided 80 % points of t: 10 df 1.372, 20 df 1.325, normal 1.2816 (any printed table); the level is raised
    by one part in the number of jobs, so the factor is a little above the print and falls to it."""
    factor = _t_quantiles(jobs)["0.8"]
    assert printed - 0.001 < factor
    assert factor < printed * (1 + 3 / jobs) + 0.001


def test_small_books_get_wider_ranges():
    factors = [_t_quantiles(jobs)["0.9"] for jobs in (12, 30, 100, 1000)]
    assert factors == sorted(factors, reverse=True)


def test_ranges_hold_as_often_as_they_say():
    """100,000 scaled t residuals of 50 jobs' degrees of freedom: 80 % and 90 % inside, to half a percent."""
    rng = np.random.default_rng(5)
    z = rng.standard_t(42, 100_000) * 0.15
    sd = 0.15
    factors = _t_quantiles(50)
    for level in ("0.8", "0.9"):
        raised = float(level) * (1 + 1 / 50)
        assert np.mean(np.abs(z) <= factors[level] * sd) == pytest.approx(raised, abs=0.005)


def test_one_mis_keyed_residual_does_not_widen_every_range():
    rng = np.random.default_rng(6)
    clean = rng.normal(0, 1, 300)
    odd = np.append(clean[1:], 40.0)
    assert _multipliers(odd, 200)["0.8"] < 1.03 * _multipliers(clean, 200)["0.8"]


def test_correlation_of_openings_of_a_job():
    """Pairs with correlation 0.6 planted: 2,000 jobs of two openings give 0.6 within 0.04."""
    rng = np.random.default_rng(7)
    shared = rng.normal(0, np.sqrt(0.6), 2000)
    z = np.concatenate([shared + rng.normal(0, np.sqrt(0.4), 2000), shared + rng.normal(0, np.sqrt(0.4), 2000)])
    job = np.tile(np.arange(2000), 2)
    assert _correlation(z, job) == pytest.approx(0.6, abs=0.04)


def test_correlation_is_one_half_when_nothing_speaks():
    assert _correlation(np.array([1.0, -1.0, 0.5]), np.array([0, 1, 2])) == 0.5


def test_expected_packs_of_a_lognormal_usage():
    """Median use one pack, sd of the log 0.5: P(use > 1) = 0.5, > 2 = 0.0828, > 3 = 0.0140, > 4 = 0.0028, > 5 = 0.0006
    (normal table at ln k / 0.5), so 1.60 packs on average."""
    mean, variance = packs_mean_variance(0.0, 0.5, 1.0)
    assert mean == pytest.approx(1 + 0.5 + 0.0828 + 0.0140 + 0.0028 + 0.0006 + 0.0002, abs=0.001)
    square = 1 + 3 * 0.5 + 5 * 0.0828 + 7 * 0.0140 + 9 * 0.0028 + 11 * 0.0006 + 13 * 0.0002
    assert variance == pytest.approx(square - mean**2, abs=0.005)
