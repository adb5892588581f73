"""Cost by half-year of completion and half-year since: the triangle that the reserve is checked against."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import History
from schemas.units import DAYS_PER_YEAR

Array = NDArray[np.float64]
PERIOD_DAYS = DAYS_PER_YEAR / 2  # development half-years: house rule from a simulation study
MOST_UNSEEN = 0.1  # share of the cost to come at ages the book never saw, above which no ladder answers; house rule
RATE_PULL = 5.0  # visits' worth of pull of a half-year's rate to the one before; house rule
TINY = float(np.finfo(float).tiny)


@dataclass(frozen=True)
class Triangle:
    """Cost and time watched by cohort (rows, oldest first) and half-year of development (columns).

    cost [USD] and years [opening-years inside the warranty] are of the half-year itself, nan where it is still to come;
    years_ahead are the opening-years to come, 0 where the half-year is past; visits is the number of costed visits.
    """

    cost: Array
    years: Array
    years_ahead: Array
    visits: int


def cost_triangle(history: History) -> Triangle:
    """The triangle of net cost inside the warranty, cohorts cut backwards from the as-of date.

    A cohort's half-year is a calendar half-year: in its first, its openings are on average a quarter-year old.
    Visits that are not costed yet are left out, so the triangle reads a little low.
    """
    age_periods = np.ceil((history.as_of - history.completed) / PERIOD_DAYS).astype(np.int64)
    age_periods = np.maximum(age_periods, 1)
    longest = int(np.ceil(history.warranty_days.max(initial=0.0) / PERIOD_DAYS)) + 1
    cohorts = int(age_periods.max(initial=1))
    size = (cohorts, longest)
    row = cohorts - age_periods
    counted = history.in_warranty & history.costed
    column = _period_of(history, row, cohorts)
    cost, years = np.zeros(size), np.zeros(size)
    np.add.at(cost, (row[history.opening[counted]], column[counted]), (history.net_cost * history.weight)[counted])
    for period in range(longest):
        np.add.at(years[:, period], row, _years_in(history, row, cohorts, period))
    to_come = np.add.outer(np.arange(cohorts), np.arange(longest)) >= cohorts
    past = [np.where(to_come, np.nan, table) for table in (cost, years)]
    return Triangle(past[0], past[1], np.where(to_come, years, 0.0), int(counted.sum()))


def _cohort_start(history: History, row: NDArray[np.int64], cohorts: int) -> Array:
    start: Array = history.as_of - (cohorts - row).astype(float) * PERIOD_DAYS
    return start


def _period_of(history: History, row: NDArray[np.int64], cohorts: int) -> NDArray[np.int64]:
    since = history.reported - _cohort_start(history, row, cohorts)[history.opening]
    period: NDArray[np.int64] = np.maximum(np.ceil(since / PERIOD_DAYS).astype(np.int64) - 1, 0)
    return period


def _years_in(history: History, row: NDArray[np.int64], cohorts: int, period: int) -> Array:
    """Opening-years inside the warranty that each opening spends in a half-year of its cohort. [years]"""
    start = _cohort_start(history, row, cohorts) + period * PERIOD_DAYS
    begin = np.clip(start - history.completed, 0.0, history.warranty_days)
    end = np.clip(start + PERIOD_DAYS - history.completed, 0.0, history.warranty_days)
    years: Array = (end - begin) / DAYS_PER_YEAR
    return years


def yearly_cost(triangle: Triangle) -> Array:
    """Cost per opening-year in each half-year of development. [USD per opening and year]

    A half-year leans on the one before it with 5 visits' worth of opening-years; unseen ones take the last rate.
    """
    cost, years = np.nansum(triangle.cost, axis=0), np.nansum(triangle.years, axis=0)
    overall = float(cost.sum()) / max(float(years.sum()), TINY)
    lean_years = RATE_PULL * float(years.sum()) / max(triangle.visits, 1)
    rates: list[float] = []
    for spent, watched in zip(cost, years, strict=True):
        before = rates[-1] if rates else overall
        rates.append(float((spent + lean_years * before) / max(watched + lean_years, TINY)))
    return np.array(rates)


def by_exposure(triangle: Triangle) -> float:
    """Cost to come: cost per opening-year of each half-year × the opening-years still to come. [USD]

    source: additive (incremental loss ratio) method, from memory
    """
    return float(triangle.years_ahead.sum(axis=0) @ yearly_cost(triangle))


def beyond_the_oldest(triangle: Triangle) -> float:
    """Cost to come at ages no cohort has reached yet, by cost per opening-year: a ladder knows nothing of it. [USD]"""
    cohorts = len(triangle.cost)
    return float(triangle.years_ahead.sum(axis=0)[cohorts:] @ yearly_cost(triangle)[cohorts:])


def too_young(triangle: Triangle) -> bool:
    """Whether much of the cost to come lies at ages the book never saw."""
    return beyond_the_oldest(triangle) > MOST_UNSEEN * by_exposure(triangle)


def expected_whole(triangle: Triangle) -> Array:
    """Warranty cost of each cohort up to the oldest cohort's age, by cost per opening-year. [USD]"""
    reached = slice(len(triangle.cost))
    years = np.nan_to_num(triangle.years) + triangle.years_ahead
    whole: Array = years[:, reached] @ yearly_cost(triangle)[reached]
    return whole


def square(triangle: Triangle) -> Array:
    """The cumulative triangle with as many half-years as cohorts; no cost is added after the last warranty's end."""
    cohorts, periods = triangle.cost.shape
    cumulative = np.cumsum(np.nan_to_num(triangle.cost), axis=1)
    padded = np.pad(cumulative, ((0, 0), (0, max(cohorts - periods, 0))), mode="edge")[:, :cohorts]
    known = np.add.outer(np.arange(cohorts), np.arange(cohorts)) < cohorts
    return np.where(known, padded, np.nan)
