"""Share of openings called back by age: Kaplan-Meier for one complaint, Aalen-Johansen where one ends the other."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SurvivalCurve:
    """Steps of a curve, at each day on which an event fell: those at risk, events, share without one and its error.

    cumulative_hazard: sum of events over those at risk (Nelson 1969, Aalen 1978)
    """

    days: Array
    at_risk: Array
    events: Array
    surviving: Array
    error: Array
    cumulative_hazard: Array

    def share_by(self, day: float) -> float:
        """Share with an event by a day; 0 before the first."""
        at = int(np.searchsorted(self.days, day, side="right")) - 1
        return 0.0 if at < 0 else float(1 - self.surviving[at])


def kaplan_meier(days: Array, came: NDArray[np.bool_]) -> SurvivalCurve:
    """Share without an event by day.

    in:     day of the event or of the end of watching, and whether it was the event; one value per opening
    source: Kaplan and Meier 1958; error by Greenwood 1926; from memory
    """
    steps, at_risk, events = _steps(days, came)
    left = at_risk - events
    surviving = np.cumprod(left / at_risk).astype(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.cumsum(np.where(left > 0, events / (at_risk * left), 0.0))
    error: Array = surviving * np.sqrt(spread)
    return SurvivalCurve(steps, at_risk, events, surviving, error, np.cumsum(events / at_risk))


def _steps(days: Array, came: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Days with an event, openings watched until that day or longer, and events on it."""
    steps, events = np.unique(days[came], return_counts=True)
    watched = np.sort(days)
    at_risk = len(days) - np.searchsorted(watched, steps, side="left")
    return steps, at_risk.astype(float), events.astype(float)


def aalen_johansen(days: Array, kind: NDArray[np.int64], wanted: int) -> tuple[Array, Array]:
    """Share with an event of one kind by day, where an event of any kind ends the watching.

    in:     day and kind of what ended the watching (0 = end of records) per opening; wanted: the kind asked for
    out:    days on which any event fell, share with the wanted kind by then
    source: Aalen and Johansen 1978, from memory
    """
    steps, at_risk, _ = _steps(days, kind > 0)
    any_events = _count_on(steps, days[kind > 0])
    own_events = _count_on(steps, days[kind == wanted])
    before = np.concatenate([[1.0], np.cumprod(1 - any_events / at_risk)[:-1]])
    return steps, np.cumsum(before * own_events / at_risk)


def _count_on(steps: Array, days: Array) -> Array:
    found = np.searchsorted(steps, days)
    return np.bincount(found, minlength=len(steps)).astype(float)
