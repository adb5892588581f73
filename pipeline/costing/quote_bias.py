"""How far quotes are off on finished jobs, with its range and the correction that would have removed it."""

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import Any

from schemas.results_money import QuoteBias

FEWEST_JOBS = 6  # below this a range says nothing anyone can use; house rule
TWO_SIDED_95 = 0.975


def quote_biases(measures: Sequence[Mapping[str, Any]]) -> list[QuoteBias]:
    """Bias of quotes in hours and in cost. [shares of 1]

    in:     sums of the question `quote_against_actual`, one row per measure
    out:    bias = actual over quoted less 1, positive = took more than quoted; low and high its 95 % range;
            correction = the factor on past quotes that would have made them right on the whole.
            Null with fewer than 6 jobs
    source: ratio estimate and its linearised standard error (Cochran, Sampling Techniques, 3rd ed. 1977, ch. 6,
            from memory), Student's t with one degree of freedom less than jobs
    """
    return [_bias(sums) for sums in measures]


def bias_of_pairs(measure: str, pairs: Sequence[tuple[float, float]]) -> QuoteBias:
    """The same for jobs given one by one, as expected and actual, such as the hours of a model."""
    return _bias(
        {
            "measure": measure,
            "jobs": len(pairs),
            "quoted": sum(expected for expected, _ in pairs),
            "actual": sum(actual for _, actual in pairs),
            "quoted_squared": sum(expected**2 for expected, _ in pairs),
            "actual_squared": sum(actual**2 for _, actual in pairs),
            "product": sum(expected * actual for expected, actual in pairs),
        }
    )


def _bias(sums: Mapping[str, Any]) -> QuoteBias:
    jobs, quoted, actual = int(sums["jobs"]), float(sums["quoted"]), float(sums["actual"])
    bias = low = high = correction = None
    if jobs >= FEWEST_JOBS and quoted > 0:
        correction = actual / quoted
        bias = correction - 1
        reach = _t_quantile(jobs - 1) * _standard_error(sums, correction)
        low, high = bias - reach, bias + reach
    return QuoteBias(
        measure=sums["measure"],
        jobs=jobs,
        quoted=quoted,
        actual=actual,
        bias=bias,
        low=low,
        high=high,
        correction=correction,
    )


def _standard_error(sums: Mapping[str, Any], ratio: float) -> float:
    jobs = int(sums["jobs"])
    squares = sums["actual_squared"] - 2 * ratio * sums["product"] + ratio**2 * sums["quoted_squared"]
    return sqrt(max(squares, 0.0) / (jobs - 1) * jobs) / float(sums["quoted"])


def _t_quantile(degrees_of_freedom: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(degrees_of_freedom, TWO_SIDED_95))
