"""How far actual hours stray from the median: noise by mix of work and wall, and the ranges made from it."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.takeoff.openings import Numbers, Words

# Simulation study, fresh seeds.
CLIP_SD = 2.5
LEAST_BASE_VARIANCE = 0.005
LEAST_RESIDUAL_VARIANCE = 1e-4  # keeps a book without any noise finite
POOL_JOBS = 10.0  # jobs' worth of belief that a wall is as noisy as the others
RARE_WALL = 3.0  # a wall with n jobs: variance times 1 + RARE_WALL / (n + RARE_WALL_SHIFT)
RARE_WALL_SHIFT = 2.0
LEVERAGE_WEIGHT = 2.0
MOST_Z_SQUARED = 9.0
COLUMNS_SPENT, FEWEST_DEGREES = 8, 8
ROBUST_CLIP = 3.5
MAD_TO_SD = 1.4826
CORRELATION_PAIRS, CORRELATION_PRIOR = 40.0, 0.5
STARTING_MEAN_VARIANCE = 0.6  # s squared of an opening quoted on starter rates alone, doubt in them included
STARTING_SD = 0.35  # of the log of a total before any job is finished: starter rates alone
LEVELS = {"p05": 0.9, "p10": 0.8, "p90": 0.8, "p95": 0.9}  # each bound with the level of its central range


@dataclass(frozen=True)
class Spread:
    """Everything a range is made from.

    base log variance not explained by the phases' own noise; scale of the whole; wall_ratio and wall_jobs per
    wall type; residual_variance mean square of left-out residuals; mean_variance of s squared in training;
    multipliers {"0.8": h, "0.9": h} in units of s; correlation between openings of one job.
    """

    base: float
    scale: float
    wall_ratio: dict[str, float]
    wall_jobs: dict[str, int]
    residual_variance: float
    mean_variance: float
    multipliers: dict[str, float]
    correlation: float

    def as_plain(self) -> dict[str, Any]:
        """The spread as JSON-able values."""
        return asdict(self)


def spread_from_plain(body: Mapping[str, Any]) -> Spread:
    """The spread that as_plain wrote."""
    return Spread(**body)


@dataclass(frozen=True)
class Scatter:
    """Left-out residuals with what their size depends on: one row per training opening.

    own: variance from the phases' own noise at this mix; leverage: variance from doubt in the effects.
    """

    residual: Numbers
    own: Numbers
    leverage: Numbers
    walls: Words
    job: NDArray[np.int64]


def own_variance(phase_means: Mapping[str, Numbers], noise_sd: Mapping[str, float]) -> Numbers:
    """Variance of the log total from the phases' noise: sum of (share x sd) squared."""
    total = sum(phase_means.values(), start=np.zeros(1))
    parts = [(phase_means[phase] / total * noise_sd[phase]) ** 2 for phase in phase_means]
    return sum(parts, start=np.zeros(1))


def shared_leverage(phase_means: Mapping[str, Numbers], doubt: Mapping[str, Numbers]) -> Numbers:
    """Variance of the log total from doubt in the phases' effects: sum of share squared x x'Vx."""
    total = sum(phase_means.values(), start=np.zeros(1))
    return sum(((phase_means[p] / total) ** 2 * doubt[p] for p in phase_means), start=np.zeros(1))


def fit_spread(scatter: Scatter, jobs_per_wall: dict[str, int], jobs: int) -> Spread:
    """Learn the ranges from left-out residuals.

    in:     scatter; finished jobs per wall type and in all
    out:    Spread
    source: scaled t quantiles; simulation study, fresh seeds
    """
    r = scatter.residual
    held = np.clip(r, -CLIP_SD * _rms(r), CLIP_SD * _rms(r))
    base = max(float(np.mean(held**2 - scatter.own)), LEAST_BASE_VARIANCE)
    v0 = base + scatter.own
    ratio = _wall_ratios(scatter, r / np.sqrt(v0), jobs_per_wall)
    by_wall = np.array([ratio.get(str(wall), 1.0) for wall in scatter.walls])
    residual_variance = max(float(np.mean(held**2)), LEAST_RESIDUAL_VARIANCE)
    draft = Spread(
        base=base,
        scale=residual_variance / float(np.mean(v0 * by_wall)),
        wall_ratio=ratio,
        wall_jobs=jobs_per_wall,
        residual_variance=residual_variance,
        mean_variance=1.0,
        multipliers={},
        correlation=CORRELATION_PRIOR,
    )
    s = np.sqrt(log_variance(draft, scatter.own, scatter.leverage, scatter.walls))
    return Spread(
        **{
            **draft.as_plain(),
            "mean_variance": float(np.mean(s**2)),
            "multipliers": _multipliers(r / s, jobs),
            "correlation": _correlation(r / s, scatter.job),
        }
    )


def starting_spread() -> Spread:
    """The spread before any job is finished."""
    variance = STARTING_SD**2
    return Spread(
        base=variance,
        scale=1.0,
        wall_ratio={},
        wall_jobs={},
        residual_variance=variance,
        mean_variance=STARTING_MEAN_VARIANCE,
        multipliers=_t_quantiles(0),
        correlation=CORRELATION_PRIOR,
    )


def log_variance(spread: Spread, own: Numbers, doubt: Numbers, walls: Words) -> Numbers:
    """s squared: variance of the log of an opening's total about its median."""
    ratio = np.array([spread.wall_ratio.get(str(wall), 1.0) for wall in walls])
    jobs = np.array([spread.wall_jobs.get(str(wall), 0) for wall in walls])
    rare = 1 + RARE_WALL / (jobs + RARE_WALL_SHIFT)
    variance: Numbers = spread.scale * (spread.base + own) * ratio * rare + LEVERAGE_WEIGHT * doubt
    return variance


def _rms(values: Numbers) -> float:
    """Root mean square, held against the odd entry by the spread of the middle half."""
    robust = MAD_TO_SD * float(np.median(np.abs(values)))
    limit = ROBUST_CLIP * max(robust, np.finfo(float).tiny)
    return float(np.sqrt(np.mean(np.clip(values, -limit, limit) ** 2)))


def _wall_ratios(scatter: Scatter, z: Numbers, jobs_per_wall: dict[str, int]) -> dict[str, float]:
    squares = np.minimum(z**2, MOST_Z_SQUARED)
    pool = max(float(squares.mean()), np.finfo(float).tiny)
    per_job = np.bincount(scatter.job)[scatter.job]
    ratios = {}
    for wall, jobs in jobs_per_wall.items():
        here = scatter.walls == wall
        ratios[wall] = float((POOL_JOBS * pool + np.sum(squares[here] / per_job[here])) / (POOL_JOBS + jobs) / pool)
    return ratios


def _multipliers(z: Numbers, jobs: int) -> dict[str, float]:
    size = _rms(z)
    return {level: h * size for level, h in _t_quantiles(jobs).items()}


def _t_quantiles(jobs: int) -> dict[str, float]:
    """Two-sided t quantile of each central range; the level is raised by 1 / jobs, as jobs are exchangeable."""
    from scipy.special import stdtrit

    degrees = max(jobs - COLUMNS_SPENT, FEWEST_DEGREES)
    found = {}
    for level in sorted(set(LEVELS.values())):
        raised = min(level * (1 + 1 / max(jobs, 1)), (1 + level) / 2)
        found[str(level)] = float(stdtrit(degrees, (1 + raised) / 2))
    return found


def _correlation(z: Numbers, job: NDArray[np.int64]) -> float:
    """Of the standardised residuals of two openings of one job, leaning on 0.5 by 40 pairs' worth."""
    sums, squares = np.bincount(job, z), np.bincount(job, z**2)
    sizes = np.bincount(job)
    products = float(np.sum(sums**2 - squares) / 2)
    pairs = float(np.sum(sizes * (sizes - 1)) / 2)
    scale = max(float(np.mean(z**2)), np.finfo(float).tiny)
    found = (products / scale + CORRELATION_PRIOR * CORRELATION_PAIRS) / (pairs + CORRELATION_PAIRS)
    return float(np.clip(found, 0.0, 1.0))
