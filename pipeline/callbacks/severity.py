"""What a return visit costs: lognormal per complaint, complaints pulled together, at today's prices."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.history import COMPLAINTS, History
from schemas.units import DAYS_PER_YEAR

Array = NDArray[np.float64]

COMPLAINT_PULL = 3.0  # visits' worth of pull of each complaint to the common level; study: 1 or 5 made no difference
PRICE_DRIFT, PRICE_DRIFT_SPREAD = 0.02, 0.04  # prior of the yearly drift of log cost; house rule: prices rise a little
LARGEST_LOG_VARIANCE = 1.5  # simulation study: caps the tail that few visits can claim
TYPICAL_LOG_VARIANCE, VARIANCE_PULL = 0.5, 4.0  # leaned on while there are few costed visits; house rule
MEAN_PULL = 30.0  # visits' worth of trust in the lognormal mean against the plain mean; own simulator
RECOVERY_PULL = 10.0  # visits' worth of pull of the recovered share to nothing recovered; house rule
FEWEST_COSTED = 3  # below this no cost is put on a visit


@dataclass(frozen=True)
class Recovery:
    """What is got back from makers and insurers: seldom, and then much.

    share: of the cost, over all visits, can be over 1; error: its standard error; chance: that a visit gets any back.
    """

    share: float
    error: float
    chance: float


NOTHING_BACK = Recovery(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Severity:
    """Cost of one visit by complaint, in the order of COMPLAINTS, at the prices of the as-of date. [USD]

    mean is net of what is got back, never below 0; gross_mean is before that; log_variance describes one cost about
    its gross mean; log_error is the covariance of the logs of the gross means.
    """

    mean: Array
    gross_mean: Array
    log_variance: float
    log_error: Array
    recovery: Recovery
    costed: int


def fitted_severity(history: History) -> Severity | None:
    """Cost of a visit by complaint; None with fewer than 3 costed visits.

    in:     visits whose gross cost is known and over 0 carry the lognormal part; free ones lower the scale
    source: lognormal mean with its estimation error taken off (Finney 1941, from memory); ridge = pull of pseudo-visits
    """
    gross, recovered = history.gross_cost[history.costed], history.recovered[history.costed]
    paid = gross > 0
    if paid.sum() < FEWEST_COSTED:
        return None
    years_ago = (history.as_of - history.reported[history.costed][paid]) / DAYS_PER_YEAR
    design = _design(history.cause[history.costed][paid], years_ago)
    coefficients, covariance, variance = _ridge(design, np.log(gross[paid]))
    today = _design(np.arange(len(COMPLAINTS)), np.zeros(len(COMPLAINTS)))
    log_mean, log_error = today @ coefficients, today @ covariance @ today.T
    fitted = np.exp(design @ coefficients + (variance - _row_variance(design, covariance)) / 2)
    scale = _plain_over_fitted(gross[paid], fitted) * paid.mean()
    gross_mean = np.exp(log_mean + (variance - np.diag(log_error)) / 2) * scale
    back = recovery_of(gross, recovered)
    mean = gross_mean * max(1 - back.share, 0.0)
    return Severity(mean, gross_mean, variance, log_error, back, int(history.costed.sum()))


def _design(cause: NDArray[np.int64], years_ago: Array) -> Array:
    """Columns: common level, minus years ago, one indicator per complaint."""
    return np.column_stack([np.ones(len(cause)), -years_ago, np.eye(len(COMPLAINTS))[cause]])


def _ridge(design: Array, log_cost: Array) -> tuple[Array, Array, float]:
    """Coefficients, their covariance and the variance of one log cost; the variance is found in a few rounds."""
    variance, centre = TYPICAL_LOG_VARIANCE, np.array([0.0, PRICE_DRIFT, *[0.0] * len(COMPLAINTS)])
    for _ in range(5):
        penalty = np.array([0.0, variance / PRICE_DRIFT_SPREAD**2, *[COMPLAINT_PULL] * len(COMPLAINTS)])
        inverse = np.linalg.inv(design.T @ design + np.diag(penalty))
        coefficients = inverse @ (design.T @ log_cost + penalty * centre)
        residual = log_cost - design @ coefficients
        spent = float(np.trace(inverse @ design.T @ design))
        left = max(len(log_cost) - spent, 0.0)
        variance = (float(residual @ residual) + VARIANCE_PULL * TYPICAL_LOG_VARIANCE) / (left + VARIANCE_PULL)
        variance = min(variance, LARGEST_LOG_VARIANCE)
    covariance: Array = (inverse * variance).astype(np.float64)
    return coefficients, covariance, variance


def _row_variance(design: Array, covariance: Array) -> Array:
    variance: Array = np.einsum("ij,jk,ik->i", design, covariance, design)
    return variance


def _plain_over_fitted(gross: Array, fitted: Array) -> float:
    """Correction of the lognormal mean towards the plain mean, as the costed visits grow in number."""
    lean = MEAN_PULL * float(fitted.mean())
    return (float(gross.sum()) + lean) / (float(fitted.sum()) + lean)


def recovery_of(gross: Array, recovered: Array) -> Recovery:
    """What is got back, leaning on nothing while few visits are costed.

    in:     cost and amount got back of every costed visit [USD]
    source: ratio of sums and its linearised error (Cochran 1977, from memory)
    """
    lean = RECOVERY_PULL * float(gross.mean())
    if recovered.sum() <= 0:
        return NOTHING_BACK
    share = float(recovered.sum()) / (float(gross.sum()) + lean)
    error = float(np.sqrt(((recovered - share * gross) ** 2).sum())) / (float(gross.sum()) + lean)
    return Recovery(share, error, float((recovered > 0).mean()))


def more_back_than_spent(history: History) -> bool:
    """Whether makers and insurers gave back more than the costed visits cost so far."""
    return float(history.net_cost[history.costed].sum()) < 0
