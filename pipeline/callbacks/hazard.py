"""Hazard of a first callback: a step baseline over age times exp(effects), effects shrunk towards zero.

The Poisson form of a proportional hazards model (Laird and Olivier 1981; Whitehead 1980; cause-specific hazards:
Prentice and others 1978; from memory), one row per opening, the baseline profiled out at every step.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.bands import BANDS, band_of, band_years
from pipeline.callbacks.flagged import Columns, columns_of

Array = NDArray[np.float64]

MAX_ITERATIONS = 30
MAX_STEP = 2.0  # log rate; keeps the first steps from overshooting
TOLERANCE = 1e-8
HALVINGS = 12


@dataclass(frozen=True)
class Clock:
    """Time at risk of one cause: years per age band, whether the event came and in which band."""

    years: Array
    event: NDArray[np.bool_]
    band_events: Array

    @property
    def events(self) -> int:
        return int(self.event.sum())


@dataclass(frozen=True)
class Fit:
    """A fitted model: effects, baseline rate per band [events/year], information of the effects, expected events."""

    effects: Array
    baseline: Array
    information: Array
    expected: Array

    def covariance(self) -> Array:
        """Covariance of the effects under their penalty."""
        return np.linalg.inv(self.information).astype(float)


def clock(days: Array, came: NDArray[np.bool_]) -> Clock:
    """Exposure and events by age band, from days at risk and whether they ended in an event."""
    bands = band_of(days[came])
    return Clock(band_years(days), came, np.bincount(bands, minlength=BANDS).astype(float))


def fit_hazard(
    features: Array, time: Clock, penalty: Array, *, start: Array | None = None, steps: int = MAX_ITERATIONS
) -> Fit:
    """Penalised maximum likelihood by Newton's method.

    in:     features: rows x effects; penalty: 1/sd^2 of each effect's normal prior around zero
            start: effects to begin from; steps: most Newton steps
    out:    Fit; expected sums to the number of events
    """
    effects = _first_effects(features, start)
    used = time.band_events > 0
    years, counts = time.years[:, used], time.band_events[used]
    columns = columns_of(features)
    score_events = _summed(columns, time.event.astype(float))
    state = _state(effects, columns, years, counts)
    for _ in range(steps):
        gradient = score_events - _summed(columns, state.expected) - penalty * effects
        move: Array = np.linalg.solve(_information(state, columns, counts, penalty), gradient).astype(float)
        move *= min(1.0, MAX_STEP / max(np.abs(move).max(initial=0.0), TOLERANCE))
        effects, state = _improved(effects, move, state, (columns, years, counts, score_events, penalty))
        if np.abs(move).max(initial=0.0) < TOLERANCE:
            break
    baseline = np.zeros(len(used))
    baseline[used] = state.baseline
    return Fit(effects, baseline, _information(state, columns, counts, penalty), state.expected)


def _summed(columns: Columns, values: Array) -> Array:
    return columns.sums(values[:, None])[:, 0]


def _first_effects(features: Array, start: Array | None) -> Array:
    return np.zeros(features.shape[1]) if start is None else start.copy()


@dataclass(frozen=True)
class _State:
    relative: Array
    weighted_years: Array
    baseline: Array
    expected: Array


def _state(effects: Array, columns: Columns, years: Array, counts: Array) -> _State:
    relative = np.exp(np.clip(columns.times(effects), -30, 30))
    weighted = years * relative[:, None]
    baseline = counts / np.maximum(weighted.sum(axis=0), 1e-300)
    return _State(relative, weighted, baseline, weighted @ baseline)


def _information(state: _State, columns: Columns, counts: Array, penalty: Array) -> Array:
    by_band = columns.sums(state.weighted_years * state.baseline)
    result: Array = columns.gram(state.expected) - (by_band / counts) @ by_band.T + np.diag(penalty)
    return result


def _objective(effects: Array, state: _State, counts: Array, score_events: Array, penalty: Array) -> float:
    return float(effects @ score_events + counts @ np.log(state.baseline) - penalty @ effects**2 / 2)


def _improved(
    effects: Array, move: Array, state: _State, data: tuple[Columns, Array, Array, Array, Array]
) -> tuple[Array, _State]:
    """Step along the move, halved until the penalised likelihood does not fall."""
    columns, years, counts, score_events, penalty = data
    before = _objective(effects, state, counts, score_events, penalty)
    for halving in range(HALVINGS):
        trial = effects + move / 2**halving
        new = _state(trial, columns, years, counts)
        if _objective(trial, new, counts, score_events, penalty) >= before - 1e-9:
            return trial, new
    return effects, state
