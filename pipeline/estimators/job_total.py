"""Hours of a whole job: its openings' hours added, with the share of luck they have in common."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.intervals import LEVELS
from pipeline.estimators.predict import HoursPrediction


@dataclass(frozen=True)
class TotalHours:
    """Mean and quantiles of the summed hours, and the sd of their log. [h]"""

    mean: float
    p05: float
    p10: float
    p50: float
    p90: float
    p95: float
    log_sd: float


def job_total(model: HoursModel, prediction: HoursPrediction, members: Sequence[int]) -> TotalHours:
    """Total of openings of one job.

    in:     the model (correlation, multipliers), a prediction, the numbers of the job's openings in it
    out:    TotalHours; the mean is the sum of the openings' means
    source: equal correlation between the openings of a job, lognormal by moments; simulation study, fresh seeds
    """
    index = list(members)
    if len(index) == 1:
        return _single(prediction, index[0])
    mean = prediction.mean[index]
    sd = mean * np.sqrt(np.expm1(prediction.log_sd[index] ** 2))
    rho = model.spread.correlation
    variance = rho * sd.sum() ** 2 + (1 - rho) * np.sum(sd**2)
    return lognormal_total(model, float(mean.sum()), float(variance))


def all_jobs(model: HoursModel, totals: Sequence[TotalHours]) -> TotalHours:
    """Total of several jobs, each independent of the others."""
    if len(totals) == 1:
        return totals[0]
    mean = sum(total.mean for total in totals)
    variance = sum(total.mean**2 * float(np.expm1(total.log_sd**2)) for total in totals)
    return lognormal_total(model, mean, variance)


def lognormal_total(model: HoursModel, mean: float, variance: float) -> TotalHours:
    """A lognormal with this mean and variance, its bounds by the model's multipliers."""
    log_variance = float(np.log1p(variance / mean**2))
    p50, log_sd = mean * float(np.exp(-log_variance / 2)), float(np.sqrt(log_variance))
    bounds = {}
    for name, level in LEVELS.items():
        sign = 1.0 if name in ("p90", "p95") else -1.0
        bounds[name] = p50 * float(np.exp(sign * model.spread.multipliers[str(level)] * log_sd))
    return TotalHours(mean=mean, p50=p50, log_sd=log_sd, **bounds)


def _single(prediction: HoursPrediction, index: int) -> TotalHours:
    names = ("mean", "p05", "p10", "p50", "p90", "p95", "log_sd")
    return TotalHours(**{name: float(getattr(prediction, name)[index]) for name in names})
