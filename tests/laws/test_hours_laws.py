"""True of any prediction from a fitted book: finite, ordered, adding up, and growing with the work."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.estimators.hours import HoursModel, fit_hours, predict_hours
from pipeline.estimators.job_total import all_jobs, job_total
from tests.laws.test_take_off_laws import OPENING, columns
from tests.recovery.labour_world import World, make_firm


@cache
def book(jobs):
    firm = make_firm(World(jobs=jobs, seed=900 + jobs))
    return fit_hours(firm.jobs, firm.openings, firm.labour)


CREW = st.sampled_from(["crew A", "crew B", "never met", ""])
MONTH = st.integers(0, 12)
IN_JOB = st.sampled_from([1, 2, 3, 4])
BOOK = st.sampled_from([12, 60, 300])


@given(BOOK, OPENING, CREW, MONTH, IN_JOB)
@settings(max_examples=150, deadline=None)
def test_finite_ordered_and_adding_up(jobs, opening, crew, month, in_job):
    said = predict_hours(book(jobs), columns(opening), crew, month, in_job)
    bounds = [getattr(said, name)[0] for name in ("p05", "p10", "p50", "p90", "p95")]
    assert np.isfinite([*bounds, said.mean[0], said.log_sd[0]]).all()
    assert 0 < bounds[0] < bounds[1] < bounds[2] < bounds[3] < bounds[4]
    assert sum(hours[0] for hours in said.phase_mean.values()) == pytest.approx(said.mean[0], rel=1e-9)
    for phase, hours in said.phase_mean.items():
        assert 0 <= said.phase_p10[phase][0] <= hours[0] <= said.phase_p90[phase][0], phase


@given(OPENING, CREW)
@settings(max_examples=60, deadline=None)
def test_an_explanation_multiplies_back_to_its_hours(opening, crew):
    said = predict_hours(book(60), columns(opening), crew, 2, 1)
    for phase, how in said.explained[0].items():
        product = how.rate * (how.quantity + how.setup) * np.prod([factor.factor for factor in how.factors])
        assert product == pytest.approx(how.hours, rel=1e-9), phase
        assert how.hours == pytest.approx(said.phase_mean[phase][0], rel=1e-9)


@given(OPENING, CREW)
@settings(max_examples=60, deadline=None)
def test_a_stored_model_predicts_the_same(opening, crew):
    model = book(60)
    again = HoursModel.from_json(model.to_json())
    first, second = (predict_hours(each, columns(opening), crew, 7, 2, explain=False) for each in (model, again))
    assert first.mean[0] == second.mean[0]
    assert first.p95[0] == second.p95[0]


@given(OPENING, CREW)
@settings(max_examples=60, deadline=None)
def test_a_crew_never_met_widens_the_range_and_moves_nothing_else_far(opening, crew):
    model = book(60)
    known = predict_hours(model, columns(opening), "crew A", 7, 1, explain=False)
    strange = predict_hours(model, columns(opening), "never met", 7, 1, explain=False)
    assert strange.log_sd[0] > known.log_sd[0] * 0.99
    assert "crew" in strange.assumed[0]
    assert "crew" not in known.assumed[0]


@given(st.lists(OPENING, min_size=2, max_size=4), st.integers(1, 12))
@settings(max_examples=60, deadline=None)
def test_a_job_adds_up_and_shares_its_luck(members, month):
    """Mean of the job = sum of its openings; its spread lies between no and full correlation."""
    model = book(60)
    said = predict_hours(model, columns(*members), "crew A", month, len(members), explain=False)
    total = job_total(model, said, range(len(members)))
    sd = said.mean * np.sqrt(np.expm1(said.log_sd**2))
    spread = total.mean * np.sqrt(np.expm1(total.log_sd**2))
    assert total.mean == pytest.approx(said.mean.sum(), rel=1e-9)
    assert np.sqrt(np.sum(sd**2)) * 0.999 <= spread <= sd.sum() * 1.001
    assert total.p05 < total.p10 < total.p50 < total.p90 < total.p95


def test_several_jobs_are_independent():
    model = book(60)
    said = predict_hours(model, columns(*[SAMPLE] * 2), "crew A", 5, 1, explain=False)
    totals = [job_total(model, said, [at]) for at in (0, 1)]
    together = all_jobs(model, totals)
    assert together.mean == pytest.approx(said.mean.sum())
    assert together.log_sd < totals[0].log_sd


SAMPLE = {
    "wall_type": "poured_concrete",
    "wall_thickness_in": 8.0,
    "opening_work": "new_cut",
    "rough_width_in": 48.0,
    "rough_height_in": 48.0,
    "existing_width_in": 0.0,
    "existing_height_in": 0.0,
    "depth_below_grade_in": 60.0,
    "soil": "clay",
    "dig_method": "machine",
    "reinforced": 0.0,
    "well_type": "steel",
    "well_width_in": 60.0,
    "well_projection_in": 36.0,
    "well_depth_in": float("nan"),
    "drain": "gravel_pit",
    "openings_in_job": 1.0,
}
# Ranges inside the training sizes of the book.
GROW = {"rough_width_in": (30, 60), "rough_height_in": (36, 58), "wall_thickness_in": (8, 12)}


@pytest.mark.parametrize("size", GROW)
@pytest.mark.parametrize("wall", ["poured_concrete", "concrete_block", "stone"])
def test_hours_fall_nowhere_as_the_opening_grows(size, wall):
    """Along width, height and thickness inside the range of the book, no step of an inch lowers hours by over 2 %."""
    low, high = (14, 24) if wall == "stone" and size == "wall_thickness_in" else GROW[size]
    base = {**SAMPLE, "wall_type": wall, "wall_thickness_in": 18.0 if wall == "stone" else 8.0}
    rows = [{**base, size: float(value)} for value in np.linspace(low, high, 40)]
    hours = predict_hours(book(300), columns(*rows), "crew A", 6, 1, explain=False).mean
    assert (np.minimum.accumulate(hours[::-1])[::-1] >= np.maximum.accumulate(hours) * 0.98).all()
