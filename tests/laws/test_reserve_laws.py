"""True for any firm: the reserve's months add up, the roll-forward foots, shares add to one, luck grows with counts."""

import datetime as dt
from itertools import pairwise

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.callbacks.case_file import Lead, likely_causes
from pipeline.callbacks.chain_ladder import FEWEST_COHORTS, chain_ladder
from pipeline.callbacks.crews import chance_of_as_many, first_visit, poisson_limit
from pipeline.callbacks.cusum import cusum_high
from pipeline.callbacks.exposure import at_risk, first_event
from pipeline.callbacks.history import COMPLAINTS, history_of
from pipeline.callbacks.mcf import mean_cumulative
from pipeline.callbacks.reserve import fitted_model, remaining
from pipeline.callbacks.reserve_range import doubt_of, simulated_costs
from pipeline.callbacks.roll_forward import cost_to_come, roll_forward
from pipeline.callbacks.shrinkage import fitted_pull, shrunk_limits, shrunk_ratio
from pipeline.callbacks.triangle import cost_triangle, square
from tests.unit.callbacks.build_history import history, stages

FEW = settings(max_examples=25, deadline=None)
AS_OF = 1500.0
CENTS = st.integers(0, 500_000).map(lambda cents: cents / 100)
COSTS = st.one_of(st.none(), CENTS)
VISITS = st.lists(
    st.tuples(st.integers(0, 39), st.integers(0, 700), st.sampled_from(COMPLAINTS), COSTS), min_size=0, max_size=40
)
CLOCKS = st.lists(st.tuples(st.integers(0, 1400), st.sampled_from([365.25, 730.5, 1826.25])), min_size=40, max_size=40)


def firm(clocks, visits):
    """A firm of 40 openings; each visit so many days after its opening was finished, none after the as-of day."""
    dated = [(i, clocks[i][0] + age, complaint, cost) for i, age, complaint, cost in visits]
    return history(clocks, [visit for visit in dated if visit[1] <= AS_OF], as_of=AS_OF)


@FEW
@given(CLOCKS, VISITS)
def test_months_and_complaints_add_up_and_nothing_is_negative(clocks, visits):
    now = firm(clocks, visits)
    model = fitted_model(now)
    if model is None:
        assert (now.gross_cost[now.costed] > 0).sum() < 3
        return
    ahead = remaining(now, model)
    assert ahead.cost.sum() == pytest.approx(cost_to_come(now, model))
    assert (ahead.visits >= 0).all()
    assert np.isfinite(ahead.cost).all()


@FEW
@given(CLOCKS, VISITS)
def test_the_range_is_finite_ordered_and_not_negative(clocks, visits):
    now = firm(clocks, visits)
    model = fitted_model(now)
    if model is None:
        return
    draws = simulated_costs(remaining(now, model), model, doubt_of(now, model))
    edges = np.quantile(draws, (0.025, 0.1, 0.9, 0.975))
    assert np.isfinite(draws).all()
    assert (draws >= 0).all()
    assert (np.diff(edges) >= 0).all()


@FEW
@given(CLOCKS, VISITS)
def test_the_roll_forward_foots_and_ends_at_the_reserve(clocks, visits):
    now = firm(clocks, visits)
    model = fitted_model(now)
    if model is None:
        return
    lines = roll_forward(stages(now))
    for line in lines:
        left = line.opening + line.accrued - line.spent + line.change_in_estimate
        assert left == pytest.approx(line.closing, abs=1e-6)
    for before, after in pairwise(lines):
        assert before.closing == after.opening
    if lines:
        assert lines[-1].closing == pytest.approx(cost_to_come(now, model))


@FEW
@given(
    st.lists(st.tuples(st.integers(0, 900), st.sampled_from([6, 12, 24])), min_size=6, max_size=6),
    st.lists(st.tuples(st.integers(0, 5), st.integers(0, 1000), st.sampled_from(COMPLAINTS)), max_size=30),
)
def test_patterns_and_crews_count_the_same_first_events(clocks, calls):
    """Whatever was reported when, also before completion: the first visits of both clocks are of the same days."""
    as_of, day_0 = dt.date(2023, 1, 1), dt.date(2020, 4, 7)
    openings = pl.DataFrame(
        {
            "opening_id": [f"O{i}" for i in range(6)],
            "job_id": [f"J{i}" for i in range(6)],
            "crew": ["A", "B"] * 3,
            "completed_on": [day_0 + dt.timedelta(days=done) for done, _ in clocks],
            "months_of_warranty": [float(months) for _, months in clocks],
            "warranty_months": [months for _, months in clocks],
        }
    )
    visits = _counted(calls, day_0).filter(pl.col("reported_on") <= as_of)
    found = history_of(openings, visits, as_of)
    jobs = openings.select("job_id", "crew", "completed_on", "warranty_months")
    population = at_risk(jobs, openings.select("opening_id", "job_id"), visits, as_of).sort("opening_id")
    for place, complaint in enumerate(COMPLAINTS):
        days, came = first_visit(found, place)
        risk_days, risk_came = first_event(population, complaint)
        assert came.tolist() == risk_came.tolist()
        assert days[came] - 0.5 == pytest.approx(np.where(risk_days == 0.5, 0.0, risk_days)[came])


def _counted(calls, day_0):
    """Visits that count, as both clocks read them."""
    reported = [day_0 + dt.timedelta(days=day) for _, day, _ in calls]
    return pl.DataFrame(
        {
            "opening_id": pl.Series([f"O{opening}" for opening, _, _ in calls], dtype=pl.String),
            "complaint": pl.Series([complaint for _, _, complaint in calls], dtype=pl.String),
            "reported_on": pl.Series(reported, dtype=pl.Date),
            "visit_reported_on": pl.Series(reported, dtype=pl.Date),
            "costed_on": pl.Series(reported, dtype=pl.Date),
            "gross_cost": pl.Series([10.0] * len(calls), dtype=pl.Float64),
            "recovered": pl.Series([0.0] * len(calls), dtype=pl.Float64),
            "settled": pl.Series([True] * len(calls), dtype=pl.Boolean),
            "counts": pl.Series([True] * len(calls), dtype=pl.Boolean),
        }
    )


@FEW
@given(CLOCKS, VISITS)
def test_the_triangle_holds_all_costed_visits_of_the_warranty_and_the_ladder_is_finite(clocks, visits):
    now = firm(clocks, visits)
    triangle = cost_triangle(now)
    counted = now.in_warranty & now.costed
    assert np.nansum(triangle.cost) == pytest.approx(now.net_cost[counted].sum())
    ladder = chain_ladder(square(triangle))
    assert np.isfinite(ladder.to_come).all()
    assert np.isfinite(ladder.total_error) or len(triangle.cost) < FEWEST_COHORTS


@FEW
@given(
    st.lists(st.tuples(st.floats(0.1, 900), st.integers(0, 9)), max_size=30),
    st.lists(st.floats(1, 1000), min_size=10, max_size=10),
)
def test_a_mean_cumulative_function_never_falls(events, ends):
    inside = [(age, unit) for age, unit in events if age <= ends[unit]]
    found = mean_cumulative(
        np.array([age for age, _ in inside]), np.array([unit for _, unit in inside], dtype=int), np.array(ends)
    )
    assert (np.diff(found.mean) >= 0).all()
    assert (found.error >= 0).all()


@FEW
@given(st.lists(st.none() | st.floats(-3, 3), max_size=6))
def test_likely_causes_add_to_one_and_none_is_negative(effects):
    leads = [Lead(f"p{i}", "text", effect) for i, effect in enumerate(effects)]
    shares = [row["share"] for row in likely_causes(leads, "leak")]
    assert sum(shares) == pytest.approx(1)
    assert min(shares) >= -1e-12


@FEW
@given(st.lists(st.tuples(st.integers(0, 60), st.floats(0.1, 60)), min_size=1, max_size=8))
def test_shrinking_moves_towards_one_and_keeps_the_order_of_its_limits(crews):
    observed = np.array([float(seen) for seen, _ in crews])
    expected = np.array([due for _, due in crews])
    pull = fitted_pull(observed, expected)
    shrunk = shrunk_ratio(observed, expected, pull, pull)
    low, high = shrunk_limits(observed, expected, pull, 0.95)
    assert (np.abs(shrunk - 1) <= np.abs(observed / expected - 1) + 1e-12).all()
    assert ((low <= shrunk) & (shrunk <= high)).all()


@FEW
@given(st.floats(0.2, 500), st.floats(0.5, 0.999))
def test_an_ordinary_group_passes_its_funnel_limit_no_more_often_than_it_may(expected, probability):
    """Exact: P(count > limit × expected) ≤ 1 − probability + one point of the count, and the limit rises with it."""
    limit = poisson_limit(np.array([expected]), probability)[0] * expected
    beyond = chance_of_as_many(np.array([np.floor(limit) + 2]), np.array([expected]))[0]
    assert beyond <= 1 - probability + 1e-9
    assert poisson_limit(np.array([expected]), probability / 2)[0] * expected <= limit + 1e-9


@FEW
@given(st.lists(st.floats(0, 20), max_size=40), st.floats(0, 10))
def test_a_running_sum_is_never_negative_and_larger_counts_never_lower_it(values, reference):
    low = cusum_high(np.array(values), reference)
    high = cusum_high(np.array(values) + 1, reference)
    assert (low >= 0).all()
    assert (high >= low).all()
