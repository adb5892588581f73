"""Warranty clocks and the visits so far, as arrays: what the reserve, its roll-forward and the charts count from."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from schemas.units import DAYS_PER_MONTH
from schemas.vocab import COMPLAINT

if TYPE_CHECKING:
    import polars as pl

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

COMPLAINTS = tuple(COMPLAINT)
FIRST_DAY = date(1970, 1, 1)
OURS_PRIOR = (9.0, 1.0)  # reports found ours, and not ours, before any is settled: house rule, about 1 in 10 is not


@dataclass(frozen=True)
class History:
    """Finished openings and their counted visits; days count from 1970-01-01, ages from completion.

    One value per opening: completed, warranty_days, job. One per visit: opening (row number of the opening),
    cause (place in COMPLAINTS), reported, costed_on (inf = not costed), gross_cost and recovered (USD, nan = not
    costed), weight (chance that the visit is ours to pay: 1 once settled).
    """

    as_of: float
    completed: Array
    warranty_days: Array
    job: Numbers
    opening: Numbers
    cause: Numbers
    reported: Array
    costed_on: Array
    gross_cost: Array
    recovered: Array
    weight: Array

    @property
    def end_age(self) -> Array:
        """Age at which each opening stops being watched: today, or the end of its warranty. [days]"""
        return np.clip(self.as_of - self.completed, 0.0, self.warranty_days)

    @property
    def visit_age(self) -> Array:
        """Age of the opening at each report, mid-day, so that the first day is not age 0. [days]"""
        return np.maximum(self.reported - self.completed[self.opening], 0.0) + 0.5

    @property
    def in_warranty(self) -> NDArray[np.bool_]:
        """Which visits count as events: reported between completion and the warranty's end."""
        return is_event(self.reported - self.completed[self.opening], self.warranty_days[self.opening])

    @property
    def costed(self) -> NDArray[np.bool_]:
        """Which visits have a known cost at the as-of date."""
        return self.costed_on <= self.as_of

    @property
    def net_cost(self) -> Array:
        """Cost of each visit after what was got back; nan while not costed. [USD]"""
        return self.gross_cost - self.recovered

    @property
    def under_warranty(self) -> int:
        """Openings whose warranty has not run out at the as-of date."""
        return int((self.as_of - self.completed < self.warranty_days).sum())


def is_event(days_since_completion: Array, days_watched: Array) -> NDArray[np.bool_]:
    """Which reports count as events of a rate: from the day of completion to the last day watched. [yes/no]

    A report before completion, or after the warranty, is no event anywhere; what it cost stays in the money.
    source: house rule
    """
    return (days_since_completion >= 0) & (days_since_completion <= days_watched)


def history_of(openings: "pl.DataFrame", visits: "pl.DataFrame", as_of: date) -> History:
    """Arrays from the frames of finished openings and of counted visits.

    in:     openings: opening_id, job_id, completed_on, months_of_warranty; visits: opening_id, complaint,
            reported_on, costed_on, gross_cost, recovered, settled (yes/no), counts (yes/no)
    out:    only openings finished by `as_of`, and visits at them that count
    source: house rule: a report not settled yet counts with the share of settled reports that were ours
    """
    finished = openings.filter(openings["completed_on"] <= as_of)
    counted = visits.filter(visits["counts"]).join(
        _numbered(finished["opening_id"], "opening"), on="opening_id", validate="m:1", maintain_order="left"
    )
    jobs = finished.select("job_id").join(_numbered(finished["job_id"], "job"), on="job_id", maintain_order="left")
    cause = {word: number for number, word in enumerate(COMPLAINTS)}
    return History(
        as_of=float((as_of - FIRST_DAY).days),
        completed=day_numbers(finished["completed_on"]),
        warranty_days=finished["months_of_warranty"].to_numpy().astype(float) * DAYS_PER_MONTH,
        job=jobs["job"].to_numpy().astype(np.int64),
        opening=counted["opening"].to_numpy().astype(np.int64),
        cause=np.array([cause[word] for word in counted["complaint"]], dtype=np.int64),
        reported=day_numbers(counted["reported_on"]),
        costed_on=np.nan_to_num(day_numbers(counted["costed_on"]), nan=np.inf),
        gross_cost=counted["gross_cost"].cast(float).to_numpy(),
        recovered=counted["recovered"].cast(float).fill_null(0.0).to_numpy(),
        weight=np.where(counted["settled"].to_numpy(), 1.0, share_ours(visits)),
    )


def _numbered(names: "pl.Series", number: str) -> "pl.DataFrame":
    """Each name once, numbered from 0 in the order of the first."""
    return names.unique(maintain_order=True).to_frame().with_row_index(number)


def day_numbers(days: "pl.Series") -> Array:
    """Days since 1970-01-01; nan where there is no date."""
    return days.to_physical().cast(float).to_numpy()


def share_ours(visits: "pl.DataFrame") -> float:
    """Share of settled reports that were ours to pay, leaning on 9 in 10 while there are few. [0–1]"""
    settled = visits.filter(visits["settled"])
    ours = float(settled["counts"].sum())
    return (ours + OURS_PRIOR[0]) / (settled.height + sum(OURS_PRIOR))

