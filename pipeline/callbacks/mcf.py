"""Mean cumulative function: visits per opening by age, counted without any model, with its error."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class MeanCumulative:
    """Ages at which events came, mean number of events per unit by then, and its standard error."""

    ages: Array
    mean: Array
    error: Array

    def at(self, age: float) -> tuple[float, float]:
        """Mean and standard error at an age; 0 before the first event."""
        place = int(np.searchsorted(self.ages, age, side="right")) - 1
        return (float(self.mean[place]), float(self.error[place])) if place >= 0 else (0.0, 0.0)


def mean_cumulative(event_ages: Array, event_units: NDArray[np.int64], end_ages: Array) -> MeanCumulative:
    """Mean number of events per unit by age, units leaving observation at their own ages.

    in:     age and unit of every event; age until which each unit was watched (at risk on that age too)
    out:    one row per distinct age of an event; error from the scatter among units
    source: Nelson 1995, robust variance of Lawless and Nadeau 1995, from memory
    """
    ages = np.unique(event_ages)
    at_risk = len(end_ages) - np.searchsorted(np.sort(end_ages), ages, side="left")
    where = np.searchsorted(ages, event_ages)
    events = np.bincount(where, minlength=len(ages))
    steps = events / at_risk
    return MeanCumulative(ages, np.cumsum(steps), _scatter(ages, at_risk, steps, (where, event_units, end_ages)))


def _scatter(
    ages: Array, at_risk: NDArray[np.int64], steps: Array, data: tuple[NDArray[np.int64], NDArray[np.int64], Array]
) -> Array:
    """Standard error at each age: root of the summed squares of what every unit adds beyond the mean.

    A unit without events adds minus the mean until it leaves; units with events are followed one by one.
    """
    where, event_units, end_ages = data
    mean_growth = np.cumsum(steps / at_risk)
    squares = np.zeros(len(ages))
    with_events = np.unique(event_units)
    quiet = np.delete(np.arange(len(end_ages)), with_events)
    left = np.searchsorted(ages, end_ages[quiet], side="right")
    held = np.append(0.0, mean_growth)[left]
    order = np.argsort(left)
    gone = np.searchsorted(left[order], np.arange(len(ages)), side="right")
    gone_squares = np.append(0.0, np.cumsum(held[order] ** 2))
    squares += gone_squares[gone] + (len(quiet) - gone) * mean_growth**2
    for unit in with_events:
        own = np.bincount(where[event_units == unit], minlength=len(ages)) / at_risk
        own = own - np.where(ages <= end_ages[unit], steps / at_risk, 0.0)
        squares += np.cumsum(own) ** 2
    root: Array = np.sqrt(squares)
    return root
