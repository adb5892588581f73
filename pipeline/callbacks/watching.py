"""Callbacks month by month: by month of report and of setting, with limits and a watch for a rise."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.cusum import average_run_length, cusum_high, limit_for, poisson_distribution, reference_for
from pipeline.callbacks.history import FIRST_DAY, History, Numbers
from schemas.units import DAYS_PER_MONTH

Array = NDArray[np.float64]

SIGMAS = 3.0  # Shewhart's limits
MOVING_RANGE_TO_SIGMA = 1.128  # mean range of two normal values in standard deviations
RISE_WATCHED = 2.0  # a doubling
FALSE_ALARM_EVERY_MONTHS = 60.0  # house rule: once in five years
BASELINE_LEAVES_OUT_MONTHS = 12  # the newest months do not judge themselves; house rule
FEWEST_BASELINE_MONTHS = 12
FEWEST_UNITS = 1.0  # opening-months; months with less are not drawn


@dataclass(frozen=True)
class Chart:
    """A u-chart: events per unit and month, its centre and limits; outside: months beyond them."""

    months: tuple[str, ...]
    events: Array
    units: Array
    rate: Array
    centre: float
    lower: Array
    upper: Array
    restlessness: float

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
    return Chart(months, events, units, events / units, centre, lower, centre + reach, restlessness)


def laney_ratio(scores: Array) -> float:
    """Spread of standardised values by their moving range; 1 = no more than chance, 1 when there is one value."""
    if len(scores) < 2:
        return 1.0
    return float(np.abs(np.diff(scores)).mean()) / MOVING_RANGE_TO_SIGMA


def by_month_of_report(history: History) -> Chart | None:
    """Callbacks inside the warranty per opening-month at risk, by calendar month of the report."""
    days, months = whole_months(history)
    inside = history.in_warranty & (history.reported < days[-1])  # numpy counts the last edge in
    events = np.histogram(history.reported[inside], bins=days, weights=history.weight[inside])[0]
    ages = np.clip(days[:, None] - history.completed[None, :], 0.0, history.warranty_days)
    return _chart(months, events, np.diff(ages.sum(axis=1)) / DAYS_PER_MONTH)


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


def by_month_of_setting(history: History) -> Chart | None:
    """Callbacks so far of the openings finished in a month, per opening-month they have been watched."""
    days, months = whole_months(history)
    set_in = np.clip(np.searchsorted(days, history.completed, side="right") - 1, 0, len(months))
    inside = history.in_warranty
    slots = len(months) + 1
    events = np.bincount(set_in[history.opening[inside]], weights=history.weight[inside], minlength=slots).astype(float)
    units: Array = np.bincount(set_in, weights=history.end_age, minlength=slots) / DAYS_PER_MONTH
    return _chart(months, events[:-1], units[:-1])


def _chart(months: tuple[str, ...], events: Array, units: Array) -> Chart | None:
    kept = units >= FEWEST_UNITS
    if not kept.any():
        return None
    return u_chart(tuple(np.array(months)[kept].tolist()), events[kept], units[kept])


def whole_months(history: History) -> tuple[Array, tuple[str, ...]]:
    """First days of the whole calendar months from the first completion to the as-of date, and the day after them."""
    first = float(history.completed.min(initial=history.as_of))
    starts = [(FIRST_DAY + timedelta(days=first)).replace(day=1)]
    while (_next(starts[-1]) - FIRST_DAY).days <= history.as_of + 1:
        starts.append(_next(starts[-1]))
    days = np.array([float((start - FIRST_DAY).days) for start in starts])
    return days, tuple(f"{start:%Y-%m}" for start in starts[:-1])


def _next(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)


def rise_watch(chart: Chart) -> RiseWatch | None:
    """Watch for a doubling of the rate; None while there are too few months or no callbacks.

    The ordinary rate is that of all months but the newest 12.
    """
    baseline = max(len(chart.months) - BASELINE_LEAVES_OUT_MONTHS, FEWEST_BASELINE_MONTHS)
    events, units = chart.events[:baseline].sum(), chart.units[:baseline].sum()
    if len(chart.months) < FEWEST_BASELINE_MONTHS or events == 0:
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
