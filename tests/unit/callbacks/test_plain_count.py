"""A pattern counted plainly within crews and wall types, by hand."""

from types import SimpleNamespace

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.plain_count import counted_plainly, strata_of
from pipeline.callbacks.revisit import called_before


def firm(crews, present, event):
    """One year watched at each opening."""
    time = SimpleNamespace(event=np.array(event, bool), years=np.ones((len(crews), 2)) / 2)
    population = pl.DataFrame({"crew": crews, "wall_type": ["brick"] * len(crews)})
    return SimpleNamespace(population=population, present=np.array(present)[:, None], clocks={"leak": time})


def plain(study):
    return counted_plainly(study, strata_of(study), 0, "leak")


def test_within_crews_the_pattern_does_nothing_though_it_seems_to():
    """Crew A: 2 of 4 call with it, 1 of 2 without; B: 1 of 2 with it, 2 of 4 without: 1 within crews."""
    crews = ["A"] * 6 + ["B"] * 6
    present = [1.0] * 4 + [0.0] * 2 + [1.0] * 2 + [0.0] * 4
    event = [1, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0]
    assert plain(firm(crews, present, event)).value == pytest.approx(1.0)


def test_what_is_not_recorded_counts_on_neither_side():
    """3 of 4 with it, 1 of 4 without: 3; two openings without a record both called and change nothing."""
    present = [1.0] * 4 + [0.0] * 4 + [np.nan] * 2
    event = [1, 1, 1, 0, 1, 0, 0, 0, 1, 1]
    assert plain(firm([None] * 10, present, event)).value == pytest.approx(3.0)


def test_without_a_call_on_one_side_there_is_no_ratio():
    assert np.isnan(plain(firm(["A"] * 4, [1.0, 1.0, 0.0, 0.0], [1, 0, 0, 0])).value)


def test_an_opening_that_has_called_says_so():
    """Two leak visits and one for fit."""
    assert called_before({"leak_visits": 2, "fit_visits": 1}) == ["has called before: leak (2 times), fit"]
    assert called_before({"leak_visits": 0}) == []
