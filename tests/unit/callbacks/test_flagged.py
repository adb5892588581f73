"""A matrix kept as codes and a rest gives the products of the whole matrix (numpy's own)."""

import numpy as np
import pytest

from pipeline.callbacks.flagged import FEWEST_FLAGS, columns_of


def matrix(*, crews: int):
    """60 openings: a number, a column per crew (some openings without any), two habits that may go together."""
    rng = np.random.default_rng(3)
    crew = rng.integers(-1, crews, 60)
    of_crew = (crew[:, None] == np.arange(crews)).astype(float)
    return np.column_stack([rng.normal(size=60), of_crew, rng.random((60, 2)) < 0.5])


@pytest.mark.parametrize("crews", [3, 12])
def test_products_are_those_of_the_whole_matrix(crews: int):
    whole = matrix(crews=crews)
    parted, weights = columns_of(whole), np.linspace(0.1, 2.0, 60)
    effects = np.linspace(-1.0, 1.0, whole.shape[1])
    values = np.column_stack([weights, weights**2])
    assert parted.times(effects) == pytest.approx(whole @ effects, abs=1e-12)
    assert parted.sums(values) == pytest.approx(whole.T @ values, abs=1e-12)
    assert parted.gram(weights) == pytest.approx(whole.T @ (whole * weights[:, None]), abs=1e-12)


def test_only_columns_that_exclude_one_another_become_codes():
    """Twelve crews do; a number does not, nor the two habits, which an opening may have both of."""
    assert columns_of(matrix(crews=12)).at_flags.tolist() == list(range(1, 13))


def test_few_such_columns_stay_as_they_are():
    assert FEWEST_FLAGS > 3
    assert columns_of(matrix(crews=3)).at_flags.size == 0
