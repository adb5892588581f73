"""Where a numeric reading begins to bring crews back, multiplicity allowed for; silent when it cannot be placed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.design import Study
from pipeline.callbacks.hazard import Array
from pipeline.callbacks.selection import model

LEAST_EVENTS = 15  # simulation study, fresh seeds; so are the next five
LOW_QUANTILE, HIGH_QUANTILE = 0.10, 0.95
DRAWS = 999
DECLARED_P = 0.05
GRID_STEPS = {
    "anchor_torque_max_lbft": 0.5,
    "anchor_torque_min_lbft": 0.5,
    "substrate_temp_f": 1.0,
    "anchor_count": 1.0,
}
GRID_POINTS = 40  # cuts for a reading without a step of its own: house rule
SEED = 20_240_131  # of the draws under "no threshold"; fixed, so that a book gives one answer
LOW_IS_WORSE = frozenset(
    {"substrate_temp_f", "anchor_count", "anchor_torque_min_lbft", "reveal_min_in", "temp_min_f", "temp_max_f",
     "well_depth_in", "wall_thickness_in"}
)  # fmt: skip
RELATED = {  # readings on the same causal path as the key: held out of the model that gives the expected events
    "anchor_torque_max_lbft": ("anchor_torque_max_lbft", "anchor_torque_min_lbft", "frame_bow_in"),
}


@dataclass(frozen=True)
class Threshold:
    """A searched reading. threshold, low, high are nan unless one is declared.

    events: callbacks of the cause where the reading is recorded;  p: chance of so clear a step if there were none
    """

    reading: str
    cause: str
    events: int
    p: float
    threshold: float
    low: float
    high: float

    @property
    def declared(self) -> bool:
        return bool(np.isfinite(self.threshold))


def find_threshold(study: Study, cause: str, reading: str, held: Sequence[int]) -> Threshold:
    """Search the cut above which (or below which, for readings where low is worse) callbacks are more frequent.

    in:     held: patterns whose effect is allowed for, those about the reading itself left out
    out:    Threshold; p compares the likelihood ratio averaged over all cuts with that of draws in which the same
            number of openings fail in proportion to what is expected of them
    source: average of the likelihood ratio over the places a step may be (Andrews and Ploberger 1994, from memory), its
            p by simulation: found more steps than the largest ratio did on simulated firms, at the same false alarms;
            location by the median and 95 % range over the cuts under the same weights
    """
    values = study.population[reading].cast(float).to_numpy().astype(float)
    recorded = np.isfinite(values)
    event = study.clocks[cause].event & recorded
    events = int(event.sum())
    nothing = Threshold(reading, cause, events, np.nan, np.nan, np.nan, np.nan)
    if events < LEAST_EVENTS:
        return nothing
    expected = model(study, cause, held, sd=0.35).expected[recorded]
    sign = -1.0 if reading in LOW_IS_WORSE else 1.0
    return _searched(nothing, sign, values[recorded] * sign, expected, event[recorded])


def among(found: Threshold, searches: int) -> Threshold:
    """A search that is one of several at once: its p times their number, and no threshold where that is not clear.

    source: Bonferroni's inequality
    """
    p = min(1.0, found.p * searches)
    if p <= DECLARED_P or np.isnan(p):
        return replace(found, p=p)
    return replace(found, p=p, threshold=np.nan, low=np.nan, high=np.nan)


def held_patterns(study: Study, cause: str, reading: str) -> list[int]:
    """Patterns plausible for the cause that do not look at the reading or at readings it brings about."""
    from pipeline.callbacks.conditions import columns_used
    from schemas.vocab import CAUSES

    about = set(RELATED.get(reading, (reading,)))
    c = CAUSES.index(cause)
    return [
        k for k, ready in enumerate(study.patterns) if study.plausible[k, c] and not columns_used(ready.tree) & about
    ]


def _searched(nothing: Threshold, sign: float, values: Array, expected: Array, event: NDArray[np.bool_]) -> Threshold:
    cuts = _cuts(nothing.reading, values)
    if len(cuts) < 2:
        return nothing
    order = np.argsort(values, kind="stable")
    values, expected, event = values[order], expected[order], event[order]
    start = np.searchsorted(values, cuts, side="right")  # first opening beyond each cut
    share = 1 - np.concatenate([[0.0], np.cumsum(expected)])[start] / expected.sum()
    observed = _log_ratio(_beyond(np.flatnonzero(event)[None, :], start), nothing.events, share)[0]
    p = chance_alone(float(average_ratio(observed)), expected, start, share, nothing.events)
    if p > DECLARED_P:
        return Threshold(nothing.reading, nothing.cause, nothing.events, p, np.nan, np.nan, np.nan)
    middle, low, high = (sign * _weighted_quantiles(cuts, observed)).tolist()
    return Threshold(nothing.reading, nothing.cause, nothing.events, p, middle, min(low, high), max(low, high))


def _cuts(reading: str, values: Array) -> Array:
    low, high = np.quantile(values, [LOW_QUANTILE, HIGH_QUANTILE])
    step = GRID_STEPS.get(reading, (high - low) / GRID_POINTS)
    if high <= low or step <= 0:
        return np.empty(0)
    cuts: Array = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    return cuts


def _beyond(rows: NDArray[np.intp], start: NDArray[np.intp]) -> Array:
    """How many of the failed openings (row numbers in the order of the reading) lie beyond each cut: draws x cuts."""
    ranked = np.sort(rows, axis=1)
    return np.array([len(draw) - np.searchsorted(draw, start) for draw in ranked], dtype=float)


def _log_ratio(beyond: Array, events: int, share: Array) -> Array:
    """Log likelihood ratio of each cut, 0 where there are no more events beyond it than expected."""
    from scipy.special import xlogy

    with np.errstate(divide="ignore", invalid="ignore"):
        gain = xlogy(beyond, beyond / (events * share)) + xlogy(
            events - beyond, (events - beyond) / (events * (1 - share))
        )
    return np.where((beyond > events * share) & (share > 0) & (share < 1), gain, 0.0)


def average_ratio(log_ratio: Array) -> Array:
    """Log of the likelihood ratio averaged over the cuts, the last axis."""
    largest = log_ratio.max(axis=-1, keepdims=True)
    average: Array = largest[..., 0] + np.log(np.exp(log_ratio - largest).mean(axis=-1))
    return average


def chance_alone(seen: float, expected: Array, start: NDArray[np.intp], share: Array, events: int) -> float:
    """Share of draws without a threshold in which the average ratio is at least as large.

    in:     seen: the average ratio as a log; expected: events per opening in the order of the reading;
            start: first opening beyond each cut; share: of the expected events beyond it; events: how many there were
    """
    rng = np.random.default_rng(SEED)
    ladder = np.cumsum(expected) / expected.sum()
    drawn = np.searchsorted(ladder, rng.random((DRAWS, events)))
    averages = average_ratio(_log_ratio(_beyond(drawn, start), events, share))
    return float((1 + (averages >= seen - 1e-12).sum()) / (DRAWS + 1))


def _weighted_quantiles(cuts: Array, log_ratio: Array) -> Array:
    """Median and 95 % range of the cut, weighted by its likelihood; the range is half a step wider on each side."""
    weights = np.exp(log_ratio - log_ratio.max())
    ladder = np.cumsum(weights) / weights.sum()
    middle, low, high = (cuts[min(int(np.searchsorted(ladder, q)), len(cuts) - 1)] for q in (0.5, 0.025, 0.975))
    step = cuts[1] - cuts[0]
    return np.array([middle, low - step / 2, high + step / 2])
