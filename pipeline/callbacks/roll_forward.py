"""The reserve from month to month: opening + accrued − spent + change in estimate = closing."""

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import FIRST_DAY, History, as_known_on
from pipeline.callbacks.reserve import Model, by_complaint, fitted_model

Array = NDArray[np.float64]
MONTHS_SHOWN = 12  # house rule: a year of month ends


@dataclass(frozen=True)
class MonthLine:
    """One month of the roll-forward. [USD]

    accrued: expected warranty cost of the openings finished in the month; spent: net cost of the visits reported
    in it, those without a cost at their expected cost; change_in_estimate: what the rates and costs learned since
    did to the openings already there, so that the line foots.
    """

    month: str
    opening: float
    accrued: float
    spent: float
    change_in_estimate: float
    closing: float


def roll_forward(history: History, model: Model) -> list[MonthLine]:
    """The last 12 month ends up to the as-of date, oldest first; fewer while the records are young.

    in:     history and the model fitted on it; earlier months are fitted on what was recorded by then
    out:    closing of a month = opening of the next; the last closing = cost to come at the as-of date
    source: roll-forward of a product warranty liability (ASC 460-10-50-8), from memory
    """
    ends = month_ends(history.as_of)
    known = [as_known_on(history, day) for day in ends[:-1]]
    models = [fitted_model(earlier) for earlier in known]
    stages = [*zip(known, models, strict=True), (history, model)]
    lines: list[MonthLine] = []
    for before, now in pairwise(stages):
        if before[1] is not None and now[1] is not None:
            lines.append(_line(before[0], before[1], now[0], now[1]))
    return lines


def _line(before: History, model_before: Model, now: History, model_now: Model) -> MonthLine:
    opening, closing = cost_to_come(before, model_before), cost_to_come(now, model_now)
    accrued = accrued_between(now, model_now, before.as_of)
    spent = spent_between(now, model_now, before.as_of)
    return footed(month_name(before.as_of), opening, accrued, spent, closing=closing)


def footed(month: str, opening: float, accrued: float, spent: float, *, closing: float) -> MonthLine:
    """A line whose change in estimate is what the other four leave over."""
    return MonthLine(month, opening, accrued, spent, closing - opening - accrued + spent, closing)


def cost_to_come(history: History, model: Model) -> float:
    """Expected net cost of the visits still to come inside the warranties. [USD]"""
    visits = by_complaint(model, history.warranty_days) - by_complaint(model, history.end_age)
    return float((visits @ model.severity.mean).sum())


def accrued_between(history: History, model: Model, after: float) -> float:
    """Expected warranty cost, from the first day to the last, of the openings finished after a day. [USD]"""
    new = history.completed > after
    return float((by_complaint(model, history.warranty_days[new]) @ model.severity.mean).sum())


def spent_between(history: History, model: Model, after: float) -> float:
    """Net cost of the visits reported after a day inside their warranty; expected cost where none is known. [USD]"""
    now = (history.reported > after) & history.in_warranty
    expected = model.severity.mean[history.cause[now]]
    cost = np.where(history.costed[now], history.net_cost[now], expected)
    return float((history.weight[now] * cost).sum())


def month_ends(as_of: float) -> list[float]:
    """Day numbers of the last days of the 12 months before that of the as-of date, and the as-of date itself."""
    first = (FIRST_DAY + timedelta(days=as_of)).replace(day=1)
    starts = [first]
    while len(starts) < MONTHS_SHOWN:
        starts.insert(0, (starts[0] - timedelta(days=1)).replace(day=1))
    return [float((start - FIRST_DAY).days - 1) for start in starts] + [as_of]


def month_name(last_day_before: float) -> str:
    """The month that begins after a month end, such as 2026-03."""
    start: date = FIRST_DAY + timedelta(days=last_day_before + 1)
    return f"{start:%Y-%m}"
