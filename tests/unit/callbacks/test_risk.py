"""Chances for a quote by hand, without heavy packages; and how chances are measured against outcomes."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pipeline.callbacks.bands import BANDS
from pipeline.callbacks.calibration import compared
from pipeline.callbacks.risk import predict_risk

ROOT = Path(__file__).parents[3]
MODEL = {
    "openings": 500,
    "patterns": [{"name": "deep_dig", "when": "depth_below_grade_in > 60", "share": 0.25}],
    "causes": {
        "leak": {
            "baseline": [0.05] * BANDS,
            "crew": {"Heron": np.log(2.0)},
            "average_crew": 0.0,
            "wall": {"stone": np.log(1.5)},
            "average_wall": 0.0,
            "patterns": [np.log(3.0)],
            "events": 40,
            "base_rate": False,
        }
    },
}
OPENINGS = {
    "wall_type": np.array(["stone", "brick", "stone"], object),
    "depth_below_grade_in": np.array([72.0, 48.0, np.nan]),
}


def test_chances_over_the_warranty_by_hand():
    """0.05 a year for 2 years: stone and deep 0.1 x 1.5 x 3; brick 0.1; stone, depth unknown 0.1 x 1.5 x 3^0.25."""
    found = predict_risk(MODEL, OPENINGS, months=24)["leak"]
    assert found == pytest.approx(1 - np.exp([-0.45, -0.1, -0.15 * 3**0.25]), rel=1e-9)


def test_a_known_crew_and_months_of_its_own_for_each_opening():
    """Heron's openings call back twice as often; 12 months halve the time."""
    found = predict_risk(MODEL, OPENINGS, "Heron", np.array([24.0, 12.0, 0.0]))["leak"]
    assert found == pytest.approx([1 - np.exp(-0.9), 1 - np.exp(-0.1), 0.0], rel=1e-9)


def test_a_quote_needs_no_frames_and_no_scipy():
    """Importing and predicting loads neither polars nor scipy nor duckdb."""
    code = (
        "import sys, numpy as np; from pipeline.callbacks.risk import predict_risk; "
        "term = {'name': 'a', 'when': 'depth_below_grade_in > 60', 'share': 0.1}; "
        "model = {'patterns': [term], 'causes': {}, 'openings': 1}; "
        "predict_risk(model, {'wall_type': np.array(['brick'], object)}); "
        "print([name for name in ('polars', 'scipy', 'duckdb', 'pandera') if name in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_all_watched_to_the_horizon_it_is_plain_counting():
    """Four openings, chances 0.1 0.2 0.3 0.4, the last two called back: 2 / 1.0; every pair in order: C = 1."""
    days, came = np.array([800.0, 800.0, 100.0, 300.0]), np.array([False, False, True, True])
    found = compared(np.array([0.1, 0.2, 0.3, 0.4]), days, came, 730.0)
    assert (found.openings, found.events) == (4, 2)
    assert found.observed_over_expected == pytest.approx(2.0)
    assert found.c_index == pytest.approx(1.0)


def test_ties_count_half_in_the_order():
    """One called back at 0.2; others at 0.2 and 0.1: (0.5 + 1) / 2."""
    days, came = np.array([100.0, 800.0, 800.0]), np.array([True, False, False])
    assert compared(np.array([0.2, 0.2, 0.1]), days, came, 730.0).c_index == pytest.approx(0.75)


def test_an_opening_lost_from_sight_is_made_up_for_by_those_still_watched():
    """One called back on day 5 weighs 1; one of the four left is lost on day 10, so the three after it weigh 4/3.

    Observed 1, expected 0.2 x (1 + 3 x 4/3) = 1.
    """
    days, came = np.array([5.0, 10.0, 800.0, 800.0, 800.0]), np.array([True, False, False, False, False])
    assert compared(np.full(5, 0.2), days, came, 730.0).observed_over_expected == pytest.approx(1.0)


def test_the_slope_is_one_where_chances_are_right():
    """20,000 invented openings whose callbacks fall by the given chances."""
    rng = np.random.default_rng(4)
    chance = 1 - np.exp(-0.1 * np.exp(rng.normal(0, 0.7, 20_000)))
    came = rng.random(20_000) < chance
    found = compared(chance, np.where(came, 100.0, 800.0), came, 730.0)
    assert found.slope == pytest.approx(1.0, abs=0.1)
    assert found.observed_over_expected == pytest.approx(1.0, abs=0.05)
