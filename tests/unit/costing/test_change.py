"""Whether a month stands out: noise stays unsaid, and so does one job's luck."""

import numpy as np
import pytest

from pipeline.costing.change import chance_of_count, change_of_ratio, count_is_unusual

STEADY = [(300.0 + 10 * (at % 3), 1000.0) for at in range(40)]  # 30 to 32 % of revenue, job after job


def test_a_month_that_all_its_jobs_pull_down_is_real():
    """Eight jobs at 20 to 22 % after forty at 30 to 32 %."""
    change = change_of_ratio([(profit - 100, revenue) for profit, revenue in STEADY[:8]], STEADY)
    assert change is not None
    assert change.is_real
    assert change.difference == pytest.approx(-0.10, abs=0.005)


def test_one_bad_job_is_not_a_change():
    """Seven usual jobs and one that lost all: the month is 7 points down, and nothing once that job is left out."""
    change = change_of_ratio([*STEADY[:7], (-300.0, 1000.0)], STEADY)
    assert change is not None
    assert change.difference < -0.05
    assert not change.is_real


def test_fewer_than_five_jobs_are_not_compared():
    assert change_of_ratio(STEADY[:4], STEADY) is None
    assert change_of_ratio(STEADY, STEADY[:4]) is None


def test_months_of_the_same_firm_seldom_stand_out():
    """Invented: 1,000 months of ten jobs drawn like those of the year before; about 1 in 20 or fewer is called real."""
    rng = np.random.default_rng(7)

    def jobs(count: int) -> list[tuple[float, float]]:
        revenue = rng.uniform(3000, 12000, count)
        return list(zip(revenue * rng.normal(0.3, 0.1, count), revenue, strict=True))

    called = [change_of_ratio(jobs(10), jobs(120)) for _ in range(1000)]
    assert sum(change.is_real for change in called if change) <= 60


def test_chance_of_a_count_is_the_doubled_binomial_tail():
    """5 of 5 at one in two: 2 x 1/32; 3 of 3 at 1/13: 2 / 2197; never over 1."""
    assert chance_of_count(5, 5, 0.5) == pytest.approx(2 / 32)
    assert chance_of_count(3, 3, 1 / 13) == pytest.approx(2 / 2197)
    assert chance_of_count(0, 0, 0.5) == 1.0


def test_callbacks_of_a_month_against_the_year_before():
    """96 in twelve months are 8 a month: 9 are usual, 20 are not, none are not; 2 after 4 in a year is nothing."""
    assert not count_is_unusual(9, 96, 12)
    assert count_is_unusual(20, 96, 12)
    assert count_is_unusual(0, 96, 12)
    assert not count_is_unusual(1, 4, 12)
