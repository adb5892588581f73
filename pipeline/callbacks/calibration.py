"""How well callback chances held on openings the model had not seen: folds by job, censoring weighted out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.catalogue import Ready
from pipeline.callbacks.curves import kaplan_meier
from pipeline.callbacks.design import facts_of, filled_gaps
from pipeline.callbacks.exposure import COMPLAINTS, SHORTEST_DAYS, first_of_any
from pipeline.callbacks.forecast import LEAST_EVENTS, any_of, clocks_of, forecast_models, probabilities, with_adjusters
from pipeline.callbacks.hazard import Array

FOLDS = 5
HORIZON_DAYS = 730.0  # two years
LEAST_WATCHED = 0.05  # house rule: the horizon is cut to where at least a twentieth is still watched
STEPS = 25


@dataclass(frozen=True)
class Calibration:
    """Held-out chances of any complaint against what came. nan: fewer than 15 events, or nobody watched long enough.

    observed_over_expected: events over the sum of chances; slope: of events on the complementary log-log of the
    chance (1 = spread right, below 1 = too wide); c_index: chance that of two openings the one called back had the
    higher figure
    """

    openings: int
    events: int
    observed_over_expected: float
    slope: float
    c_index: float


def measured_risk(population: pl.DataFrame, patterns: Sequence[Ready]) -> Calibration:
    """Fit on four fifths of the jobs, look at the fifth, five times.

    in:     population: `exposure.at_risk`; patterns: `catalogue.ready_patterns`
    source: inverse probability of censoring weights, Graf and others 1999; C by Uno and others 2011; from memory
    """
    days, kind = first_of_any(population)
    came = kind > 0
    horizon = _horizon(days, came)
    events = int((came & (days <= horizon)).sum())
    if events < LEAST_EVENTS:
        return Calibration(population.height, events, np.nan, np.nan, np.nan)
    chance = any_of(held_out_chances(population, patterns, horizon))
    return compared(chance, days, came, horizon, fold=folds(population))


def held_out_chances(population: pl.DataFrame, patterns: Sequence[Ready], horizon: float) -> dict[str, Array]:
    """Chance of each complaint by the horizon, each opening by a model that has not seen its job."""
    rows = population.height
    present = np.array([ready.present(facts_of(population), rows) for ready in patterns]).reshape(len(patterns), rows).T
    features, adjusters = with_adjusters(population, filled_gaps(present))
    fold = folds(population)
    chances = {name: np.zeros(rows) for name in COMPLAINTS}
    for held in range(FOLDS):
        out = fold == held
        models = forecast_models(features[~out], adjusters.penalty, clocks_of(population.filter(pl.Series(~out))))
        size = int(out.sum())
        found = probabilities(models, features[out], np.zeros(size), np.full(size, horizon))
        for name, chance in found.items():
            chances[name][out] = chance
    return chances


def folds(population: pl.DataFrame) -> NDArray[np.int64]:
    """The fold of each opening; openings of a job are in one."""
    ranks: NDArray[np.int64] = population["job_id"].rank("dense").cast(pl.Int64).to_numpy() % FOLDS
    return ranks


def compared(
    chance: Array, days: Array, came: NDArray[np.bool_], horizon: float, *, fold: NDArray[np.int64] | None = None
) -> Calibration:
    """Chances against outcomes, openings lost from sight before the horizon weighted out.

    fold: chances are compared within a fold only, as each fold's model has a level of its own: an opening called back
          lowers the level of the model that is asked about it
    """
    fold = np.zeros(len(days), np.int64) if fold is None else fold
    called, weight = _outcomes(days, came, horizon)
    events = int((came & (days <= horizon)).sum())
    observed, expected = (weight * called).sum(), (weight * chance).sum()
    ratio = float(observed / expected) if expected > 0 else np.nan
    slope, c_index = (figure(chance, called, weight, fold) for figure in (_slope, _c_index))
    return Calibration(len(days), events, ratio, slope, c_index)


def _horizon(days: Array, came: NDArray[np.bool_]) -> float:
    watched = kaplan_meier(days, ~came)
    long_enough = watched.days[watched.surviving >= LEAST_WATCHED]
    longest = float(days.max()) if len(watched.days) == 0 else float(long_enough.max(initial=0.0))
    return min(HORIZON_DAYS, longest if longest > 0 else float(days.max()))


def _outcomes(days: Array, came: NDArray[np.bool_], horizon: float) -> tuple[Array, Array]:
    """1 called back by the horizon, 0 not; weight 1 over the chance of still being watched then, 0 if lost before."""
    called = came & (days <= horizon)
    kept = called | (days > horizon - SHORTEST_DAYS)
    watched = kaplan_meier(days, ~came)
    at = np.searchsorted(watched.days, np.minimum(days, horizon - SHORTEST_DAYS), side="left") - 1
    still = np.where(at >= 0, watched.surviving[np.maximum(at, 0)], 1.0) if len(watched.days) else np.ones(len(days))
    return called.astype(float), np.where(kept, 1 / np.maximum(still, LEAST_WATCHED / 2), 0.0)


def _slope(chance: Array, called: Array, weight: Array, fold: NDArray[np.int64]) -> float:
    """Slope of a weighted complementary log-log regression of outcomes on the chances' own log-log, by Newton."""
    score = np.log(-np.log1p(-np.clip(chance, 1e-9, 1 - 1e-9)))
    if max(np.ptp(score[fold == one]) for one in np.unique(fold)) < 1e-6:
        return np.nan
    X = np.column_stack([fold[:, None] == np.unique(fold), score]).astype(float)
    beta = np.append(np.zeros(X.shape[1] - 1), 1.0)
    for _ in range(STEPS):
        rate = np.exp(np.clip(X @ beta, -20, 3))
        fitted = np.clip(-np.expm1(-rate), 1e-9, 1 - 1e-9)
        gain = (called - fitted) * rate / fitted
        information = (X * (weight * rate**2 * (1 - fitted) / fitted)[:, None]).T @ X + 1e-9 * np.eye(X.shape[1])
        move = np.linalg.solve(information, X.T @ (weight * gain))
        beta = beta + np.clip(move, -1, 1)
    return float(beta[-1])


def _c_index(chance: Array, called: Array, weight: Array, fold: NDArray[np.int64]) -> float:
    """Weighted chance that a called-back opening had the higher figure of two in a fold; ties count half."""
    parts = [_wins(chance[one], called[one], weight[one]) for one in (fold == k for k in np.unique(fold))]
    wins, pairs = np.sum(parts, axis=0)
    return float(wins / pairs) if pairs > 0 else np.nan


def _wins(chance: Array, called: Array, weight: Array) -> tuple[float, float]:
    """Weighted pairs won, and all pairs of a called-back opening and another."""
    order = np.argsort(chance, kind="stable")
    ranked, cases, controls = chance[order], (weight * called)[order], (weight * (1 - called))[order]
    below = np.concatenate([[0.0], np.cumsum(controls)])
    first = np.searchsorted(ranked, ranked, side="left")
    last = np.searchsorted(ranked, ranked, side="right")
    wins = cases @ (below[first] + below[last]) / 2
    return float(wins), float(cases.sum() * controls.sum())
