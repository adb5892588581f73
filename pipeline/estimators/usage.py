"""Usage of a material per unit of take-off, learned from purchases in whole packs (interval-censored)."""

from dataclasses import dataclass

import numpy as np

from pipeline.estimators.pooled import FIXED, Design
from pipeline.takeoff.openings import Numbers

# Simulation study, fresh seeds. EM for grouped data: Dempster, Laird & Rubin 1977 (from memory).
WALL_SD = 0.15
STARTING_SD = 0.15
LEAST_SD = 0.02
LEVEL_SD = 0.7  # the level is all but free: it only keeps an item that is always one pack finite
NU = 6.0
FAR_OUT_SD = 4.0  # a line this far outside its interval is mis-keyed
A0 = 1.0
POOL_LINES = 10.0  # lines' worth of belief that a wall is as uneven as the others
STARTING_LINES = 3.0
MOST_ROUNDS = 60
ENOUGH = 1e-4
TINY = 1e-12
WORST_LINE = -8.0


@dataclass(frozen=True)
class Usage:
    """log usage = log quantity + level + wall effect + noise; sd of the noise per wall and pooled."""

    level: float
    wall: Numbers
    sd: float
    wall_sd: Numbers
    level_variance: float
    lines: int
    log_likelihood: float


def fit_usage(bought: Numbers, pack: float, take_off: Numbers, walls: Numbers) -> Usage:
    """Usage factor of one item.

    in:     quantity bought per line (whole packs, above 0), units per pack, take-off of the line, and the share
            of that take-off in each wall type (lines x walls)
    out:    Usage, all on the log scale; usage of a line lies in (bought - pack, bought]
    source: expectation-maximisation on the intervals; simulation study, fresh seeds
    """
    upper = np.log(bought / take_off)
    opened = np.maximum(bought - pack, 0.0)
    lower = np.where(opened > 0, np.log(np.maximum(opened, TINY) / take_off), -np.inf)
    design = _design(bought, pack, take_off, walls)
    state = _Learning(design, lower, upper)
    for _ in range(MOST_ROUNDS):
        if state.round() < ENOUGH:
            break
    return Usage(
        level=float(state.beta[0]),
        wall=state.beta[1:],
        sd=state.sigma,
        wall_sd=state.wall_sds(walls),
        level_variance=float(state.V[0, 0]),
        lines=len(bought),
        log_likelihood=state.log_likelihood(),
    )


def _design(bought: Numbers, pack: float, take_off: Numbers, walls: Numbers) -> Design:
    n, k = walls.shape
    start = float(np.log(np.sum(np.maximum(bought - pack / 2, pack / 4)) / np.sum(take_off)))
    return Design(
        X=np.column_stack([np.ones(n), walls]),
        group=np.array([FIXED, *[0] * k]),
        sd0=np.array([LEVEL_SD, *[WALL_SD] * k]),
        prior=np.array([start, *[0.0] * k]),
    )


class _Learning:
    """The state of the iteration: effects, spread of walls, noise."""

    def __init__(self, design: Design, lower: Numbers, upper: Numbers) -> None:
        self.design, self.lower, self.upper = design, lower, upper
        self.beta, self.sd, self.sigma = design.prior.copy(), design.sd0.copy(), STARTING_SD
        self.V = np.diag(self.sd**2)
        self.square = np.zeros(len(upper))
        self.w = np.ones(len(upper))

    def round(self) -> float:
        """One expectation and one maximisation; the largest change."""
        before = np.append(self.beta, self.sigma)
        fitted = self.design.X @ self.beta
        self.w = self._weights(fitted)
        mean, variance = truncated_normal(fitted, self.sigma, self.lower, self.upper)
        precision = 1 / self.sd**2
        weighted = self.design.X * (self.w / self.sigma**2)[:, None]
        self.V = np.asarray(np.linalg.inv(weighted.T @ self.design.X + np.diag(precision)), dtype=float)
        self.beta = self.V @ (weighted.T @ mean + precision * self.design.prior)
        self.square = (mean - self.design.X @ self.beta) ** 2 + variance
        self._learn_wall_spread()
        total = float(self.w.sum())
        pooled = (self.w @ self.square + STARTING_LINES * STARTING_SD**2) / (total + STARTING_LINES)
        self.sigma = max(float(np.sqrt(pooled)), LEAST_SD)
        return float(np.max(np.abs(np.append(self.beta, self.sigma) - before)))

    def _weights(self, fitted: Numbers) -> Numbers:
        outside = np.maximum(np.maximum(self.lower - fitted, fitted - self.upper), 0.0) / self.sigma
        weight = (NU + 1) / (NU + np.maximum(outside**2, 1.0))
        return np.where(outside > FAR_OUT_SD, TINY, weight)

    def _learn_wall_spread(self) -> None:
        walls = slice(1, None)
        gamma = max(float(np.sum(1 - np.diag(self.V)[walls] / self.sd[walls] ** 2)), 0.0)
        learned = (np.sum(self.beta[walls] ** 2) + 2 * A0 * WALL_SD**2) / (gamma + 2 * A0)
        self.sd[walls] = np.sqrt(learned)

    def log_likelihood(self) -> float:
        """Log chance of the intervals; a mis-keyed line cannot cost more than WORST_LINE."""
        fitted = self.design.X @ self.beta
        log_mass = _log_mass((self.lower - fitted) / self.sigma, (self.upper - fitted) / self.sigma)
        return float(np.maximum(log_mass, WORST_LINE).sum())

    def wall_sds(self, walls: Numbers) -> Numbers:
        """Noise of each wall, leaning on the pooled one by ten lines' worth."""
        weight = walls * self.w[:, None]
        pooled = POOL_LINES * self.sigma**2
        found: Numbers = np.sqrt((pooled + weight.T @ self.square) / (POOL_LINES + weight.sum(axis=0)))
        return found


def truncated_normal(mean: Numbers, sd: float, lower: Numbers, upper: Numbers) -> tuple[Numbers, Numbers]:
    """Mean and variance of a normal known to lie between two limits (lower may be minus infinity).

    in:     mean per row, common sd, limits per row
    out:    mean and variance per row; far outside, the nearer limit with no variance
    source: Johnson, Kotz & Balakrishnan 1994, section 13.10 (from memory)
    """
    a, b = (lower - mean) / sd, (upper - mean) / sd
    flip = a > 0  # work in the lower tail, where the logarithm of the normal share keeps its digits
    low, high = np.where(flip, -b, a), np.where(flip, -a, b)
    log_mass = _log_mass(a, b)

    def density(z: Numbers) -> Numbers:
        return np.asarray(np.exp(-0.5 * z**2 - 0.5 * np.log(2 * np.pi) - log_mass))

    safe_low = np.where(np.isfinite(low), low, 0.0)
    at_low, at_high = np.where(np.isfinite(low), density(safe_low), 0.0), density(high)
    shift = at_low - at_high
    inside = np.clip(shift, np.where(np.isfinite(low), low, -np.inf), high)
    variance = np.clip(1 + safe_low * at_low - high * at_high - shift**2, 0.0, 1.0)
    return mean + sd * np.where(flip, -inside, inside), sd**2 * variance


def _log_mass(a: Numbers, b: Numbers) -> Numbers:
    """log of the standard normal share between a and b (a may be minus infinity), exact in both tails."""
    from scipy.special import log_ndtr

    flip = a > 0
    low, high = np.where(flip, -b, a), np.where(flip, -a, b)
    mass: Numbers = log_ndtr(high) + np.log1p(-np.exp(np.minimum(log_ndtr(low) - log_ndtr(high), -TINY)))
    return mass
