"""What is left of the warranty, what it may cost, and the reasons given."""

import datetime as dt

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.bands import BANDS
from pipeline.callbacks.catalogue import ready_patterns
from pipeline.callbacks.forecast import CauseForecast, any_of, forecast_models, probabilities
from pipeline.callbacks.hazard import Clock
from pipeline.callbacks.patterns import Finding
from pipeline.callbacks.revisit import OpeningsAhead, broken_limits, parts_of_the_reserve


def test_the_parts_of_the_openings_add_up_to_the_reserve():
    """Leak 6 visits, $300 over 1 and 2 expected calls: 2 and 4, $100 and $200; fit 1 visit, $50, at the first only."""
    chances = {"leak": 1 - np.exp(-np.array([1.0, 2.0])), "fit": np.array([0.3, 0.0])}
    calls, costs = parts_of_the_reserve({"leak": (6.0, 300.0), "fit": (1.0, 50.0)}, chances)
    assert calls == pytest.approx([3.0, 4.0])
    assert costs == pytest.approx([150.0, 200.0])


def test_chance_between_two_ages_of_a_constant_rate():
    """0.1 a year over the 365.25 days from day 100: 1 - exp(-0.1); twice as often with the pattern: 1 - exp(-0.2)."""
    model = CauseForecast(np.array([np.log(2.0)]), np.full(BANDS, 0.1), 50, None)
    features, start = np.array([[0.0], [1.0]]), np.array([100.0, 100.0])
    found = probabilities({"leak": model}, features, start, start + 365.25)["leak"]
    assert found == pytest.approx([1 - np.exp(-0.1), 1 - np.exp(-0.2)])


def test_chance_of_any_of_two_complaints():
    """1 - 0.9 x 0.8."""
    assert any_of({"leak": np.array([0.1]), "fit": np.array([0.2])}) == pytest.approx([0.28])


def test_below_fifteen_events_everyone_gets_the_base_rate():
    """14 events all on openings with the pattern: no effect is fitted, and the rates hold the events."""
    years = np.zeros((200, BANDS))
    years[:, 0] = 0.5
    event = np.arange(200) < 14
    time = Clock(years, event, np.array([14.0, 0, 0, 0, 0, 0]))
    model = forecast_models((np.arange(200) < 100).astype(float)[:, None], np.array([4.0]), {"leak": time})["leak"]
    assert model.effects.tolist() == [0.0]
    assert model.covariance is None
    assert model.baseline[0] * years.sum() == pytest.approx(14, rel=0.02)


def test_no_callback_seen_yet_is_not_never():
    """100 opening-years without one: half an event in 133."""
    years = np.zeros((200, BANDS))
    years[:, 0] = 0.5
    time = Clock(years, np.zeros(200, bool), np.zeros(BANDS))
    model = forecast_models(np.zeros((200, 1)), np.array([4.0]), {"leak": time})["leak"]
    assert 0 < model.baseline[0] < 0.02


def test_readings_beyond_the_firms_limits_are_named_on_their_side():
    opening = {"plumb_error_in": 0.25, "anchor_count": 6, "gasket_gap_in": None, "completed_on": dt.date(2024, 1, 1)}
    limits = {"plumb_error_in": (None, 0.125), "anchor_count": (8.0, None), "gasket_gap_in": (None, 0.0)}
    assert broken_limits(opening, limits) == [
        "outside our own limit: plumb error 0.25 in, at most 0.125 in",
        "outside our own limit: number of anchors 6, at least 8",
    ]


NAMES = ("set_wet", "squeeze_out_short", "high_spots_left", "grout_missing", "head_open")


def finding(pattern, cause, *, flagged=False, stands_in_for=None):
    """Of 100 openings with it and 100 without; 2.4 times as often (1.3 to 4.4)."""
    level = "strong" if flagged else "too_early"
    counts = (100, 100, 20, 8, 0.9)
    return Finding(pattern, cause, f"text of {pattern}", level, *counts, 2.4, 1.3, 4.4, 0.001, 0.004, flagged,
                   True, 2.9, stands_in_for)  # fmt: skip


def test_only_a_flagged_pattern_is_a_reason_with_a_ratio_and_its_range_and_at_most_two_others_are_named():
    """All five are recorded here. The first is flagged; the next three lift leaks 2, 3 and 1.5 times and
    were not shown to matter: the two largest are named without a figure; the last stands in for the first."""
    patterns = [one for one in ready_patterns({}, {}, 0) if one.pattern.name in NAMES]
    lifts = dict(zip(NAMES, (1.2, 2.0, 3.0, 1.5, 4.0), strict=True))
    effects = np.log([lifts[one.pattern.name] for one in patterns])
    model = CauseForecast(effects, np.full(BANDS, 0.1), 50, np.eye(5))
    day = dt.date(2024, 1, 1)
    one_opening = pl.DataFrame(
        {"opening_id": ["O1"], "job_id": ["J1"], "crew": ["North"], "completed_on": [day], "warranty_days": [730.5]}
    )
    chances, models = {"leak": np.array([0.1])}, {"leak": model, "fit": model}
    ahead = OpeningsAhead(one_opening, patterns, np.ones((1, 5)), chances, models, None, None)
    found = [finding(name, "leak") for name in NAMES[1:4]]
    found += [finding("set_wet", "leak", flagged=True), finding("head_open", "fit", stands_in_for="set_wet")]
    (row,) = ahead.rows({}, 20, found)
    assert row["reasons"] == [
        "text of set_wet: leak about 2.4 times as often (range 1.3–4.4)",
        "also recorded here, not shown to matter: text of high_spots_left, text of squeeze_out_short",
    ]
