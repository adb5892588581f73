"""Chances for a quote by hand, without heavy packages."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pipeline.callbacks.bands import BANDS
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
