"""The reserve's parts on cases worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from pipeline.callbacks.age_shape import AGES, KNOTS, Curve, Shapes, fitted_shapes, shape_of
from pipeline.callbacks.reserve import (
    Model,
    expected_visits,
    fitted_model,
    months_ahead,
    remaining,
    reported_not_costed,
    visit_rate,
)
from pipeline.callbacks.reserve_range import Doubt, _summed, doubt_of, simulated_costs
from pipeline.callbacks.severity import (
    NOTHING_BACK,
    Recovery,
    Severity,
    fitted_severity,
    more_back_than_spent,
    recovery_of,
)
from tests.unit.callbacks.build_history import history

FLAT = Shapes((shape_of(np.zeros(len(AGES.edges) - 1)),) * 5, Curve(np.zeros(KNOTS), np.zeros((KNOTS, KNOTS))))


def plain_model(rate=0.2, mean=100.0):
    """The same yearly rate and cost for every complaint."""
    severity = Severity(np.full(5, mean), np.full(5, mean), 0.5, np.zeros((5, 5)), NOTHING_BACK, 9)
    return Model(FLAT, np.full(5, rate), severity)


def test_a_rate_is_visits_over_years_watched():
    """Two openings watched 730.5 days = 4 years, one leak: 0.25 a year; no other complaint."""
    seen = history([(0, 730.5), (0, 730.5)], [(0, 100, "leak", 50)])
    assert visit_rate(seen, FLAT) == pytest.approx([0.25, 0, 0, 0, 0])


def test_a_visit_after_the_warranty_raises_no_rate():
    seen = history([(0, 365.25)], [(0, 700, "leak", 50)])
    assert visit_rate(seen, FLAT).sum() == 0


def test_cost_to_come_is_years_left_times_rate_times_cost():
    """One opening with 365.25 days left, 0.2 a year for each of 5 complaints, 100 each: 1 visit, 100 USD."""
    found = remaining(history([(1000, 365.25)], as_of=1000.0), plain_model())
    assert found.visits.sum() == pytest.approx(1.0)
    assert found.cost.sum() == pytest.approx(100.0)


def test_months_ahead_are_calendar_months_until_the_last_warranty_ends():
    """As of 20 January 1970 (day 19) with 50 days of warranty begun that day: January, February, March."""
    days, months = months_ahead(history([(19, 50)], as_of=19.0))
    assert months == ("1970-01", "1970-02", "1970-03")
    assert days.tolist() == [19, 31, 59, 90]


def test_nothing_is_to_come_when_every_warranty_has_ended():
    ended = history([(0, 365)], [(0, 10, "leak", 80), (0, 20, "leak", 90), (0, 40, "fit", 50)])
    model = fitted_model(ended)
    found = remaining(ended, model)
    assert found.months == ()
    assert found.cost.sum() == 0
    assert simulated_costs(found, model, doubt_of(ended, model)).tolist() == [0.0] * 4000


def test_visits_between_two_days_are_those_of_the_rate():
    """One opening, 0.2 a year × 5 complaints: in 73.05 days 0.2 visits."""
    asked = expected_visits(history([(0, 800)]), plain_model(), np.array([100.0, 173.05]))
    assert asked.sum() == pytest.approx(0.2)


def test_without_visits_the_age_shape_is_the_falling_line_of_the_prior():
    """Slope -0.3 on log age, the same for every complaint."""
    shapes = fitted_shapes(history([(0, 730)]))
    log_rate = shapes.by_complaint[0].log_rate
    middle = AGES.log_middle
    assert (log_rate[-1] - log_rate[0]) / (middle[-1] - middle[0]) == pytest.approx(-0.3)
    assert all(np.array_equal(shape.log_rate, log_rate) for shape in shapes.by_complaint)


def test_calls_that_all_come_early_make_a_falling_shape():
    early = history([(0, 730)] * 60, [(i, 5 + i % 20, "fit", 50) for i in range(60)], as_of=730.0)
    late = history([(0, 730)] * 60, [(i, 600 + i % 20, "fit", 50) for i in range(60)], as_of=730.0)
    falling, rising = (fitted_shapes(one).by_complaint[1].log_rate for one in (early, late))
    assert falling[0] - falling[60] > 1.0
    assert rising[0] - rising[60] < -0.5


def test_a_warranty_of_a_hundred_years_is_watched_and_expected_to_its_end():
    """At a flat rate of 1 a year: 100 years give 100 visits; one opening watched for 40 years has 40 years at risk."""
    assert FLAT.by_complaint[0].cumulative(np.array([36_525.0]))[0] == pytest.approx(100)
    assert AGES.exposure(np.array([40 * 365.25, 3652.5])).sum() == pytest.approx(50)


def test_a_longer_warranty_has_more_to_come_beyond_25_years_too():
    """The same firm with warranties of 20, 30 and 60 years: each has more to come than the one before."""
    found = []
    for years in (20, 30, 60):
        calls = [(i, i * 10 + 200.0, "leak", 200) for i in range(0, 300, 6)]
        seen = history([(i * 10.0, years * 365.25) for i in range(300)], calls, as_of=3000.0)
        found.append(remaining(seen, fitted_model(seen)).visits.sum())
    assert found[0] < found[1] < found[2]


def test_fewer_than_three_costed_visits_give_no_cost():
    assert (
        fitted_severity(history([(0, 900)], [(0, 10, "leak", 80), (0, 20, "leak", 90), (0, 30, "fit", None)])) is None
    )


def test_equal_costs_give_that_cost_less_the_drift_it_may_have_had():
    """300 visits of exactly 200 USD: the mean is 200 within 2 %."""
    same = history([(0, 3000)] * 300, [(i, i * 3.0, "leak", 200) for i in range(300)])
    assert fitted_severity(same).mean[0] == pytest.approx(200, rel=0.02)


def test_a_complaint_without_costed_visits_takes_the_common_level():
    """Leaks cost 400 on average, nothing else is costed: 'other' lies by the leaks, not at 0."""
    only_leaks = history([(0, 3000)] * 100, [(i, i * 9.0, "leak", 300 if i % 2 else 500) for i in range(100)])
    assert 250 < fitted_severity(only_leaks).mean[4] < 500


def test_reported_visits_without_a_cost_are_carried_at_the_mean():
    waiting = history([(0, 3000)], [(0, 10, "leak", None), (0, 20, "fit", 80)])
    assert reported_not_costed(waiting, plain_model().severity) == (1.0, 100.0)


def test_the_range_is_the_same_every_time_and_holds_the_expectation():
    seen = history([(i * 2.0, 730) for i in range(400)], [(i * 8, i * 16.0 + 90, "leak", 150 + i) for i in range(45)])
    model = fitted_model(seen)
    ahead, doubt = remaining(seen, model), doubt_of(seen, model)
    first, second = (simulated_costs(ahead, model, doubt) for _ in range(2))
    assert np.array_equal(first, second)
    assert first.mean() == pytest.approx(ahead.cost.sum(), rel=0.05)


def test_more_year_to_year_doubt_widens_the_range():
    seen = history([(i * 2.0, 730) for i in range(400)], [(i * 8, i * 16.0 + 90, "leak", 150 + i) for i in range(45)])
    model = fitted_model(seen)
    ahead, doubt = remaining(seen, model), doubt_of(seen, model)
    calm, wild = (simulated_costs(ahead, model, type(doubt)(v, 0.0, 1.0)).std() for v in (0.0, 0.3))
    assert wild > 1.2 * calm


def with_recoveries(back):
    """400 openings and 45 leaks of 200 USD; `back` [USD] got back at every third."""
    seen = history([(i * 2.0, 730) for i in range(400)], [(i * 8, i * 16.0 + 90, "leak", 200) for i in range(45)])
    return replace(seen, recovered=np.where(np.arange(45) % 3 == 0, back, 0.0))


def test_the_share_got_back_leans_on_nothing_and_has_an_error():
    """15 of 45 visits at 200 got 150 back: 2,250 / (9,000 + 10 × 200) = 0.2045; residuals 109.1 and -40.9.

    Error: sqrt(15 × 109.1² + 30 × 40.9²) / 11,000 = 0.0435.
    """
    found = recovery_of(np.full(45, 200.0), with_recoveries(150.0).recovered)
    assert (found.share, found.error) == pytest.approx((0.2045, 0.0435), abs=0.0001)
    assert found.chance == pytest.approx(1 / 3)


def test_money_got_back_at_few_visits_widens_the_range():
    """The same net cost on average, once as lower costs, once as costs of which some are got back whole."""
    lumpy = fitted_model(with_recoveries(200.0))
    even = replace(lumpy, severity=replace(lumpy.severity, gross_mean=lumpy.severity.mean, recovery=NOTHING_BACK))
    seen = with_recoveries(200.0)
    ahead = remaining(seen, lumpy)
    no_doubt = Doubt(0.0, 0.0, 1.0)
    draws = [simulated_costs(ahead, model, no_doubt) for model in (lumpy, even)]
    assert draws[0].mean() == pytest.approx(draws[1].mean(), rel=0.03)
    assert draws[0].std() > 1.1 * draws[1].std()


def test_many_visits_with_money_got_back_are_summed_as_few_are():
    """Above 60 visits a draw takes a normal value of the same mean and spread as visits drawn one by one."""
    severity = replace(fitted_model(with_recoveries(150.0)).severity, recovery=Recovery(0.3, 0.0, 0.25))
    back, rng = np.full(20_000, 0.3), np.random.default_rng(5)
    few = _summed(rng, np.full(20_000, 60), severity, back)
    many = _summed(rng, np.full(20_000, 61), severity, back)
    assert many.mean() / few.mean() == pytest.approx(61 / 60, rel=0.02)
    assert many.std() / few.std() == pytest.approx(1, rel=0.05)


def test_more_got_back_than_spent_is_no_certainty():
    """700 USD got back at every third leak of 200: nothing on average, but the range is more than nothing."""
    seen = with_recoveries(700.0)
    model = fitted_model(seen)
    draws = simulated_costs(remaining(seen, model), model, doubt_of(seen, model))
    assert more_back_than_spent(seen)
    assert not more_back_than_spent(with_recoveries(150.0))
    assert model.severity.recovery.share > 0.9
    assert np.quantile(draws, 0.025) < 0 < np.quantile(draws, 0.975)


@pytest.mark.parametrize("back", [150.0, 400.0, 550.0])
def test_the_draws_lie_about_the_expectation_however_much_is_got_back(back):
    """Their mean is the expected cost, give or take three standard errors of a mean of so many draws."""
    seen = with_recoveries(back)
    model = fitted_model(seen)
    ahead = remaining(seen, model)
    draws = simulated_costs(ahead, model, doubt_of(seen, model))
    assert draws.mean() == pytest.approx(float(ahead.cost.sum()), abs=3 * draws.std() / len(draws) ** 0.5)
