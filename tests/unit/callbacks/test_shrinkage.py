"""The search for the lowest place of a valley."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from pipeline.callbacks.shrinkage import minimum_at


def test_the_lowest_place_of_a_parabola_and_of_a_slope():
    """(x - 2)^2 lies lowest at 2; a rising line at its lower bound."""
    assert minimum_at(lambda x: (x - 2) ** 2, -5, 10) == pytest.approx(2, abs=1e-5)
    assert minimum_at(lambda x: x, 3, 4) == pytest.approx(3, abs=1e-5)


def test_the_place_agrees_with_scipys_bounded_search():
    """Reference library: scipy.optimize.minimize_scalar."""
    for scale in (0.5, 3.0, 40.0):
        valley = lambda x, scale=scale: np.cosh(x - np.log(scale)) + 0.3 * x  # noqa: E731
        expected = minimize_scalar(valley, bounds=(-3, 9), method="bounded", options={"xatol": 1e-8}).x
        assert minimum_at(valley, -3, 9) == pytest.approx(expected, abs=1e-5)
