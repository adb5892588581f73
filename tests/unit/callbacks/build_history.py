"""Small histories typed by hand: openings (completed day, warranty days), visits (opening, day, complaint, cost)."""

from dataclasses import replace
from datetime import timedelta

import numpy as np

from pipeline.callbacks.history import COMPLAINTS, FIRST_DAY, History
from pipeline.callbacks.roll_forward import month_ends


def history(openings, visits=(), *, as_of=1000.0, jobs=None):
    """A history as of a day; cost None = not costed yet; a visit's cost is known from the day it was reported."""
    cost = [np.nan if visit[3] is None else float(visit[3]) for visit in visits]
    return History(
        as_of=as_of,
        completed=np.array([float(done) for done, _ in openings]),
        warranty_days=np.array([float(days) for _, days in openings]),
        job=np.arange(len(openings)) if jobs is None else np.array(jobs),
        opening=np.array([visit[0] for visit in visits], dtype=np.int64),
        cause=np.array([COMPLAINTS.index(visit[2]) for visit in visits], dtype=np.int64),
        reported=np.array([float(visit[1]) for visit in visits]),
        costed_on=np.array([np.inf if visit[3] is None else float(visit[1]) for visit in visits]),
        gross_cost=np.array(cost, dtype=float),
        recovered=np.zeros(len(visits)),
        weight=np.ones(len(visits)),
    )


def known_on(now, day):
    """The same firm as it was known on an earlier day: later jobs, reports and costs taken away."""
    opened = now.completed <= day
    kept = (now.reported <= day) & opened[now.opening]
    visits = ("cause", "reported", "costed_on", "gross_cost", "recovered", "weight")
    return replace(
        now,
        as_of=day,
        completed=now.completed[opened],
        warranty_days=now.warranty_days[opened],
        job=now.job[opened],
        opening=(np.cumsum(opened) - 1)[now.opening[kept]],
        **{name: getattr(now, name)[kept] for name in visits},
    )


def stages(now):
    """The firm at the 12 month ends before its as-of day, and on it."""
    ends = month_ends(FIRST_DAY + timedelta(days=now.as_of))
    return [*(known_on(now, day) for day in ends), now]
