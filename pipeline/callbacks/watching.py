"""Callbacks by month of report and of setting beside those expected at such ages: limits, and a watch for a rise."""

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.age_shape import fitted_shapes
from pipeline.callbacks.cusum import average_run_length, cusum_high, limit_for, poisson_distribution, reference_for
from pipeline.callbacks.history import FIRST_DAY, History, Numbers
from pipeline.callbacks.reserve import next_month, visit_rate, visits_by_age
from schemas.units import DAYS_PER_MONTH

Array = NDArray[np.float64]

SIGMAS = 3.0  # Shewhart's limits
MOVING_RANGE_TO_SIGMA = 1.128  # mean range of two normal values in standard deviations
RISE_WATCHED = 2.0  # a doubling
FALSE_ALARM_EVERY_MONTHS = 60.0  # house rule: once in five years
BASELINE_LEAVES_OUT_MONTHS = 12  # the newest months do not judge themselves; house rule
FEWEST_BASELINE_MONTHS = 12
FEWEST_UNITS = 1.0  # opening-months watched; months with less are not drawn


@dataclass(frozen=True)
class Chart:
    """A u-chart: events per unit and month, its centre and limits; outside: months beyond them.

    By month of report and of setting the units are expected callbacks, so that rate is observed ÷ expected and young
    openings, which call more often, are no alarm; watched: opening-months at risk behind them.
    """

    months: tuple[str, ...]
    events: Array
    units: Array
    rate: Array
    centre: float
    lower: Array
    upper: Array
    restlessness: float
    watched: Array

    @property
    def outside(self) -> NDArray[np.bool_]:
        """Months whose rate lies beyond a limit."""
        return (self.rate > self.upper) | (self.rate < self.lower)


@dataclass(frozen=True)
class RiseWatch:
    """Running sum for a doubling by month of report; alarm_since: first month of the alarm that still stands.

    months_to_show: how long a doubling takes to show, on average, at this firm's rate.
    """

    sums: Array
    limit: float
    alarm_since: str | None
    months_to_show: float
    false_alarm_every_months: float


def u_chart(months: tuple[str, ...], events: Array, units: Array) -> Chart:
    """Events per unit with 3-sigma limits, widened where the months vary more than chance (Laney's u′).

    in:     events and units (over 0) per month
    source: u-chart (Montgomery, Introduction to Statistical Quality Control); Laney 2002, from memory;
            house rule: never narrower than chance
    """
    centre = float(events.sum() / units.sum())
    sigma = np.sqrt(centre / units)
    restlessness = laney_ratio((events / units - centre) / sigma) if centre > 0 else 1.0
    reach = SIGMAS * sigma * max(restlessness, 1.0)
    lower = np.maximum(centre - reach, 0.0)
    return Chart(months, events, units, events / units, centre, lower, centre + reach, restlessness, units)


def laney_ratio(scores: Array) -> float:
    """Spread of standardised values by their moving range; 1 = no more than chance, 1 when there is one value."""
    if len(scores) < 2:
        return 1.0
    return float(np.abs(np.diff(scores)).mean()) / MOVING_RANGE_TO_SIGMA


def by_month_of_report(history: History) -> Chart | None:
    """Callbacks inside the warranty over those expected of openings of such ages, by calendar month of the report."""
    days, months = whole_months(history)
    inside = history.in_warranty & (history.reported < days[-1])  # numpy counts the last edge in
    events = np.histogram(history.reported[inside], bins=days, weights=history.weight[inside])[0]
    ages = np.clip(days[:, None] - history.completed[None, :], 0.0, history.warranty_days)
    watched = np.diff(ages.sum(axis=1)) / DAYS_PER_MONTH
    return _chart(months, events, watched, np.diff([due.sum() for due in _expected_by(history, ages)]))


def _expected_by(history: History, ages: Array) -> list[Array]:
    """Callbacks the firm's own rates give each opening by its age; one row of ages after another."""
    shapes = fitted_shapes(history)
    rate = visit_rate(history, shapes)
    return [visits_by_age(shapes, rate, row).sum(axis=1) for row in ages]


def by_month_and_group(history: History, group: Numbers) -> tuple[tuple[str, ...], Array, Array]:
    """The same callbacks and opening-months, parted among groups of openings such as branch, crew and wall.

    in:     group: a number from 0 up per opening of the history
    out:    whole months; callbacks, and opening-months at risk, one row per month and one column per group
    """
    days, months = whole_months(history)
    inside, groups = history.in_warranty, int(group.max(initial=-1)) + 1
    month = np.searchsorted(days, history.reported[inside], side="right") - 1
    dated = (month >= 0) & (month < len(months))
    events = np.zeros((len(months), groups))
    np.add.at(events, (month[dated], group[history.opening[inside]][dated]), history.weight[inside][dated])
    watched = np.array([_watched_by(history, group == one, days) for one in range(groups)]).reshape(groups, len(days))
    return months, events, np.diff(watched, axis=1).T / DAYS_PER_MONTH


def _watched_by(history: History, mine: NDArray[np.bool_], days: Array) -> Array:
    """Days under warranty lived by these openings up to each day."""
    ages = np.clip(days[:, None] - history.completed[mine][None, :], 0.0, history.warranty_days[mine])
    lived: Array = ages.sum(axis=1)
    return lived


def by_month_of_setting(history: History, set_on: Array) -> Chart | None:
    """Callbacks so far of the openings set in a month, over those expected of openings watched as long.

    in:     set_on: day each opening was set, nan where that is not recorded (then the day of completion)
    """
    day = np.where(np.isfinite(set_on), set_on, history.completed)
    days, months = whole_months(history, float(day.min(initial=history.as_of)))
    set_in = np.clip(np.searchsorted(days, day, side="right") - 1, 0, len(months))
    inside, slots = history.in_warranty, len(months) + 1

    def summed(at: NDArray[np.int64], weights: Array) -> Array:
        return np.bincount(at, weights=weights, minlength=slots)[:-1].astype(float)

    events = summed(set_in[history.opening[inside]], history.weight[inside])
    expected = summed(set_in, _expected_by(history, history.end_age[None, :])[0])
    return _chart(months, events, summed(set_in, history.end_age) / DAYS_PER_MONTH, expected)


def _chart(months: tuple[str, ...], events: Array, watched: Array, expected: Array) -> Chart | None:
    """The chart of months watched enough; before the first callback, when none is expected, per opening-month."""
    kept = watched >= FEWEST_UNITS
    if not kept.any():
        return None
    units = expected if expected.sum() > 0 else watched
    chart = u_chart(tuple(np.array(months)[kept].tolist()), events[kept], units[kept])
    return replace(chart, watched=watched[kept])


def whole_months(history: History, since: float | None = None) -> tuple[Array, tuple[str, ...]]:
    """First days of the whole calendar months from the first completion to the as-of date, and the day after them.

    in:     since: another day to begin with
    """
    first = float(history.completed.min(initial=history.as_of)) if since is None else since
    starts = [(FIRST_DAY + timedelta(days=first)).replace(day=1)]
    while (next_month(starts[-1]) - FIRST_DAY).days <= history.as_of + 1:
        starts.append(next_month(starts[-1]))
    days = np.array([float((start - FIRST_DAY).days) for start in starts])
    return days, tuple(f"{start:%Y-%m}" for start in starts[:-1])


def rise_watch(chart: Chart) -> RiseWatch | None:
    """Watch for a doubling of the rate; None with fewer than 24 months, or while the older ones hold no callback.

    The ordinary rate is that of all months but the newest 12, of which there must be 12.
    """
    baseline = len(chart.months) - BASELINE_LEAVES_OUT_MONTHS
    events, units = chart.events[: max(baseline, 0)].sum(), chart.units[: max(baseline, 0)].sum()
    if baseline < FEWEST_BASELINE_MONTHS or events == 0:
        return None
    means = chart.units * events / units
    references = np.array([reference_for(mean, RISE_WATCHED) for mean in means])
    mean = float(means[-BASELINE_LEAVES_OUT_MONTHS:].mean())
    reference = reference_for(mean, RISE_WATCHED)
    limit = limit_for(mean, reference, FALSE_ALARM_EVERY_MONTHS)
    sums = cusum_high(chart.events, references)
    months_to_show = average_run_length(poisson_distribution(RISE_WATCHED * mean), reference, limit)
    alarm = _alarm_since(chart.months, sums > limit)
    return RiseWatch(sums, limit, alarm, months_to_show, FALSE_ALARM_EVERY_MONTHS)


def _alarm_since(months: tuple[str, ...], above: NDArray[np.bool_]) -> str | None:
    """First month of the run of alarms that reaches the last month; None when the last month has none."""
    if not above[-1]:
        return None
    quiet = np.flatnonzero(~above)
    return months[int(quiet[-1]) + 1] if len(quiet) else months[0]
