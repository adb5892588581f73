"""The reserve from month to month: opening + accrued − spent + change in estimate = closing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import FIRST_DAY, History
from pipeline.callbacks.reserve import Model, by_complaint, fitted_model

Array = NDArray[np.float64]
MONTHS_SHOWN = 12  # house rule: a year of month ends


@dataclass(frozen=True)
class MonthLine:
    """One month of the roll-forward. [USD]

    opening and closing: cost to come as it was known at the month ends; accrued: expected warranty cost of the openings
    finished in the month; spent: what the visits reported in it inside their warranty cost, as known at the as-of date,
    of which spent_not_costed is still an expectation; change_in_estimate: all else that moved the balance, so that the
    line foots: more or fewer visits than expected, dearer or cheaper ones, and what was learned from them about those
    to come.
    """

    month: str
    opening: float
    accrued: float
    spent: float
    change_in_estimate: float
    closing: float
    spent_not_costed: float = 0.0


def roll_forward(stages: Sequence[History]) -> list[MonthLine]:
    """The months between the stages, oldest first; a month whose beginning is too young for an estimate is left out.

    in:     the firm as it was known at each month end, oldest first, and as it is known at the as-of date, last
    out:    closing of a month = opening of the next; the last closing = cost to come at the as-of date
    source: roll-forward of a product warranty liability (ASC 460-10-50-8), from memory; house rule: a month's spending
            is told as it is known now, so a cost that comes in late moves spent and, against it, the change in
            estimate of the month of its report, never an opening or a closing
    """
    models = [fitted_model(history) for history in stages]
    lines: list[MonthLine] = []
    for (before, model_before), (now, model_now) in pairwise(zip(stages, models, strict=True)):
        if model_before is not None and model_now is not None and models[-1] is not None:
            opening, closing = cost_to_come(before, model_before), cost_to_come(now, model_now)
            paid, waiting = spent_between(stages[-1], models[-1], before.as_of, now.as_of)
            accrued = accrued_between(now, model_now, before.as_of)
            line = footed(month_name(before.as_of), opening, accrued, paid + waiting, closing=closing)
            lines.append(replace(line, spent_not_costed=waiting))
    return lines


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


def spent_between(history: History, model: Model, after: float, until: float) -> tuple[float, float]:
    """Cost of the visits reported after one day and by another, inside their warranty. [USD]

    out:    net cost of those whose cost is known; expected cost of the others
    """
    now = (history.reported > after) & (history.reported <= until) & history.in_warranty
    known, waiting = now & history.costed, now & ~history.costed
    expected = history.weight[waiting] * model.severity.mean[history.cause[waiting]]
    return float(history.net_cost[known].sum()), float(expected.sum())


def month_ends(as_of: date) -> list[float]:
    """Day numbers of the last days of the 12 months before that of the as-of date."""
    starts = [as_of.replace(day=1)]
    while len(starts) < MONTHS_SHOWN:
        starts.insert(0, (starts[0] - timedelta(days=1)).replace(day=1))
    return [float((start - FIRST_DAY).days - 1) for start in starts]


def month_name(last_day_before: float) -> str:
    """The month that begins after a month end, such as 2026-03."""
    start: date = FIRST_DAY + timedelta(days=last_day_before + 1)
    return f"{start:%Y-%m}"
