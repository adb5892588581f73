"""How well callback chances held on openings the model had not seen: folds by job, censoring weighted out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.catalogue import Ready
from pipeline.callbacks.curves import kaplan_meier
from pipeline.callbacks.design import facts_of, filled_gaps
from pipeline.callbacks.exposure import SHORTEST_DAYS, first_of_any
from pipeline.callbacks.forecast import LEAST_EVENTS, any_of, clocks_of, forecast_models, probabilities, with_adjusters
from pipeline.callbacks.hazard import Array
from pipeline.callbacks.history import COMPLAINTS
from pipeline.callbacks.risk import fit_risk, predict_risk
from schemas.units import DAYS_PER_MONTH

FOLDS = 5
HORIZON_DAYS = 730.0  # two years
LEAST_WATCHED = 0.05  # house rule: the horizon is cut to where at least a twentieth is still watched
STEPS = 25
GROUPS = 20  # of jobs, left out one at a time for the ranges
T_95 = 2.093  # Student's t, two-sided 95 %, 19 degrees of freedom


class Figures(NamedTuple):
    """Chances against outcomes.

    observed_over_expected: events over the sum of chances; slope: of events on the complementary log-log of the
    chance (1 = spread right, below 1 = too wide); c_index: chance that of two openings the one called back earlier
    had the higher figure. nan where it cannot be told.
    """

    observed_over_expected: float
    slope: float
    c_index: float


@dataclass(frozen=True)
class Calibration:
    """Held-out chances of any complaint against what came, with 95 % ranges.

    figures nan: fewer than 15 events, or nobody watched long enough
    """

    openings: int
    events: int
    figures: Figures
    low: Figures
    high: Figures


NOTHING = Figures(np.nan, np.nan, np.nan)
Held = Callable[[pl.DataFrame, Sequence[Ready], float], Mapping[str, Array]]


def measured_quotes(population: pl.DataFrame, patterns: Sequence[Ready]) -> Calibration:
    """The chances a quote gives, from what is known before the work: fitted on four fifths of the jobs, held against
    the fifth, five times.

    in:     population: `exposure.at_risk`; patterns: `catalogue.ready_patterns`
    source: inverse probability of censoring weights, Graf and others 1999; C by Uno and others 2011; ranges by leaving
            out a twentieth of the jobs at a time (delete-a-group jackknife, Kott 2001); all from memory
    """
    return _measured(population, patterns, held_out_quotes)


def measured_visits(population: pl.DataFrame, patterns: Sequence[Ready]) -> Calibration:
    """The same for the chances of the visit list, which knows the check cards too."""
    return _measured(population, patterns, held_out_chances)


def _measured(population: pl.DataFrame, patterns: Sequence[Ready], held_out: Held) -> Calibration:
    days, kind = first_of_any(population)
    came = kind > 0
    horizon = _horizon(days, came)
    events = int((came & (days <= horizon)).sum())
    if events < LEAST_EVENTS:
        return Calibration(population.height, events, NOTHING, NOTHING, NOTHING)
    chance = any_of(held_out(population, patterns, horizon))
    fold, group = folds(population), _job_ranks(population) // FOLDS % GROUPS
    figures = compared(chance, days, came, horizon, fold=fold)
    without = [
        compared(chance[kept], days[kept], came[kept], horizon, fold=fold[kept])
        for kept in (group != left_out for left_out in np.unique(group))
    ]
    return Calibration(population.height, events, figures, *_ranges(figures, without))


def _ranges(figures: Figures, without: Sequence[Figures]) -> tuple[Figures, Figures]:
    """95 % ranges from the figures without each group; the ratio's on the log scale."""
    whole, parts = np.array(figures), np.array(without)
    whole[0], parts[:, 0] = np.log(whole[0]), np.log(parts[:, 0])
    spread = T_95 * np.sqrt((len(parts) - 1) / len(parts) * ((parts - parts.mean(axis=0)) ** 2).sum(axis=0))
    low, high = whole - spread, whole + spread
    low[0], high[0] = np.exp(low[0]), np.exp(high[0])
    return Figures(low[0], low[1], max(low[2], 0.0)), Figures(high[0], high[1], min(high[2], 1.0))


def held_out_quotes(population: pl.DataFrame, patterns: Sequence[Ready], horizon: float) -> dict[str, Array]:
    """Chance of each complaint by the horizon as a quote would give it, by a model that has not seen the job."""
    facts, fold = facts_of(population), folds(population)
    crew = population["crew"].fill_null("").to_numpy().astype(str)
    chances = {name: np.zeros(population.height) for name in COMPLAINTS}
    for held in range(FOLDS):
        model = fit_risk(population.filter(pl.Series(fold != held)), patterns)
        for name in np.unique(crew[fold == held]):
            rows = (fold == held) & (crew == name)
            asked = {column: values[rows] for column, values in facts.items()}
            found = predict_risk(model, asked, name or None, months=horizon / DAYS_PER_MONTH)
            for complaint, chance in found.items():
                chances[complaint][rows] = chance
    return chances


def held_out_chances(population: pl.DataFrame, patterns: Sequence[Ready], horizon: float) -> dict[str, Array]:
    """Chance of each complaint by the horizon as the visit list would give it, by a model that has not seen the job."""
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
    return _job_ranks(population) % FOLDS


def _job_ranks(population: pl.DataFrame) -> NDArray[np.int64]:
    ranks: NDArray[np.int64] = population["job_id"].rank("dense").cast(pl.Int64).to_numpy()
    return ranks


def compared(
    chance: Array, days: Array, came: NDArray[np.bool_], horizon: float, *, fold: NDArray[np.int64] | None = None
) -> Figures:
    """Chances against outcomes, openings lost from sight before the horizon weighted out.

    fold: chances are compared within a fold only, as each fold's model has a level of its own: an opening called back
          lowers the level of the model that is asked about it
    """
    fold = np.zeros(len(days), np.int64) if fold is None else fold
    called, weight = _outcomes(days, came, horizon)
    observed, expected = (weight * called).sum(), (weight * chance).sum()
    ratio = float(observed / expected) if expected > 0 else np.nan
    slope = _slope(chance, called, weight, fold)
    return Figures(ratio, slope, _c_index(chance, (days, called > 0, weight), fold))


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


def _c_index(chance: Array, seen: tuple[Array, NDArray[np.bool_], Array], fold: NDArray[np.int64]) -> float:
    """Weighted chance that of two openings in a fold the one called back earlier had the higher figure; ties half.

    in:     seen: day of the call or of the end of watching, whether called by the horizon, weight of each opening
    source: Uno and others 2011: pairs whose first is a call, weighted by the square of its censoring weight
    """
    sums = np.array([_wins(chance[one], *(part[one] for part in seen)) for one in (fold == k for k in np.unique(fold))])
    wins, pairs = sums.sum(axis=0)
    return float(wins / pairs) if pairs > 0 else np.nan


def _wins(chance: Array, days: Array, called: NDArray[np.bool_], weight: Array) -> tuple[float, float]:
    """Weighted pairs won, and all weighted pairs whose first is a call."""
    order = np.argsort(days, kind="stable")
    after = np.searchsorted(days[order], days, side="right")
    by_day = chance[order]
    wins = pairs = 0.0
    for one in np.flatnonzero(called):
        later = by_day[after[one] :]
        won = np.count_nonzero(later < chance[one]) + np.count_nonzero(later == chance[one]) / 2
        wins += weight[one] ** 2 * won
        pairs += weight[one] ** 2 * len(later)
    return wins, pairs
