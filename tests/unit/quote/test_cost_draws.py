"""What a job may cost, against independent sums: plain Monte Carlo, the Poisson table, moments of a lognormal."""

import math

import numpy as np
import pytest
from scipy import stats

from pipeline.quote.cost_draws import JobCost, cost_draws, poisson_quantile, quantile_80, share_above
from pipeline.quote.draws import COLUMNS, DRAWS, column_for, draw_table

TABLE = draw_table()
JOB = JobCost(
    hours_mean=30.0, hours_log_sd=0.25, hour_usd=70.0, material_mean=2000.0, material_variance=200.0**2,
    other_mean=500.0, other_variance=250.0**2, visits=0.3, visit_usd=400.0, visit_log_sd=0.8,
)  # fmt: skip
PLAIN_DRAWS = 2_000_000


def by_plain_luck(job: JobCost) -> np.ndarray:
    """The same job by ordinary random numbers, written apart from the code under test."""
    luck = np.random.default_rng(5)
    hours = stats.lognorm(s=job.hours_log_sd, scale=job.hours_mean * math.exp(-job.hours_log_sd**2 / 2))
    cost = hours.rvs(PLAIN_DRAWS, random_state=luck) * job.hour_usd
    for mean, variance in ((job.material_mean, job.material_variance), (job.other_mean, job.other_variance)):
        s2 = math.log(1 + variance / mean**2)
        cost += stats.lognorm(s=math.sqrt(s2), scale=mean * math.exp(-s2 / 2)).rvs(PLAIN_DRAWS, random_state=luck)
    visit = stats.lognorm(s=job.visit_log_sd, scale=job.visit_usd * math.exp(-job.visit_log_sd**2 / 2))
    return cost + luck.poisson(job.visits, PLAIN_DRAWS) * visit.rvs(PLAIN_DRAWS, random_state=luck)


def test_the_mean_of_the_draws_is_the_expected_cost():
    """30 h × $70 + $2,000 + $500 + 0.3 × $400 = $4,720, within 1 %."""
    assert cost_draws(JOB, TABLE, 0).mean() == pytest.approx(4720, rel=0.01)


def test_quantile_and_chances_agree_with_two_million_plain_draws():
    """The 80 % quantile within 1 %; the chance above four prices within 1.5 points."""
    drawn, plain = cost_draws(JOB, TABLE, 0), by_plain_luck(JOB)
    assert quantile_80(drawn) == pytest.approx(np.quantile(plain, 0.8), rel=0.01)
    for price in (4000, 4700, 5200, 6000):
        assert share_above(drawn, price) == pytest.approx(np.mean(plain > price), abs=0.015)


def test_any_place_in_the_quote_costs_the_same_on_average():
    """Jobs 0 to 11 use the table turned: the same draws in another order, so the same mean and quantile."""
    for place in range(12):
        costs = cost_draws(JOB, TABLE, place)
        assert costs.mean() == pytest.approx(cost_draws(JOB, TABLE, 0).mean(), rel=1e-12)
        assert quantile_80(costs) == pytest.approx(quantile_80(cost_draws(JOB, TABLE, 0)), rel=1e-12)


def test_the_luck_of_two_jobs_is_independent():
    """Correlation of hours between any two of twelve jobs: under 0.1 (sampling error of 2,048 pairs is 0.022)."""
    columns = np.array([column_for(TABLE, "hours", place) for place in range(12)])
    between = np.corrcoef(columns) - np.eye(12)
    assert np.abs(between).max() < 0.1


def test_ten_jobs_together_spread_as_independent_jobs_do():
    """Sd of the sum of ten equal jobs = √10 × the sd of one, within 5 %."""
    costs = sum(cost_draws(JOB, TABLE, place) for place in range(10))
    assert costs.std() == pytest.approx(math.sqrt(10) * cost_draws(JOB, TABLE, 0).std(), rel=0.05)


def test_the_parts_of_one_draw_are_independent_of_each_other():
    """Columns of the table: correlation under 0.03, each spread evenly over its quantiles."""
    columns = np.array([TABLE[name] for name in COLUMNS])
    assert np.abs(np.corrcoef(columns) - np.eye(len(COLUMNS))).max() < 0.03
    for name, column in zip(COLUMNS, columns, strict=True):
        uniform = column if name == "visits" else stats.norm.cdf(column)
        assert stats.kstest(uniform, "uniform").statistic < 2 / math.sqrt(DRAWS)
        assert len(column) == DRAWS == 2048


def test_the_table_is_the_same_every_time():
    """Stored once, but made again it would be equal."""
    assert draw_table() == TABLE


@pytest.mark.parametrize("expected", [0.0, 0.05, 0.3, 1.0])
def test_visits_follow_the_poisson_table(expected):
    """scipy.stats.poisson.ppf at the same uniforms."""
    u = np.linspace(0.0005, 0.9995, 1999)
    assert poisson_quantile(expected, u) == pytest.approx(stats.poisson.ppf(u, expected))


def test_a_job_without_doubt_costs_the_same_in_every_draw():
    """No spread, no visits: 10 h × $50 + $100 = $600 always; no chance of costing more than $600.01."""
    sure = JobCost(10.0, 0.0, 50.0, 100.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    costs = cost_draws(sure, TABLE, 0)
    assert costs == pytest.approx(np.full(DRAWS, 600.0))
    assert share_above(costs, 600.01) == 0 and share_above(costs, 599.99) == 1


def test_the_eightieth_quantile_is_the_1639th_of_2048():
    """0.8 × 2,048 = 1,638.4: the first count that holds four in five is 1,639."""
    assert quantile_80(np.arange(1.0, 2049.0)) == 1639
