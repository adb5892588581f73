"""Roll-forward lines and the exposure triangle on cases worked by hand."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from pipeline.callbacks.chain_ladder import chain_ladder
from pipeline.callbacks.reserve import fitted_model
from pipeline.callbacks.roll_forward import cost_to_come, month_ends, month_name, roll_forward, spent_between
from pipeline.callbacks.triangle import (
    PERIOD_DAYS,
    beyond_the_oldest,
    by_exposure,
    cost_triangle,
    square,
    too_young,
)
from pipeline.runs.reserve import reserve_of
from tests.unit.callbacks.build_history import history, known_on, stages


def busy():
    """400 openings, one a day, and a visit at every eighth after 60 days."""
    return history(
        [(i * 1.0, 730) for i in range(400)], [(i, i + 60.0, "leak", 200) for i in range(0, 400, 8)], as_of=400.0
    )


def test_month_ends_are_the_twelve_before_this_month_is_over():
    """As of 15 March 1971: from 31 March 1970 (day 89) to 28 February 1971."""
    ends = month_ends(dt.date(1971, 3, 15))
    assert ends[0] == 89.0
    assert [month_name(end) for end in ends] == [
        "1970-04", "1970-05", "1970-06", "1970-07", "1970-08", "1970-09",
        "1970-10", "1970-11", "1970-12", "1971-01", "1971-02", "1971-03",
    ]  # fmt: skip


def test_every_line_foots_and_hands_on_its_closing():
    now = busy()
    lines = roll_forward(stages(now))
    for line in lines:
        assert line.opening + line.accrued - line.spent + line.change_in_estimate == pytest.approx(line.closing)
    assert [line.closing for line in lines[:-1]] == [line.opening for line in lines[1:]]


def test_the_last_closing_is_the_cost_to_come():
    now = busy()
    assert roll_forward(stages(now))[-1].closing == cost_to_come(now, fitted_model(now))


def test_spent_is_the_cost_of_the_visits_reported_between():
    """Visits on days 60, 76, 84 and 95: after day 70 and by day 90 those of 76 and 84, 200 each."""
    visits = [(0, 60, "leak", 200), (8, 76, "leak", 200), (16, 84, "leak", 200), (20, 95, "leak", 200)]
    now = history([(i * 1.0, 730) for i in range(400)], visits, as_of=100.0)
    assert spent_between(now, fitted_model(now), 70.0, 90.0) == (400.0, 0.0)


def test_a_cost_that_comes_in_months_later_is_spent_of_the_month_of_its_report():
    """A visit of day 204 (July 1970) is costed on day 390: 900 USD; seen in February 1971 July's spent holds them.

    Opening and closing of July stay what they were at its ends.
    """
    early = busy()
    late = replace(
        early,
        gross_cost=np.where(early.reported == 204.0, 900.0, early.gross_cost),
        costed_on=np.where(early.reported == 204.0, 390.0, early.costed_on),
    )
    july = next(line for line in roll_forward(stages(late)) if line.month == "1970-07")
    reported = (late.reported > 180) & (late.reported <= 211)
    assert (july.spent, july.spent_not_costed) == (200.0 * (reported.sum() - 1) + 900.0, 0.0)
    end = known_on(late, 211.0)
    assert july.closing == cost_to_come(end, fitted_model(end))


def test_a_young_firm_has_fewer_lines():
    """The first three costed visits come on days 60 to 76, so no month before March 1970 can be estimated."""
    now = busy()
    assert roll_forward(stages(now))[0].month > "1970-03"


def test_triangle_cells_hold_the_cost_of_their_half_year():
    """Completed 1.5 half-years ago: cohort 0; a visit 10 days later lies in its first half-year."""
    done = 1000.0 - 1.5 * PERIOD_DAYS
    found = cost_triangle(history([(done, 730), (990, 730)], [(0, done + 10, "leak", 70), (0, 995, "fit", 30)]))
    assert found.cost[0][:2].tolist() == [70.0, 30.0]
    assert np.isnan(found.cost[1][1])
    assert found.visits == 2


def test_triangle_years_add_up_to_the_warranties():
    """Watched and still to come, the opening-years of both openings are 2 × 730 / 365.25."""
    found = cost_triangle(history([(300, 730), (900, 730)]))
    assert np.nansum(found.years) + found.years_ahead.sum() == pytest.approx(2 * 730 / 365.25)


def test_exposure_method_with_a_steady_cost():
    """50 USD in each half-year of a one-year warranty, so 100 a year; half a year is to come: 50."""
    openings = [(i * PERIOD_DAYS + 1.0, 2 * PERIOD_DAYS) for i in range(6)]
    as_of = 6 * PERIOD_DAYS
    visits = [(i, i * PERIOD_DAYS + 1.0 + half * PERIOD_DAYS + 60, "leak", 50) for i in range(6) for half in range(2)]
    seen = [visit for visit in visits if visit[1] <= as_of]
    found = cost_triangle(history(openings, seen, as_of=as_of))
    assert found.years_ahead.sum() == pytest.approx(0.5, abs=0.01)
    assert by_exposure(found) == pytest.approx(50, abs=1)


def test_the_square_has_as_many_half_years_as_cohorts_and_no_cost_after_the_warranty():
    """Seven half-years back from day 1100 is day -178: the visit of day 100 lies in the cohort's second half-year."""
    found = square(cost_triangle(history([(0, 365), (1000, 365)], [(0, 100, "leak", 40)], as_of=1100.0)))
    assert found.shape == (7, 7)
    assert found[0].tolist() == [0.0, *[40.0] * 6]
    assert np.isnan(found[-1][1])


def test_a_book_younger_than_its_warranties_has_no_ladder():
    """Nine months old, two years of warranty: most of the cost lies at ages not seen; a book of four years saw all."""
    young, old = (
        history([(i * 9.0, 730) for i in range(n)], [(i, i * 9.0 + 5, "leak", 100) for i in range(n)], as_of=as_of)
        for n, as_of in ((30, 275.0), (160, 1460.0))
    )
    assert too_young(cost_triangle(young))
    assert not too_young(cost_triangle(old))
    told = {check["method"]: check for check in reserve_of(young, dt.date(1970, 10, 3))["cross_checks"]}
    ladder = told["chain ladder on cost by half-year"]
    assert (ladder["expected_cost"], ladder["standard_error"]) == (None, None)
    assert "ages no opening" in ladder["why_not"]
    assert told["cost per opening-year by half-year since completion"]["expected_cost"] > 0


def test_unseen_ages_are_added_by_cost_per_opening_year():
    """Of 41 openings one has a longer warranty: half a year of it lies beyond the oldest cohort's age.

    Cohorts of 4 half-years; 20 USD a year and opening throughout: 0.5 years × 20 = 10.
    """
    openings = [(1.0, 4 * PERIOD_DAYS - 1.0)] * 40 + [(1.0, 5 * PERIOD_DAYS - 1.0)]
    visits = [(i, 1.0 + half * PERIOD_DAYS + 50, "leak", 10) for i in range(41) for half in range(4)]
    found = cost_triangle(history(openings, visits, as_of=4 * PERIOD_DAYS))
    assert beyond_the_oldest(found) == pytest.approx(10, rel=0.02)


def test_fewer_than_four_cohorts_tell_no_error():
    cumulative = np.array([[100.0, 150.0], [120.0, np.nan]])
    assert np.isnan(chain_ladder(cumulative).total_error)
