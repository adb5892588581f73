"""Bias of quotes: the ratio, its range, and silence for few jobs."""

import numpy as np
import pytest

from pipeline.costing.quote_bias import quote_biases


def sums(quoted: list[float], actual: list[float]) -> dict[str, object]:
    q, a = np.array(quoted), np.array(actual)
    return {
        "measure": "hours", "jobs": len(q), "quoted": q.sum(), "actual": a.sum(),
        "quoted_squared": (q * q).sum(), "actual_squared": (a * a).sum(), "product": (q * a).sum(),
    }  # fmt: skip


def test_range_is_the_linearised_error_times_students_t():
    """Six jobs quoted 10 h took 10, 12, 14, 10, 12, 14: ratio 1.2; deviations 2, 0, 2 twice, s^2 = 16 / 5.

    Error of the ratio = sqrt(16 / 5 x 6) / 60 = 0.0730; t(0.975, 5) = 2.571 (table of Student's t): 0.2 +- 0.188.
    """
    (bias,) = quote_biases([sums([10] * 6, [10, 12, 14, 10, 12, 14])])
    assert bias["correction"] == pytest.approx(1.2)
    assert bias["bias"] == pytest.approx(0.2)
    assert (bias["low"], bias["high"]) == (pytest.approx(0.0122, abs=0.0005), pytest.approx(0.3878, abs=0.0005))


def test_quotes_that_were_exact_have_no_bias_and_no_range():
    (bias,) = quote_biases([sums([8, 12, 20, 9, 30, 14], [8, 12, 20, 9, 30, 14])])
    assert (bias["bias"], bias["low"], bias["high"]) == pytest.approx((0, 0, 0), abs=1e-6)


def test_the_range_holds_the_true_bias_about_95_times_in_100():
    """Invented: 2,000 firms of 30 jobs, each taking 1.1 times its quote give or take a quarter."""
    rng = np.random.default_rng(20260301)
    held = 0
    for _ in range(2000):
        quoted = rng.uniform(10, 60, 30)
        (bias,) = quote_biases([sums(quoted, quoted * 1.1 * np.exp(rng.normal(-0.03, 0.245, 30)))])
        held += bias["low"] <= 0.1 <= bias["high"]
    assert 0.92 <= held / 2000 <= 0.97


def test_under_six_jobs_there_is_no_figure():
    (bias,) = quote_biases([sums([10] * 5, [12] * 5)])
    assert bias["jobs"] == 5
    assert (bias["bias"], bias["low"], bias["high"], bias["correction"]) == (None, None, None, None)
