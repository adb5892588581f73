"""Pooled regression on logs: groups of effects learn their own spread, odd entries lose weight."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.takeoff.openings import Numbers

# Simulation study, fresh seeds. Evidence updates: MacKay 1992; Student-t weights: Lange, Little & Taylor 1989;
# smearing: Duan 1983 (all from memory).
NU = 8.0  # degrees of freedom of the noise
A0 = 1.0  # how many prior effects each learned spread is worth, halved
MOST_ROUNDS = 25
ENOUGH = 1e-3  # relative change of the spreads at which the rounds stop
MAD_TO_SD = 1.4826  # normal noise
CLIP = 3.5  # residuals are held to this many noise sds in means
LEAST_NOISE = 1e-8  # keeps a book without any noise finite
LEAST_SPREAD = 1e-6  # a group without any effect

FIXED = -1  # group number of a column whose prior spread is given, not learned


@dataclass(frozen=True)
class Design:
    """Columns of a regression with what is believed about each before the data.

    X rows x columns; group per column (FIXED or a number from 0); sd0 prior spread per column; prior its mean.
    """

    X: Numbers
    group: NDArray[np.int64]
    sd0: Numbers
    prior: Numbers


@dataclass(frozen=True)
class PooledFit:
    """Result: effects, their covariance V, learned spread per column, noise sd, weights of the rows."""

    beta: Numbers
    V: Numbers
    sd: Numbers
    noise_sd: float
    weights: Numbers
    effective_columns: float
    residuals: Numbers
    evidence: float


@dataclass(frozen=True)
class Beliefs:
    """How the data are to be weighed.

    nu: degrees of freedom of the noise (None = normal); noise_sd, noise_rows: what the noise is believed to be,
    worth so many rows; worth: how many prior effects a spread is worth, halved; tolerance: when the rounds stop.
    """

    nu: float | None = NU
    noise_sd: float = 1.0
    noise_rows: float = 0.0
    worth: float = A0
    tolerance: float = ENOUGH
    most_rounds: int = MOST_ROUNDS


def fit_pooled(design: Design, y: Numbers, w0: Numbers, beliefs: Beliefs = Beliefs()) -> PooledFit:
    """Effects of a regression whose groups of columns are shrunk by spreads learned from the data.

    in:     design; y one log per row; w0 weight of each row (rows of one job share noise); beliefs
    out:    PooledFit
    errors: none: without rows the effects are their priors
    source: empirical Bayes with evidence updates, see the module's constants
    """
    fit = _Rounds(design, y, w0, beliefs)
    for _ in range(beliefs.most_rounds):
        if fit.round() < beliefs.tolerance:
            break
    return fit.result()


class _Rounds:
    """The state that one round of the iteration changes: weights, spreads, noise."""

    def __init__(self, design: Design, y: Numbers, w0: Numbers, beliefs: Beliefs) -> None:
        self.design, self.y, self.w0, self.beliefs = design, y, w0, beliefs
        self.sd = design.sd0.copy()
        self.s2 = _starting_noise(design, y) if len(y) else beliefs.noise_sd**2
        self.w = w0
        self.solve()

    def solve(self) -> None:
        X, prior = self.design.X, self.design.prior
        precision = 1.0 / self.sd**2
        weighted = X * (self.w / self.s2)[:, None]
        self.A = weighted.T @ X + np.diag(precision)
        self.V: Numbers = np.asarray(np.linalg.inv(self.A), dtype=float)
        self.beta = self.V @ (weighted.T @ self.y + precision * prior)
        self.r = self.y - X @ self.beta

    def round(self) -> float:
        """One update of noise, spreads and weights; the largest relative change."""
        before = np.append(self.sd, self.s2)
        self.sd = self._learned_spreads()
        self.s2 = self._noise()
        nu = self.beliefs.nu
        if nu is not None:
            self.w = self.w0 * (nu + 1) / (nu + self.r**2 / self.s2)
        self.solve()
        return float(np.max(np.abs(np.append(self.sd, self.s2) / before - 1)))

    def effective_columns(self) -> float:
        return float(len(self.beta) - np.sum(np.diag(self.V) / self.sd**2))

    def _noise(self) -> float:
        total = self.w0.sum()
        if total == 0:
            return self.s2
        left = max(total - self.effective_columns(), 0.3 * total)
        rows, sd = self.beliefs.noise_rows, self.beliefs.noise_sd
        return max(float((np.sum(self.w * self.r**2) + rows * sd**2) / (left + rows)), LEAST_NOISE)

    def _learned_spreads(self) -> Numbers:
        d, sd, worth = self.design, self.sd.copy(), self.beliefs.worth
        off = (self.beta - d.prior) ** 2
        for group in range(int(d.group.max(initial=FIXED)) + 1):
            k = d.group == group
            gamma = max(float(k.sum() - np.diag(self.V)[k].sum() / self.sd[k][0] ** 2), 0.0)
            learned = (off[k].sum() + 2 * worth * d.sd0[k][0] ** 2) / max(gamma + 2 * worth, LEAST_NOISE)
            sd[k] = max(float(np.sqrt(learned)), LEAST_SPREAD)
        return sd

    def result(self) -> PooledFit:
        return PooledFit(
            beta=self.beta,
            V=self.V,
            sd=self.sd,
            noise_sd=float(np.sqrt(self.s2)),
            weights=self.w,
            effective_columns=self.effective_columns(),
            residuals=self.r,
            evidence=self._evidence(),
        )

    def _evidence(self) -> float:
        """Log marginal likelihood up to a constant (Laplace), for choosing between designs of the same rows."""
        fit = _t_log_density(self.r, self.s2, self.beliefs.nu) @ self.w0
        off = self.beta - self.design.prior
        shrink = -0.5 * np.sum((off / self.sd) ** 2) - np.sum(np.log(self.sd))
        return float(fit + shrink - 0.5 * np.linalg.slogdet(self.A)[1])


def _starting_noise(design: Design, y: Numbers) -> float:
    r = y - design.X @ design.prior
    mad = MAD_TO_SD * np.median(np.abs(r - np.median(r)))
    return max(float(mad) ** 2, LEAST_NOISE)


def _t_log_density(r: Numbers, s2: float, nu: float | None) -> Numbers:
    if nu is None:
        return np.asarray(-0.5 * (np.log(s2) + r**2 / s2))
    density: Numbers = -0.5 * np.log(s2) - (nu + 1) / 2 * np.log1p(r**2 / (nu * s2))
    return density


def left_out_effects(design: Design, y: Numbers, fit: PooledFit, folds: NDArray[np.int64]) -> Numbers:
    """Effects with each fold left out in turn, without refits: weights and spreads are held.

    in:     the design, y and fit; folds = fold number of each row, from 0
    out:    folds x columns
    source: block update of the normal equations; simulation study, fresh seeds
    """
    s2 = fit.noise_sd**2
    precision = 1.0 / fit.sd**2
    weighted = design.X * (fit.weights / s2)[:, None]
    A = weighted.T @ design.X + np.diag(precision)
    b = weighted.T @ y + precision * design.prior
    effects = np.empty((int(folds.max(initial=0)) + 1, design.X.shape[1]))
    for fold in range(len(effects)):
        k = folds == fold
        Xk, wk = design.X[k], weighted[k]
        effects[fold] = np.linalg.solve(A - wk.T @ Xk, b - wk.T @ y[k])
    return effects


def left_out_fit(design: Design, effects: Numbers, folds: NDArray[np.int64]) -> Numbers:
    """Fitted value of each row by the effects that never saw its fold."""
    fitted: Numbers = np.einsum("ij,ij->i", design.X, effects[folds])
    return fitted


def clipped(r: Numbers, sd: float) -> Numbers:
    """Residuals held to CLIP noise sds, so that one mis-keyed entry cannot set a mean."""
    limited: Numbers = np.clip(r, -CLIP * sd, CLIP * sd)
    return limited


def smearing(fit: PooledFit) -> float:
    """Mean of exp(residual): turns a median of logs into a mean of hours (Duan 1983), held against odd entries."""
    if not len(fit.residuals):
        return float(np.exp(fit.noise_sd**2 / 2))
    return float(np.average(np.exp(clipped(fit.residuals, fit.noise_sd)), weights=fit.weights))


def leverage(X: Numbers, V: Numbers) -> Numbers:
    """Variance of a prediction from the doubt in the effects, x'Vx per row."""
    variance: Numbers = ((X @ V) * X).sum(axis=1)
    return variance


def as_plain(values: Numbers) -> Any:
    """Arrays as nested lists of floats, for the stored model."""
    return np.asarray(values, dtype=float).tolist()
