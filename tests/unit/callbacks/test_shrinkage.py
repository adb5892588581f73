"""The search for the lowest place of a valley."""

import pytest

from pipeline.callbacks.shrinkage import minimum_at


def test_the_lowest_place_of_a_parabola_and_of_a_slope():
    """(x - 2)^2 lies lowest at 2; a rising line at its lower bound."""
    assert minimum_at(lambda x: (x - 2) ** 2, -5, 10) == pytest.approx(2, abs=1e-5)
    assert minimum_at(lambda x: x, 3, 4) == pytest.approx(3, abs=1e-5)
