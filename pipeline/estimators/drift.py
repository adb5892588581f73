"""Change detection: since when a phase takes more or fewer hours than before, such as with a new saw."""

from calendar import month_name
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.takeoff.openings import Numbers

# Simulation study, fresh seeds. Largest difference of means: Hawkins 1977 (from memory).
FEWEST_JOBS = 60
FEWEST_JOBS_EACH_SIDE = 10
LEAST_SHARE_EACH_SIDE = 0.05
# Ten phases at once: 1 in 200 each for the largest |z| with 5 % left at either end (Andrews 1993, from memory, is about
# 3.7 at 1 %). On seeds apart, new saws of 20 % stood at 4.9 and more with 320 jobs.
LEAST_Z = 3.8
SURE_Z = 4.5  # below this it is a "possible change", told and not applied: ten phases are looked at; house rule
LEAST_DAYS = 120.0  # a bad month is no change; house rule
LASTING_SHARE = 0.5  # of the step must show in most parts of the time since; house rule
PARTS_SINCE, LEAST_PARTS = 4, 3  # one bad month fills one or two of four parts; house rule
CLIP_SD = 1.5  # a job further out than this counts as this far; Huber 1964 (from memory)
SD_OF_MAD = 1.4826  # of a normal
EPOCH = date(1970, 1, 1)


@dataclass(frozen=True)
class Change:
    """A step in a phase's hours: since which day, by what factor, how sure.

    since ISO date of the first job after it; day the same as days since 1970-01-01; factor of the job means
    after over before; z the difference over its standard error; jobs_before, jobs_after.
    """

    since: str
    day: float
    factor: float
    z: float
    jobs_before: int
    jobs_after: int

    def as_plain(self) -> dict[str, Any]:
        """The change as JSON-able values."""
        return asdict(self)

    @property
    def sure(self) -> bool:
        """Whether to apply it and say it flatly, rather than as a possibility."""
        return abs(self.z) > SURE_Z


def find_change(error: Numbers, job: NDArray[np.int64], day: Numbers) -> Change | None:
    """The most likely step in the left-out errors of one phase, or None.

    in:     error log(actual / predicted) per row; job number in order of start; day of the start
    out:    Change, when the largest standardised difference of job means passes its threshold
    """
    numbers, first = np.unique(job, return_index=True)
    n = len(numbers)
    if n < FEWEST_JOBS:
        return None
    place = np.searchsorted(numbers, job)
    means = np.bincount(place, error) / np.bincount(place)
    clipped = _clipped(means)
    z = standardised_differences(clipped)
    edge = int(max(FEWEST_JOBS_EACH_SIDE, np.ceil(LEAST_SHARE_EACH_SIDE * n)))
    inside = np.arange(edge, n - edge + 1)
    started = day[first]
    lasting = inside[(started[-1] - started[inside] >= LEAST_DAYS) & _lasts(clipped)[inside - 1]]
    if not len(lasting):
        return None
    k = int(lasting[np.argmax(np.abs(z[lasting - 1]))])
    if abs(z[k - 1]) <= max(LEAST_Z, float(np.sqrt(2 * np.log(n)))):
        return None
    since = float(day[first[k]])
    return Change(
        since=(EPOCH + timedelta(days=int(since))).isoformat(),
        day=since,
        factor=float(np.exp(means[k:].mean() - means[:k].mean())),
        z=float(z[k - 1]),
        jobs_before=k,
        jobs_after=n - k,
    )


def standardised_differences(values: Numbers) -> Numbers:
    """(mean after k - mean of the first k) over its standard error, for k = 1 .. n - 1.

    in:     one value per job in order of date
    out:    n - 1 values; the noise is the spread about the two means
    """
    n = len(values)
    k = np.arange(1, n)
    before = np.cumsum(values)[:-1]
    difference = (values.sum() - before) / (n - k) - before / k
    between = difference**2 * k * (n - k) / n
    within = (np.sum((values - values.mean()) ** 2) - between) / (n - 2)
    z: Numbers = difference / np.sqrt(np.maximum(within, np.finfo(float).tiny) * (1 / k + 1 / (n - k)))
    return z


def _clipped(values: Numbers) -> Numbers:
    """Values with the far out ones brought in to two robust standard deviations."""
    middle = np.median(values)
    reach = CLIP_SD * SD_OF_MAD * float(np.median(np.abs(values - middle)))
    clipped: Numbers = np.clip(values, middle - reach, middle + reach) if reach > 0 else values
    return clipped


def _lasts(values: Numbers) -> NDArray[np.bool_]:
    """Whether the step after k shows in at least three of the four parts of what follows, k = 1 .. n - 1."""
    n = len(values)
    k = np.arange(1, n)
    until = np.append(0.0, np.cumsum(values))
    before = until[k] / k
    step = (until[n] - until[k]) / (n - k) - before
    showing = np.zeros(n - 1)
    for part in range(PARTS_SINCE):
        start, end = (k + (n - k) * at // PARTS_SINCE for at in (part, part + 1))
        gap = (until[end] - until[start]) / np.maximum(end - start, 1) - before
        showing += gap / step >= LASTING_SHARE
    lasting: NDArray[np.bool_] = showing >= LEAST_PARTS
    return lasting


def change_sentence(phase: str, change: Change, factor: float) -> str:
    """The change in words, by the factor of the fitted model (of the job means where it is not applied)."""
    percent = abs(factor - 1) * 100
    direction = "fell" if factor < 1 else "rose"
    since = date.fromisoformat(change.since)
    step = (
        f"{phase.replace('_', ' ')} hours {direction} {percent:.0f} % from {month_name[since.month]} {since.year} on "
        f"({change.jobs_after} jobs since)"
    )
    return step if change.sure else f"possible change: {step}; estimates leave it out until it is surer"
