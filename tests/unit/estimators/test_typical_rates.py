"""Rates a person can say, from a phase model written down by hand."""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from pipeline.estimators.design import RATE, Column
from pipeline.estimators.phase_model import PhaseModel
from pipeline.estimators.typical_rates import hour_rates


def wall_cutting(variance: float) -> Any:
    """4 h at the usual 4 sq ft of cut, stone twice that; brick met once, so without a rate of its own."""
    columns = (
        Column(RATE, "", "", "one", 0.0),
        Column("wall", "wall_type", "stone", "one", 0.4),
        Column("wall", "wall_type", "brick", "one", 0.4),
    )
    phase = PhaseModel(
        phase="wall_cutting",
        columns=columns,
        effects=np.array([math.log(4), math.log(2), 0.0]),
        V=np.diag([variance, 0.0, 0.0]),
        rows_with=np.array([20, 5, 1]),
        typical_quantity=4.0,
        setup_share=0.0,
        smearing=1.0,
        noise_sd=0.1,
        rows=20,
        change=None,
    )
    return SimpleNamespace(phases={"wall_cutting": phase})


def test_a_rate_is_hours_per_unit_at_the_usual_size() -> None:
    """4 h × 2 / 4 sq ft = 2 h per sq ft on stone; brick with one opening is not shown."""
    rows = hour_rates(wall_cutting(0.0))
    assert [(row["group"], row["unit"], row["openings"]) for row in rows] == [("stone", "h per sq ft of cut", 5)]
    assert [rows[0][name] for name in ("low", "rate", "high")] == pytest.approx([2.0, 2.0, 2.0])


def test_its_range_is_the_normal_one_on_the_log_scale() -> None:
    """Standard error 0.1: 2 / e^0.196 = 1.644 and 2 × e^0.196 = 2.433."""
    (row,) = hour_rates(wall_cutting(0.01))
    assert [row["low"], row["high"]] == pytest.approx([1.644, 2.433], abs=0.0005)
