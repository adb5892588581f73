"""The built-in patterns and the firm's own: limits put in, the outer fifth where there is none."""

import numpy as np
import pytest

from pipeline.callbacks.catalogue import CATALOGUE, own_pattern, ready_patterns
from pipeline.callbacks.conditions import parse
from pipeline.errors import InputError
from schemas.vocab import CAUSES

TORQUE = {"anchor_torque_max_lbft": np.arange(1.0, 101.0), "anchor_torque_min_lbft": np.ones(100)}


def ready(name, limits, facts, rows, own=()):
    return next(one for one in ready_patterns(limits, facts, rows, own=own) if one.pattern.name == name)


def test_every_built_in_pattern_has_a_readable_condition_and_plausible_causes():
    for pattern in CATALOGUE:
        parse(pattern.when.replace("{limit}", "1"))
        assert set(pattern.causes) <= set(CAUSES)
        assert pattern.text
    names = [pattern.name for pattern in CATALOGUE]
    assert len(set(names)) == len(names)


def test_the_firms_limit_decides_what_is_over_torque():
    """Readings 1 to 100 lbft, limit 90: ten are beyond it, 90 itself is not."""
    found = ready("over_torque", {"anchor_torque_max_lbft": (None, 90.0)}, TORQUE, 100)
    assert found.present(TORQUE, 100).sum() == 10
    assert "90 lbft" in found.text


def test_without_a_limit_the_top_fifth_of_the_firms_own_readings_and_it_says_so():
    """Readings 1 to 100: the top fifth are 81 to 100."""
    found = ready("over_torque", {}, TORQUE, 100)
    assert found.present(TORQUE, 100).sum() == 20
    assert "top fifth of our own readings: the highest 20 %, 81 lbft or more; no limit is set" in found.text


def test_readings_in_coarse_steps_are_cut_where_the_share_is_nearest_to_a_fifth():
    """Torque in steps of 5 lbft: 40 of 100 at 25, 37 at 20, 23 below. 40 % is nearer to a fifth than 77 %, and the
    highest reading is never nobody. With 26 more at 30: 26 of 126 are 21 %, nearer than the 52 % from 25 up."""
    coarse = np.repeat([15.0, 20.0, 25.0], [23, 37, 40])
    facts = {"anchor_torque_max_lbft": coarse}
    found = ready("over_torque", {}, facts, 100)
    assert (found.present(facts, 100) == (coarse == 25)).all()
    assert "the highest 40 %, 25 lbft or more" in found.text
    facts = {"anchor_torque_max_lbft": np.append(coarse, np.full(26, 30.0))}
    found = ready("over_torque", {}, facts, 126)
    assert found.present(facts, 126).sum() == 26
    assert "the highest 21 %, 30 lbft or more" in found.text


def test_too_few_anchors_are_the_lowest_fifth_for_the_size_of_the_frame():
    """Frames of 100 in round: 4 anchors at 10 of 50, 6 at 40: the lowest 20 %."""
    facts = {
        "anchor_count": np.repeat([4.0, 6.0], [10, 40]),
        "rough_width_in": np.full(50, 40.0),
        "rough_height_in": np.full(50, 60.0),
    }
    found = ready("too_few_anchors", {}, facts, 50)
    assert found.present(facts, 50).tolist() == [1.0] * 10 + [0.0] * 40
    assert "the lowest 20 %" in found.text


def test_torque_is_uneven_from_a_third_of_the_limit():
    """Limit 90: a spread above 30 lbft; least torque 1, so readings 32 to 100."""
    found = ready("torque_uneven", {"anchor_torque_max_lbft": (None, 90.0)}, TORQUE, 100)
    assert found.present(TORQUE, 100).sum() == 69


@pytest.mark.parametrize("readings", [[10.0, 20.0, 50.0], [25.0] * 40])
def test_too_few_readings_or_all_alike_leave_the_outer_fifth_not_recorded(readings):
    """Nobody knows yet who is in it: not recorded, never absent."""
    facts = {"anchor_torque_max_lbft": np.array(readings)}
    found = ready("over_torque", {}, facts, len(readings))
    assert np.isnan(found.present(facts, len(readings))).all()
    assert f"{len(readings)} so far, at least 20 are needed" in found.text


def test_the_firms_limit_replaces_the_usual_one():
    """A wall of 45 °F is not cold by the usual 40 °F, but is by the firm's own 50 °F."""
    facts = {"substrate_temp_f": np.array([45.0, 55.0, np.nan])}
    assert ready("set_cold", {}, facts, 3).present(facts, 3)[0] == 0
    own = ready("set_cold", {"substrate_temp_f": (50.0, None)}, facts, 3).present(facts, 3)
    assert own[:2].tolist() == [1, 0]
    assert np.isnan(own[2])


def test_an_own_pattern_of_a_built_in_name_replaces_it():
    mine = own_pattern("set_cold", "the wall was below freezing", ["leak"], "substrate_temp_f < 32")
    facts = {"substrate_temp_f": np.array([35.0])}
    assert ready("set_cold", {}, facts, 1, own=[mine]).present(facts, 1).tolist() == [0]
    assert len(ready_patterns({}, facts, 1, own=[mine])) == len(CATALOGUE)


@pytest.mark.parametrize(
    ("causes", "when", "named"),
    [
        (["leak"], "torque > 3", "pattern 'mine'.*no column 'torque'"),
        (["rust"], "substrate_wet", "pattern 'mine'.*rust"),
        ([], "substrate_wet", "pattern 'mine'.*none"),
    ],
)
def test_an_own_pattern_that_cannot_be_used_is_named(causes, when, named):
    with pytest.raises(InputError, match=named):
        own_pattern("mine", "text", causes, when)
