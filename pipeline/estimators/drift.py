"""Change detection: since when a phase takes more or fewer hours than before, such as with a new saw."""

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
LEAST_Z = 3.3
SURE_Z = 4.5  # below this the words say "possible change": ten phases are looked at; house rule
LEAST_DAYS = 120.0  # a bad month is no change; house rule
LASTING_SHARE = 0.5  # of the step must show in either half of the time since; house rule
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
        """Whether to say it flatly rather than as a possibility."""
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
    z = standardised_differences(means)
    edge = int(max(FEWEST_JOBS_EACH_SIDE, np.ceil(LEAST_SHARE_EACH_SIDE * n)))
    inside = np.arange(edge, n - edge + 1)
    started = day[first]
    lasting = inside[(started[-1] - started[inside] >= LEAST_DAYS) & _lasts(means)[inside - 1]]
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


def _lasts(values: Numbers) -> NDArray[np.bool_]:
    """Whether the step after k shows in the first and in the second half of what follows, k = 1 .. n - 1."""
    n = len(values)
    k = np.arange(1, n)
    until = np.append(0.0, np.cumsum(values))
    before = until[k] / k
    middle = (k + n) // 2
    early = np.where(middle > k, (until[middle] - until[k]) / np.maximum(middle - k, 1), np.inf) - before
    late = (until[n] - until[middle]) / (n - middle) - before
    step = (until[n] - until[k]) / (n - k) - before
    lasting: NDArray[np.bool_] = (early / step >= LASTING_SHARE) & (late / step >= LASTING_SHARE)
    return lasting


def change_sentence(phase: str, change: Change, factor: float) -> str:
    """The change in words, by the factor of the fitted model."""
    percent = abs(factor - 1) * 100
    direction = "fell" if factor < 1 else "rose"
    name = phase.replace("_", " ")
    if change.sure:
        return f"{name} hours {direction} {percent:.0f} % from {change.since[:7]} ({change.jobs_after} jobs since)"
    return (
        f"possible change: {name} hours {direction} {percent:.0f} % from {change.since[:7]} "
        f"({change.jobs_after} jobs since)"
    )
