"""Gaps filled, crews and walls as columns, callbacks split among patterns: by hand."""

import datetime as dt

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.attributable import severity_of, split_events
from pipeline.callbacks.design import adjusters_of, filled_gaps


def test_what_is_recorded_stays_and_gaps_become_shares():
    """The second pattern always goes with the first: where it is not recorded it is likely with it, else unlikely."""
    one = np.tile([1.0, 0.0], 50)
    two = one.copy()
    two[:10] = np.nan
    filled = filled_gaps(np.column_stack([one, two]))
    assert filled[:, 0].tolist() == one.tolist()
    assert filled[10:, 1].tolist() == one[10:].tolist()
    assert (filled[:10:2, 1] > 0.9).all()
    assert (filled[1:10:2, 1] < 0.1).all()


def test_a_gap_with_nothing_to_go_by_takes_the_usual_share():
    """A pattern alone, present in 3 of 10 recorded: 0.3."""
    alone = np.array([1.0] * 3 + [0.0] * 7 + [np.nan] * 2)[:, None]
    assert filled_gaps(alone)[10:, 0] == pytest.approx([0.3, 0.3])


def test_crews_walls_and_missing_cards_are_columns():
    """An opening whose crew is not recorded belongs to no crew's column."""
    population = pl.DataFrame(
        {
            "crew": ["Heron", "Otter", None],
            "wall_type": ["stone", "brick", "brick"],
            "checked_on": [dt.date(2024, 1, 1), None, None],
        }
    )
    found = adjusters_of(population)
    assert found.names == ("crew Heron", "crew Otter", "wall brick", "wall stone", "no check card")
    assert found.features.tolist() == [[1, 0, 0, 1, 0], [0, 1, 1, 0, 1], [0, 0, 1, 0, 1]]
    assert found.penalty == pytest.approx(np.full(5, 4.0))


def test_callbacks_that_go_with_one_pattern():
    """Exposed events x (1 - 1/ratio), Miettinen 1974 (from memory): 10 expected with it, ratio 2: 5."""
    present = np.array([[1.0], [1.0], [0.0]])
    assert split_events(present, np.log([2.0]), np.array([6.0, 4.0, 7.0])) == pytest.approx([5.0])


def test_callbacks_that_go_with_two_patterns_at_once_are_split_by_their_log_ratios():
    """Ratios 2 and 4 together 8: of 8 expected 7 would be away; log 2 : log 4 = 1 : 2."""
    found = split_events(np.array([[1.0, 1.0]]), np.log([2.0, 4.0]), np.array([8.0]))
    assert found == pytest.approx([7 / 3, 14 / 3])


def test_mean_cost_and_its_doubt():
    """100, 200 and 300 USD: mean 200, sd 100, so the mean's log is known to 0.5 / sqrt(3)."""
    found = severity_of(np.array([100.0, 200.0, 300.0]))
    assert (found.mean, found.log_error) == pytest.approx((200.0, 0.5 / np.sqrt(3)))
    assert np.isnan(severity_of(np.array([])).mean)


def test_a_callback_not_costed_yet_has_cost_nothing_so_far():
    """5 of 20 costed at 400 USD each: 100 a callback, so 8.6 that go with a finding take no more than was spent."""
    assert severity_of(np.array([400.0] * 5 + [np.nan] * 15)).mean == pytest.approx(100.0)
