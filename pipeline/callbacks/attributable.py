"""How many callbacks and dollars go with each pattern, year by year; the parts and the rest add to the whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.callbacks.bands import band_years
from pipeline.callbacks.exposure import first_event
from pipeline.callbacks.hazard import Array, Fit
from pipeline.callbacks.history import is_event
from pipeline.callbacks.patterns import Findings
from schemas.results_callbacks import CauseMoney, CauseYear

DRAWS = 1_000  # simulation study, fresh seeds
SEED = 20_240_131  # fixed, so that a book gives one answer
SEVERITY_LOG_SD_LEAST = 0.3  # house rule: a handful of visits cannot pin the mean cost closer than this, per visit
RANGE = (0.025, 0.975)


@dataclass(frozen=True)
class Part:
    """What goes with one pattern and cause. callbacks: first visits; cost in USD, net of what was got back."""

    pattern: str
    cause: str
    callbacks: float
    callbacks_low: float
    callbacks_high: float
    cost: float
    cost_low: float
    cost_high: float
    by_year: dict[int, tuple[float, float]]


@dataclass(frozen=True)
class Severity:
    """Mean net cost so far of a first callback of one cause [USD], those not costed yet counting as nothing, and the
    standard error of its logarithm. nan: nothing costed.
    """

    mean: float
    log_error: float


def attributable(findings: Findings, cause: str, severity: Severity, as_of: date) -> list[Part]:
    """Callbacks that the flagged patterns of a cause account for, if the links are causal and the faults preventable.

    in:     severity: mean net cost of a first callback of the cause
    out:    a Part per flagged pattern; with several patterns at an opening its share is split in proportion to their
            log hazard ratios, so that the parts and what no pattern explains add to all callbacks of the cause
    source: expected callbacks times the share a pattern adds (Miettinen 1974), split as a cheap stand-in for
            averaged fractions (Eide and Gefeller 1995); from memory
    """
    picks = findings.selected[cause]
    if not picks:
        return []
    fit, study = findings.fits[cause], findings.study
    present, years = study.filled[:, picks], _expected_by_year(findings, cause, fit, as_of)
    effects, draws = fit.effects[-len(picks) :], _drawn_effects(fit, len(picks))
    per_year = {year: split_events(present, effects, expected) for year, expected in years.items()}
    total = np.sum(list(per_year.values()), axis=0)
    alike, expected = _alike(present, fit.expected)
    ranges = np.array([split_events(alike, draw, expected) for draw in draws])
    costs = ranges * _drawn_costs(severity)[:, None]
    low, high = np.quantile(ranges, RANGE, axis=0)
    cost_low, cost_high = np.quantile(costs, RANGE, axis=0)
    return [
        Part(
            study.patterns[k].pattern.name, cause,
            float(total[j]), float(low[j]), float(high[j]),
            float(total[j] * severity.mean), float(cost_low[j]), float(cost_high[j]),
            {year: (float(parts[j]), float(parts[j] * severity.mean)) for year, parts in per_year.items()},
        )
        for j, k in enumerate(picks)
    ]  # fmt: skip


def split_events(present: Array, effects: Array, expected: Array) -> Array:
    """Expected callbacks that would be away without the patterns, split among them in proportion to their log ratios.

    in:     present: openings x patterns; effects: log hazard ratio per pattern; expected: callbacks per opening
    out:    one value per pattern
    """
    pull = present * effects
    log_ratio = pull.sum(axis=1)
    removed = np.where(log_ratio > 0, -np.expm1(-log_ratio) / np.maximum(log_ratio, 1e-12), 0.0)
    parts: Array = (expected * removed) @ pull
    return parts


def _alike(present: Array, expected: Array) -> tuple[Array, Array]:
    """Openings with the same patterns as one row, shares of unrecorded ones to the hundredth; their expected events."""
    rows, place = np.unique(present.round(2), axis=0, return_inverse=True)
    return rows, np.bincount(place.ravel(), weights=expected).astype(float)


def _expected_by_year(findings: Findings, cause: str, fit: Fit, as_of: date) -> dict[int, Array]:
    """Expected first callbacks per opening in each calendar year; the years add to the fit's expected events."""
    study = findings.study
    days, _ = first_event(study.population, cause)
    relative = fit.expected / np.maximum(study.clocks[cause].years @ fit.baseline, 1e-300)
    completed = study.population["completed_on"].to_numpy().astype("datetime64[D]")
    found = {}
    for year in range(completed.min().astype(object).year, as_of.year + 1):
        start = (np.datetime64(f"{year}-01-01") - completed).astype(float)
        until = np.clip(np.minimum(start + _days_in(year), days), 0, None)
        found[year] = (band_years(until, np.clip(start, 0, None)) @ fit.baseline) * relative
    return found


def _days_in(year: int) -> float:
    return float((np.datetime64(f"{year + 1}-01-01") - np.datetime64(f"{year}-01-01")).astype(int))


def _drawn_effects(fit: Fit, patterns: int) -> Array:
    """Draws of the patterns' log hazard ratios from their normal approximation, not below 0."""
    rng = np.random.default_rng(SEED)
    covariance = fit.covariance()[-patterns:, -patterns:]
    return np.maximum(rng.multivariate_normal(fit.effects[-patterns:], covariance, DRAWS, method="cholesky"), 0.0)


def _drawn_costs(severity: Severity) -> Array:
    rng = np.random.default_rng(SEED + 1)
    drawn: Array = severity.mean * np.exp(rng.normal(0.0, severity.log_error, DRAWS))
    return drawn


def severity_of(net_costs: Array) -> Severity:
    """Mean net cost so far of a callback and its uncertainty. nan when none is costed.

    in:     USD, nan while not costed: such a one has cost nothing so far, so that parts and the rest stand on one basis
    """
    known = net_costs[np.isfinite(net_costs)]
    if not len(known):
        return Severity(np.nan, 0.0)
    mean = float(known.mean())
    spread = float(known.std(ddof=1)) / abs(mean) if len(known) > 1 and mean else 0.0
    return Severity(mean * len(known) / len(net_costs), max(spread, SEVERITY_LOG_SD_LEAST) / float(np.sqrt(len(known))))


def first_costs(population: pl.DataFrame, visits: pl.DataFrame, cause: str) -> Array:
    """Net cost of the first callbacks of a cause that the patterns are judged by. [USD; nan while not costed]

    in:     population: `exposure.at_risk`; visits: the one list of callbacks
    """
    told = placed_visits(population, visits, cause).filter(pl.col("place") == "first")
    costs: Array = told["net_cost"].to_numpy().astype(float)
    return costs


def placed_visits(population: pl.DataFrame, visits: pl.DataFrame, cause: str) -> pl.DataFrame:
    """Every callback of a cause that counts, with its place: first, repeat (of the opening's first, in the warranty)
    or outside (before completion, job still open, or after the warranty's end).

    out:    row (of the population; null for an opening not at risk), net_cost (USD; null while not costed), year, place
    """
    at = population.with_row_index("row").select(
        "row", "opening_id", "completed_on", "days_at_risk", first_day=pl.col(f"{cause}_day").cast(pl.Float64)
    )
    counted = visits.filter(pl.col("counts") & (pl.col("complaint") == cause))
    told = counted.join(at, on="opening_id", how="left", validate="m:1").with_columns(
        day=(pl.col("visit_reported_on") - pl.col("completed_on")).dt.total_days().cast(pl.Float64)
    )
    inside = pl.Series(is_event(told["day"].to_numpy(), told["days_at_risk"].to_numpy()), dtype=pl.Boolean)
    is_first = told["day"] == told["first_day"]
    place = pl.when(inside & is_first).then(pl.lit("first")).when(inside).then(pl.lit("repeat"))
    return told.select(
        "row", pl.col("net_cost").cast(pl.Float64), year=pl.col("visit_reported_on").dt.year(),
        place=place.otherwise(pl.lit("outside")),
    )  # fmt: skip


def money_of(placed: pl.DataFrame, parts: Sequence[Part]) -> CauseMoney:
    """All callbacks of a cause that count and their cost, as what goes with flagged patterns, the rest, repeats of the
    same opening, and those outside the warranty; the four costs add to `cost`. What goes with a pattern is an
    expectation, so the rest of a year with few callbacks can fall below 0.

    in:     placed: `placed_visits`; parts: what goes with each flagged pattern of the cause
    out:    USD of the visits costed so far; `not_costed` says how many are not
    """
    explained = sum(part.callbacks for part in parts)
    cost_explained = sum(part.cost for part in parts if np.isfinite(part.cost))
    return _money(placed, explained, cost_explained)


def money_by_year(placed: pl.DataFrame, parts: Sequence[Part]) -> list[CauseYear]:
    """The same for each calendar year with a callback reported, or expected of a pattern."""
    years = []
    for year in sorted({*placed["year"].to_list(), *(year for part in parts for year in part.by_year)}):
        here = [part.by_year.get(year, (0.0, 0.0)) for part in parts]
        explained = sum(callbacks for callbacks, _ in here)
        cost_explained = sum(cost for _, cost in here if np.isfinite(cost))
        years.append(CauseYear(year=year, **_money(placed.filter(pl.col("year") == year), explained, cost_explained)))
    return years


def _money(placed: pl.DataFrame, explained: float, cost_explained: float) -> CauseMoney:
    count = {name: placed.filter(pl.col("place") == name).height for name in ("first", "repeat", "outside")}
    cost = {name: float(placed.filter(pl.col("place") == name)["net_cost"].sum()) for name in count}
    return CauseMoney(
        callbacks=count["first"],
        explained=explained,
        not_explained=count["first"] - explained,
        repeat_callbacks=count["repeat"],
        outside_callbacks=count["outside"],
        not_costed=placed["net_cost"].null_count(),
        cost=sum(cost.values()),
        cost_explained=cost_explained,
        cost_not_explained=cost["first"] - cost_explained,
        repeat_cost=cost["repeat"],
        outside_cost=cost["outside"],
    )
