"""Whether a month differs from the year before by more than chance and a single job can explain."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

FEWEST_JOBS = 5  # a month with fewer jobs is told job by job, not as a rate; house rule
TWO_ERRORS = 2.0  # two standard errors, about 1 chance in 20
ONE_IN_TWENTY = 0.05

Pairs = Sequence[tuple[float, float]]  # part and whole of each job, such as profit and revenue


@dataclass(frozen=True)
class Change:
    """A ratio now and before, and whether the difference is more than noise."""

    now: float
    before: float
    error: float
    is_real: bool

    @property
    def difference(self) -> float:
        """Now less before."""
        return self.now - self.before


def change_of_ratio(now: Pairs, before: Pairs) -> Change | None:
    """Compare a ratio of sums between two sets of jobs. [shares of 1, or USD per hour]

    in:     part and whole of each job
    out:    None with fewer than 5 jobs on a side or without a whole; is_real when the difference is over two standard
            errors and stays so whichever single job of the month is left out
    source: ratio estimate and its linearised standard error (Cochran, Sampling Techniques, 3rd ed. 1977, ch. 6,
            from memory)
    """
    if min(len(now), len(before)) < FEWEST_JOBS or _whole(now) <= 0 or _whole(before) <= 0:
        return None
    without_one = [list(now[:at]) + list(now[at + 1 :]) for at in range(len(now))]
    is_real = _stands_out(now, before) and all(_stands_out(rest, before) for rest in without_one)
    return Change(_ratio(now), _ratio(before), _error_of_difference(now, before), is_real)


def _whole(pairs: Pairs) -> float:
    return sum(whole for _, whole in pairs)


def _ratio(pairs: Pairs) -> float:
    return sum(part for part, _ in pairs) / _whole(pairs)


def _squared_error(pairs: Pairs) -> float:
    ratio, jobs = _ratio(pairs), len(pairs)
    squares = sum((part - ratio * whole) ** 2 for part, whole in pairs)
    return squares / (jobs - 1) * jobs / _whole(pairs) ** 2


def _error_of_difference(now: Pairs, before: Pairs) -> float:
    return sqrt(_squared_error(now) + _squared_error(before))


def _stands_out(now: Pairs, before: Pairs) -> bool:
    if _whole(now) <= 0:
        return False
    return abs(_ratio(now) - _ratio(before)) > TWO_ERRORS * _error_of_difference(now, before)


def chance_of_count(count: int, total: int, share: float) -> float:
    """Chance, both sides together, of a count at least as odd as this when `share` of `total` is expected.

    source: exact conditional comparison of two Poisson counts, a binomial tail doubled (Przyborowski and Wilenski
            1940, from memory)
    """
    from scipy.special import bdtr, bdtrc

    at_most = float(bdtr(count, total, share))
    at_least = float(bdtrc(count - 1, total, share)) if count else 1.0
    return min(1.0, 2 * min(at_most, at_least))


def count_is_unusual(now: int, before: int, months_before: int) -> bool:
    """Whether a month's count stands out from the months before it."""
    return chance_of_count(now, now + before, 1 / (1 + months_before)) < ONE_IN_TWENTY
