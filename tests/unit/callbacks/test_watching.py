"""Months under watch: which months are drawn, what counts in them, when a rise is called."""

import numpy as np
import pytest

from pipeline.callbacks.cusum import average_run_length, limit_for, poisson_distribution, reference_for
from pipeline.callbacks.watching import (
    by_month_and_group,
    by_month_of_report,
    by_month_of_setting,
    rise_watch,
    u_chart,
    whole_months,
)
from tests.unit.callbacks.build_history import history

JANUARY_1971 = 365.0


def test_only_whole_months_are_watched():
    """First job on 10 January 1970 (day 9), as of 14 March (day 72): January and February."""
    days, months = whole_months(history([(9, 730)], as_of=72.0))
    assert months == ("1970-01", "1970-02")
    assert days.tolist() == [0, 31, 59]


def test_the_month_that_ends_today_is_whole():
    """As of 28 February 1970, day 58."""
    assert whole_months(history([(9, 730)], as_of=58.0))[1] == ("1970-01", "1970-02")


def test_opening_months_at_risk_by_month_of_report():
    """Two openings finished on day 0: each is at risk 31 of January's days, 31/30.4375 opening-months."""
    chart = by_month_of_report(history([(0, 730), (0, 730)], [(0, 40, "leak", 1)], as_of=58.0))
    assert chart.months == ("1970-01", "1970-02")
    assert chart.units == pytest.approx([2 * 31 / 30.4375, 2 * 28 / 30.4375])
    assert chart.events.tolist() == [0, 1]


def test_by_month_of_setting_a_call_belongs_to_the_month_the_opening_was_finished():
    chart = by_month_of_setting(history([(5, 730), (35, 730)], [(0, 80, "leak", 1)], as_of=89.0))
    assert chart.events.tolist() == [1, 0]
    assert chart.units == pytest.approx([84 / 30.4375, 54 / 30.4375])


def test_no_chart_before_the_first_whole_month():
    assert by_month_of_report(history([(5, 730)], as_of=20.0)) is None


def test_a_doubling_in_the_last_months_is_called_and_dated():
    """Three calls a month for 40 months on 100 opening-months, then six: the alarm begins soon after month 40."""
    months = tuple(f"m{i:02d}" for i in range(48))
    events = np.array([3.0] * 40 + [6.0] * 8)
    watch = rise_watch(u_chart(months, events, np.full(48, 100.0)))
    assert watch.alarm_since is not None
    assert "m40" <= watch.alarm_since <= "m44"


def test_a_steady_rate_is_not_called():
    months = tuple(f"m{i:02d}" for i in range(48))
    assert rise_watch(u_chart(months, np.full(48, 3.0), np.full(48, 100.0))).alarm_since is None


def test_a_year_is_needed_to_watch():
    months = tuple(f"m{i:02d}" for i in range(11))
    assert rise_watch(u_chart(months, np.full(11, 3.0), np.full(11, 100.0))) is None


def test_the_reference_for_a_doubling():
    """2 a month against 4: (4 − 2) / ln 2 = 2.885 (Lucas 1985)."""
    assert reference_for(2.0, 2.0) == pytest.approx(2.885390, abs=1e-6)


@pytest.mark.parametrize("mean", [0.5, 2.0, 8.0])
def test_the_limit_gives_a_false_alarm_every_sixty_months(mean):
    """Simulated: counts at the ordinary rate pass the limit after 50 to 90 months (counts are coarse)."""
    reference = reference_for(mean, 2.0)
    limit = limit_for(mean, reference, 60.0)
    rng = np.random.default_rng(3)
    runs = []
    for _ in range(1500):
        total, month = 0.0, 0
        while total <= limit:
            total, month = max(0.0, total + rng.poisson(mean) - reference), month + 1
        runs.append(month)
    assert 50 < np.mean(runs) < 90


def test_a_doubling_shows_sooner_at_a_busy_firm():
    """Half a call a month: most of a year; eight a month: within two months."""
    months = []
    for mean in (0.5, 2.0, 8.0):
        reference = reference_for(mean, 2.0)
        limit = limit_for(mean, reference, 60.0)
        months.append(average_run_length(poisson_distribution(2 * mean), reference, limit))
    assert months[0] > months[1] > months[2]
    assert months[0] > 5
    assert months[2] < 2.5


def test_callbacks_and_time_watched_part_among_groups():
    """Two openings from 1 January 1970, one per group, a leak at the first on 10 February, as of the end of February.

    January has 31 days and February 28 for each: 31 / 30.4375 = 1.0185 and 28 / 30.4375 = 0.9199 opening-months.
    """
    seen = history([(0, 730), (0, 730)], [(0, 40, "leak", 1)], as_of=58.0)
    months, events, units = by_month_and_group(seen, np.array([0, 1]))
    assert months == ("1970-01", "1970-02")
    assert events.tolist() == [[0, 0], [1, 0]]
    assert units == pytest.approx(np.array([[1.0185, 1.0185], [0.9199, 0.9199]]), abs=0.00005)


def test_a_callback_on_the_first_day_of_an_unfinished_month_is_in_no_month():
    """As of 1 March 1970 (day 59) the whole months are January and February; a leak on that day belongs to neither."""
    seen = history([(0, 730), (0, 730)], [(0, 59, "leak", 1)], as_of=59.0)
    assert by_month_of_report(seen).events.tolist() == [0, 0]
    assert by_month_and_group(seen, np.array([0, 1]))[1].sum() == 0
