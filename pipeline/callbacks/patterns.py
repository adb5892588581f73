"""Install patterns and what they do to callbacks: one finding per pattern and plausible cause, testable or not."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.catalogue import Ready
from pipeline.callbacks.design import Study, study_of
from pipeline.callbacks.hazard import Array, Fit, fit_hazard
from pipeline.callbacks.selection import RULES, Chosen, Rules, choose, model
from schemas.vocab import CAUSES

SD_REPORTED = 0.7  # log hazard ratio; simulation study, fresh seeds
Z_80_POWER = 3.4  # 80 % power at one-sided 0.005: 2.576 + 0.842 (Schoenfeld 1983, from memory)
MANY_EVENTS = 500  # above it ranges are widened for having been selected; simulation study, fresh seeds
STRONG_Q = 0.01
STRONG_EVENTS = 10
WARM_STEPS = 3  # Newton steps from a fit of all but one effect


@dataclass(frozen=True)
class Finding:
    """What is known of one pattern and cause. nan: cannot be told.

    callbacks are first visits per opening inside the warranty; ratio is a hazard ratio, shrunk, with its range
    """

    pattern: str
    cause: str
    text: str
    level: str
    openings_with: int
    openings_without: int
    callbacks_with: int
    callbacks_without: int
    recorded_share: float
    ratio: float
    low: float
    high: float
    p: float
    q: float
    flagged: bool
    enough_data: bool
    smallest_ratio_seen: float
    stands_in_for: str | None


@dataclass(frozen=True)
class Findings:
    """All findings, and the models behind those flagged: per cause the patterns (column numbers) and their fit."""

    study: Study
    findings: list[Finding]
    selected: dict[str, list[int]]
    fits: dict[str, Fit]
    tests: int


@dataclass(frozen=True)
class _Searched:
    """A finished search: what was searched, what was chosen, and the reported model of each cause."""

    study: Study
    chosen: Chosen
    fits: dict[str, Fit]


def find_patterns(population: pl.DataFrame, patterns: Sequence[Ready], *, rules: Rules = RULES) -> Findings:
    """Search all patterns and causes together, then say what each does.

    in:     population: `exposure.at_risk` of openings with checks and weather; patterns: `catalogue.ready_patterns`
    out:    a finding per pattern and plausible cause, and one for any other pair that is flagged
    source: observed against expected with forward selection (see `selection`); ratios from the joint shrunk refit
    """
    study = study_of(population, patterns)
    chosen = choose(study, rules)
    fits = {cause: model(study, cause, chosen.selected[cause], SD_REPORTED) for cause in CAUSES}
    done = _Searched(study, chosen, fits)
    _drop_protective(done)
    findings = [
        _finding(done, k, cause)
        for k in range(len(study.patterns))
        for c, cause in enumerate(CAUSES)
        if study.plausible[k, c] or k in chosen.selected[cause]
    ]
    return Findings(study, findings, chosen.selected, fits, chosen.tests)


def _drop_protective(done: _Searched) -> None:
    """A flag needs a ratio above 1; refit without those that lost it beside the others."""
    for cause, picks in done.chosen.selected.items():
        while picks:
            effects = done.fits[cause].effects[-len(picks) :]
            if effects.min() > 0:
                break
            del picks[int(effects.argmin())]
            done.fits[cause] = model(done.study, cause, picks, SD_REPORTED)


def _finding(done: _Searched, k: int, cause: str) -> Finding:
    study, chosen, c = done.study, done.chosen, CAUSES.index(cause)
    flagged, testable = k in chosen.selected[cause], bool(chosen.testable[k, c])
    counts = _counts(study, k, cause)
    share = _expected_share(study.present[:, k], done.fits[cause].expected)
    by = chosen.stands_in.get((k, cause))
    return Finding(
        study.patterns[k].pattern.name,
        cause,
        study.patterns[k].text,
        _level(flagged, testable, float(chosen.q[k, c]), counts[2]),
        *counts,
        float(np.mean(~np.isnan(study.present[:, k]))) if len(study.present) else np.nan,
        *(_ratio(done, k, cause) if testable else (np.nan, np.nan, np.nan)),
        float(chosen.p[k, c]),
        float(chosen.q[k, c]),
        flagged,
        testable,
        smallest_ratio_seen(counts[2] + counts[3], share),
        study.patterns[by].pattern.name if by is not None and not flagged else None,
    )


def _counts(study: Study, k: int, cause: str) -> tuple[int, int, int, int]:
    """Openings with and without the pattern, first callbacks with and without it."""
    event = study.clocks[cause].event
    with_it, without = study.present[:, k] == 1, study.present[:, k] == 0
    return int(with_it.sum()), int(without.sum()), int((with_it & event).sum()), int((without & event).sum())


def _expected_share(present: Array, expected: Array) -> float:
    recorded = ~np.isnan(present)
    total = expected[recorded].sum()
    return float((np.nan_to_num(present) * expected).sum() / total) if total > 0 else np.nan


def smallest_ratio_seen(events: int, share: float) -> float:
    """Smallest hazard ratio that four in five searches would have found.

    in:     events where the pattern is recorded; share of them expected with the pattern
    source: Schoenfeld 1983 (from memory): exp(3.4 / sqrt(events x share x (1 - share)))
    """
    information = events * share * (1 - share)
    return float(np.exp(Z_80_POWER / np.sqrt(information))) if information > 0 else np.nan


def _level(flagged: bool, testable: bool, q: float, callbacks_with: int) -> str:
    if not testable:
        return "not_enough_data"
    if not flagged:
        return "too_early"
    return "strong" if q <= STRONG_Q and callbacks_with >= STRONG_EVENTS else "likely"


def _ratio(done: _Searched, k: int, cause: str) -> tuple[float, float, float]:
    """Hazard ratio and range from the shrunk refit of the flagged ones; of another pair, from those plus it."""
    fit, picks = done.fits[cause], done.chosen.selected[cause]
    if k not in picks:
        fit, picks = _refit_with(done, k, cause), [*picks, k]
    at = fit.effects.size - len(picks) + picks.index(k)
    sd = np.sqrt(fit.covariance()[at, at])
    reach = _quantile(_confidence(done, cause)) * sd
    effect = fit.effects[at]
    return float(np.exp(effect)), float(np.exp(effect - reach)), float(np.exp(effect + reach))


def _refit_with(done: _Searched, k: int, cause: str) -> Fit:
    study, picks = done.study, done.chosen.selected[cause]
    features = np.column_stack([study.adjusters.features, study.filled[:, [*picks, k]]])
    penalty = np.concatenate([study.adjusters.penalty, np.full(len(picks) + 1, 1 / SD_REPORTED**2)])
    start = np.concatenate([done.fits[cause].effects, [0.0]])
    return fit_hazard(features, study.clocks[cause], penalty, start=start, steps=WARM_STEPS)


def _confidence(done: _Searched, cause: str) -> float:
    """95 %; with many events 1 - 0.05 x flagged/tests (false coverage, Benjamini and Yekutieli 2005, from memory)."""
    found = sum(len(picks) for picks in done.chosen.selected.values())
    if done.study.clocks[cause].events <= MANY_EVENTS or found == 0:
        return 0.95
    return 1 - 0.05 * found / done.chosen.tests


def _quantile(confidence: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(0.5 + confidence / 2))


def uneven_recording(study: Study, k: int) -> NDArray[np.float64]:
    """Share of openings on which pattern k is recorded, per crew in the order of the crew names."""
    recorded = pl.Series("recorded", ~np.isnan(study.present[:, k]))
    by_crew = study.population.select("crew").with_columns(recorded).drop_nulls("crew")
    return by_crew.group_by("crew").agg(pl.col("recorded").mean()).sort("crew")["recorded"].to_numpy()
