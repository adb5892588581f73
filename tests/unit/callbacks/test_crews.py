"""Crews: counts, expectations and levels on firms small enough to check."""

import datetime as dt

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.crews import chance_of_as_many, crew_lines, first_visit, levels_of
from tests.unit.callbacks.build_history import history


def openings(crews, walls=None):
    count = len(crews)
    return pl.DataFrame(
        {
            "opening_id": [f"O{i}" for i in range(count)],
            "crew": crews,
            "wall_type": walls or ["brick"] * count,
            "soil": [None] * count,
            "drain": ["sump"] * count,
            "weather_station": ["S"] * count,
            "depth_below_grade_in": [48.0] * count,
            "completed_on": [dt.date(1970, 1, 1)] * count,
        },
        schema_overrides={"soil": pl.String},
    )


def test_only_the_first_visit_of_an_opening_and_complaint_counts():
    seen = history([(0, 730), (0, 730)], [(0, 50, "leak", 1), (0, 20, "leak", 1), (0, 30, "fit", 1)], as_of=800.0)
    days, came = first_visit(seen, 0)
    assert came.tolist() == [True, False]
    assert days.tolist() == [20.5, 730.5]


def test_with_one_crew_the_expectation_is_what_happened():
    """Nobody to compare with: 12 seen, 12 expected, ratio 1."""
    seen = history([(0, 730)] * 100, [(i * 8, 40 + i, "leak", 1) for i in range(12)], as_of=800.0)
    (line,) = crew_lines(openings(["North"] * 100), seen)
    assert (line.callbacks, line.level) == (12, None)
    assert line.expected == pytest.approx(12, rel=0.01)


def test_a_crew_on_hard_walls_is_not_blamed_for_them():
    """Stone calls four times as often under both crews; South sets mostly stone. Neither is outside its limits."""
    walls = ["stone" if i % 4 else "brick" for i in range(400)] + [
        "stone" if i % 4 == 0 else "brick" for i in range(400)
    ]
    crews = ["South"] * 400 + ["North"] * 400
    rng = np.random.default_rng(1)
    visits = [
        (i, int(rng.integers(1, 700)), "leak", 1)
        for i in range(800)
        if rng.random() < (0.2 if walls[i] == "stone" else 0.05)
    ]
    lines = {
        line.crew: line for line in crew_lines(openings(crews, walls), history([(0, 730)] * 800, visits, as_of=800.0))
    }
    raw = lines["South"].callbacks / lines["North"].callbacks
    assert raw > 1.5
    assert [line.level for line in lines.values()] == [None, None]
    assert lines["South"].expected > 1.4 * lines["North"].expected


def test_a_crew_with_three_times_the_calls_is_named_and_the_others_are_not():
    """The expectation is that of an ordinary crew, so the busy crew does not lift its own bar to where it stands."""
    visits = [(i, 30 + i % 600, "leak", 1) for i in range(0, 200, 4)] + [
        (i, 30 + i % 600, "leak", 1) for i in range(200, 800, 12)
    ]
    lines = crew_lines(
        openings(["A"] * 200 + ["B"] * 200 + ["C"] * 200 + ["D"] * 200), history([(0, 730)] * 800, visits, as_of=800.0)
    )
    assert [line.level for line in lines] == ["act", None, None, None]
    assert lines[0].outside_limits
    assert lines[0].low < lines[0].shrunk_ratio < lines[0].high
    assert 1 < lines[0].shrunk_ratio < lines[0].ratio


def test_a_small_crew_with_luck_does_not_make_a_suspect_of_the_large_one():
    """A: 60 callbacks at 900 openings, B and C none at 50 each, 4 or fewer to be expected: A is the ordinary crew."""
    visits = [(i, 30 + i % 600, "leak", 1) for i in range(0, 900, 15)]
    lines = crew_lines(openings(["A"] * 900 + ["B"] * 50 + ["C"] * 50), history([(0, 730)] * 1000, visits, as_of=800.0))
    assert (lines[0].callbacks, lines[0].level) == (60, None)
    assert 50 <= lines[0].expected <= 60
    assert sum(line.expected for line in lines) == pytest.approx(60, rel=0.1)


def test_a_small_crew_with_many_calls_is_named_beside_a_large_one():
    """A: 1 in 5 of 200 called, B: 1 in 16 of 800; nobody else to compare with."""
    visits = [(i, 30 + i % 600, "leak", 1) for i in [*range(0, 200, 5), *range(200, 1000, 16)]]
    lines = crew_lines(openings(["A"] * 200 + ["B"] * 800), history([(0, 730)] * 1000, visits, as_of=800.0))
    assert [line.level for line in lines] == ["act", None]


def test_the_chance_of_any_crew_counts_those_that_can_be_judged():
    """Two crews of 200 and one of 5: for each of the two it is 1 - (1 - p)^2; for the third nothing is said."""
    visits = [(i, 30 + i, "leak", 1) for i in range(0, 400, 10)]
    lines = crew_lines(openings(["A"] * 200 + ["B"] * 200 + ["C"] * 5), history([(0, 730)] * 405, visits, as_of=800.0))
    for line in lines[:2]:
        assert line.chance_any == pytest.approx(1 - (1 - line.chance_alone) ** 2)
    assert lines[2].chance_any is None


def test_no_crew_is_named_where_fewer_than_five_callbacks_are_expected():
    """20 seen where 4.9 are expected is far outside the limits, and still no level is given."""
    assert levels_of(np.array([20.0, 20.0]), np.array([4.9, 5.0])) == [None, "act"]


def test_chance_of_as_many_is_the_exact_poisson_tail():
    """P(X ≥ 3 | 1) = 1 − e⁻¹(1 + 1 + 1/2) = 0.0803; as many as none is certain."""
    assert chance_of_as_many(np.array([3.0, 0.0]), np.array([1.0, 1.0])) == pytest.approx([0.080301, 1.0], abs=1e-6)


def test_the_order_is_that_of_the_names():
    lines = crew_lines(openings(["Zebra", "Ant"] * 20), history([(0, 730)] * 40, [(0, 5, "fit", 1)], as_of=800.0))
    assert [line.crew for line in lines] == ["Ant", "Zebra"]
