"""Callback cost still to come under warranty: visit rate by age × time left × cost of a visit."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.age_shape import Shapes, fitted_shapes
from pipeline.callbacks.history import COMPLAINTS, FIRST_DAY, History
from pipeline.callbacks.severity import Severity, fitted_severity

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Model:
    """Age shape, yearly visits per opening at shape 1, and cost of a visit, each by complaint."""

    shapes: Shapes
    rate: Array
    severity: Severity


@dataclass(frozen=True)
class Remaining:
    """Visits still to come inside the warranties: one row per calendar month, one column per complaint.

    visits is their number, cost their net cost [USD]; days holds the first day number of each month and the end.
    """

    months: tuple[str, ...]
    days: Array
    visits: Array
    cost: Array


def fitted_model(history: History) -> Model | None:
    """Rates and costs from the visits so far; None while fewer than 3 visits are costed.

    source: house rule from a simulation study: one age shape for all complaints, times each complaint's level
    """
    severity = fitted_severity(history)
    if severity is None:
        return None
    shapes = fitted_shapes(history)
    return Model(shapes, visit_rate(history, shapes), severity)


def visit_rate(history: History, shapes: Shapes) -> Array:
    """Visits per year at shape 1, by complaint: counted visits over the time watched."""
    exposure = np.array([float(shape.cumulative(history.end_age).sum()) for shape in shapes.by_complaint])
    inside = history.in_warranty
    seen = np.bincount(history.cause[inside], weights=history.weight[inside], minlength=len(COMPLAINTS))
    rate: Array = np.divide(seen, exposure, out=np.zeros(len(COMPLAINTS)), where=exposure > 0)
    return rate


def expected_visits(history: History, model: Model, days: Array) -> Array:
    """Visits expected between consecutive days, over all openings: one row per period, one column per complaint."""
    reached = np.array([by_complaint(model, _age_on(history, day)).sum(axis=0) for day in days])
    return np.diff(reached, axis=0)


def _age_on(history: History, day: float) -> Array:
    return np.clip(day - history.completed, 0.0, history.warranty_days)


def by_complaint(model: Model, age_days: Array) -> Array:
    """Visits expected by that age: one row per opening, one column per complaint."""
    return visits_by_age(model.shapes, model.rate, age_days)


def visits_by_age(shapes: Shapes, rate: Array, age_days: Array) -> Array:
    """The same from the age shapes and the yearly rates alone, as long as no cost is known."""
    return np.column_stack(
        [shape.cumulative(age_days) * level for shape, level in zip(shapes.by_complaint, rate, strict=True)]
    )


def remaining(history: History, model: Model) -> Remaining:
    """Visits and cost still to come, month by month until the last warranty ends."""
    days, months = months_ahead(history)
    visits = expected_visits(history, model, days)
    return Remaining(months, days, visits, visits * model.severity.mean)


def months_ahead(history: History) -> tuple[Array, tuple[str, ...]]:
    """Day numbers that part the time from the as-of date to the end of the last warranty, and the months' names."""
    last = float((history.completed + history.warranty_days).max(initial=history.as_of))
    starts = [FIRST_DAY + timedelta(days=history.as_of)]
    while (starts[-1] - FIRST_DAY).days < last:
        starts.append(next_month(starts[-1]))
    days = np.array([float((start - FIRST_DAY).days) for start in starts])
    return days, tuple(f"{start:%Y-%m}" for start in starts[:-1])


def next_month(day: date) -> date:
    """First day of the month after the one that holds the day."""
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)


def reported_not_costed(history: History, severity: Severity) -> tuple[float, float]:
    """Visits reported by now whose cost is not known yet: their number and their expected cost. [USD]"""
    open_now = ~history.costed
    weight = history.weight[open_now]
    return float(weight.sum()), float((weight * severity.mean[history.cause[open_now]]).sum())
