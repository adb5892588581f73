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
    assert chart.watched == pytest.approx([2 * 31 / 30.4375, 2 * 28 / 30.4375])
    assert chart.events.tolist() == [0, 1]


def test_by_month_of_setting_a_call_belongs_to_the_month_the_opening_was_finished():
    """Not recorded when it was set: the day of completion stands in, 6 January and 5 February."""
    seen = history([(5, 730), (35, 730)], [(0, 80, "leak", 1)], as_of=89.0)
    chart = by_month_of_setting(seen, np.full(2, np.nan))
    assert chart.months == ("1970-01", "1970-02", "1970-03")[: len(chart.months)]
    assert chart.events.tolist() == [1, 0]
    assert chart.watched == pytest.approx([84 / 30.4375, 54 / 30.4375])


def test_the_day_it_was_set_decides_the_month_where_it_is_recorded():
    """Finished on 5 February, but set on 20 January 1970: its call belongs to January."""
    seen = history([(5, 730), (35, 730)], [(1, 80, "leak", 1)], as_of=89.0)
    chart = by_month_of_setting(seen, np.array([np.nan, 19.0]))
    assert (chart.months, chart.events.tolist()) == (("1970-01",), [1])


def test_callbacks_expected_add_up_to_those_counted():
    """Whole book in whole months: the firm's own rates expect the two that came, so the centre is 1.

    A day more or less of 58: the rates are watched to 28 February, its month to the day after.
    """
    seen = history([(0, 730), (0, 730)], [(0, 40, "leak", 1), (1, 12, "fit", 1)], as_of=58.0)
    for chart in (by_month_of_report(seen), by_month_of_setting(seen, np.full(2, np.nan))):
        assert chart.units.sum() == pytest.approx(2, rel=1 / 58)
        assert chart.centre == pytest.approx(1, rel=1 / 58)


FIGURES = ("events", "units", "watched")


def falling_hazard(seed):
    """A steady firm of 800 openings over five years: in their first 90 days they call four times as often."""
    rng = np.random.default_rng(seed)
    done = np.sort(rng.integers(0, 1825, 800))
    calls = []
    for opening, day in enumerate(done):
        for first, last, yearly in ((0, 90, 0.24), (90, 730, 0.06)):
            at = day + rng.integers(first, last, rng.poisson(yearly * (last - first) / 365.25))
            calls += [(opening, int(one), "leak", 1) for one in at if one <= 1825]
    return history([(int(day), 730) for day in done], calls, as_of=1825.0)


def test_young_openings_are_no_alarm():
    """Invented: the newest three months of setting call as expected; per opening-month that is over twice the whole.

    All twelve firms together; of them at most 2 have one of the newest six months outside.
    """
    charts = [by_month_of_setting(seen, np.full(800, np.nan)) for seen in map(falling_hazard, range(12))]
    new, due, watched = (sum(getattr(chart, name)[-3:].sum() for chart in charts) for name in FIGURES)
    all_new, _, all_watched = (sum(getattr(chart, name).sum() for chart in charts) for name in FIGURES)
    assert new / watched > 2 * all_new / all_watched
    assert 0.75 < new / due < 1.25
    assert sum(bool(chart.outside[-6:].any()) for chart in charts) <= 2


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


def test_two_years_are_needed_to_watch():
    """The newest 12 months must not judge themselves, and 12 older ones are needed to judge them."""
    months = tuple(f"m{i:02d}" for i in range(24))
    assert rise_watch(u_chart(months[:23], np.full(23, 3.0), np.full(23, 100.0))) is None
    assert rise_watch(u_chart(months, np.full(24, 3.0), np.full(24, 100.0))) is not None


def test_a_doubling_within_the_newest_year_is_seen_by_a_firm_of_26_months():
    """Three a month for 14 months, then six: the newest 12 are no part of what is ordinary."""
    months = tuple(f"m{i:02d}" for i in range(26))
    events = np.array([3.0] * 14 + [6.0] * 12)
    assert rise_watch(u_chart(months, events, np.full(26, 100.0))).alarm_since is not None


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
