"""How many callbacks and dollars go with each pattern, year by year; the parts and the rest add to the whole."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.hazard import Array, Fit
from pipeline.callbacks.history import is_event
from pipeline.callbacks.patterns import Findings
from schemas.results_callbacks import CauseMoney, CauseYear

DRAWS = 1_000  # simulation study, fresh seeds
SEED = 20_240_131  # fixed, so that a book gives one answer
RANGE = (0.025, 0.975)
SHARE_STEPS = 100  # shares of unrecorded patterns are told apart to the hundredth where ranges are drawn


@dataclass(frozen=True)
class Part:
    """What goes with one pattern and cause. callbacks: first visits; cost in USD, net of what was got back.

    cost is of the visits costed so far; nan when none is; by_year: callbacks and cost per calendar year of the report
    """

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
class First:
    """First callbacks of one cause inside the warranty, one value each.

    opening: its row in the population; cost: net, USD, nan while not costed; year: calendar year of the report
    """

    opening: NDArray[np.int64]
    cost: Array
    year: NDArray[np.int64]


def attributable(findings: Findings, cause: str, first: First) -> list[Part]:
    """Callbacks that the flagged patterns of a cause account for, if the links are causal and the faults preventable.

    in:     first: the first callbacks of the cause with what each cost
    out:    a Part per flagged pattern; with several patterns at an opening its share is split in proportion to their
            log hazard ratios, so that the parts and what no pattern explains add to the callbacks and to their cost
    source: attributable fraction over the patterns of those called back (Bruzzi et al. 1985), split as a cheap
            stand-in for averaged fractions (Eide and Gefeller 1995); from memory
    """
    picks = findings.selected[cause]
    if not picks:
        return []
    fit, present = findings.fits[cause], findings.study.filled[first.opening][:, picks]
    shares = shares_of(present, fit.effects[-len(picks) :])
    known = np.isfinite(first.cost)
    cost = np.where(known, first.cost, 0.0) if known.any() else np.full(len(first.cost), np.nan)
    weights = np.column_stack([np.ones(len(cost)), cost])
    ranges = _ranges(present, _drawn_effects(fit, len(picks)), weights)
    names = [findings.study.patterns[k].pattern.name for k in picks]
    years = np.unique(first.year).tolist()
    by_year = [{year: _of_year(first.year == year, weights, share) for year in years} for share in shares.T]
    return [
        Part(
            name, cause,
            float(shares[:, j].sum()), float(ranges[0, j, 0]), float(ranges[1, j, 0]),
            float(cost @ shares[:, j]), float(ranges[0, j, 1]), float(ranges[1, j, 1]),
            by_year[j],
        )
        for j, name in enumerate(names)
    ]  # fmt: skip


def first_callbacks(population: pl.DataFrame, visits: pl.DataFrame, cause: str) -> First:
    """The first callbacks of a cause that the patterns are judged by, with what each cost.

    in:     population: `exposure.at_risk`; visits: the one list of callbacks
    """
    told = placed_visits(population, visits, cause).filter(pl.col("place") == "first")
    return First(
        told["row"].to_numpy().astype(np.int64),
        told["net_cost"].to_numpy().astype(float),
        told["year"].to_numpy().astype(np.int64),
    )


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


def shares_of(present: Array, effects: Array) -> Array:
    """Share of each callback that would be away without the patterns, split in proportion to their log ratios.

    in:     present: callbacks x patterns (0 to 1); effects: log hazard ratio per pattern
    out:    callbacks x patterns; a row adds to 1 - exp(-sum of its effects), 0 where that is not above 0
    """
    pull = present * effects
    log_ratio = pull.sum(axis=-1, keepdims=True)
    shares: Array = pull * np.where(log_ratio > 0, -np.expm1(-log_ratio) / np.maximum(log_ratio, 1e-12), 0.0)
    return shares


def _of_year(here: NDArray[np.bool_], weights: Array, share: Array) -> tuple[float, float]:
    callbacks, cost = (weights[here].T @ share[here]).tolist()
    return callbacks, cost


def _ranges(present: Array, draws: Array, weights: Array) -> Array:
    """95 % range of the parts over drawn effects: low and high x patterns x (callbacks, cost).

    Callbacks with the same patterns are added up first, so that a draw costs little.
    """
    alike, place = np.unique((present * SHARE_STEPS).round() / SHARE_STEPS, axis=0, return_inverse=True)
    sums = np.array([np.bincount(place.ravel(), weights=column, minlength=len(alike)) for column in weights.T])
    parts = np.array([(sums @ shares_of(alike, draw)).T for draw in draws])
    found: Array = np.quantile(parts, RANGE, axis=0)
    return found


def _drawn_effects(fit: Fit, patterns: int) -> Array:
    """Draws of the patterns' log hazard ratios from their normal approximation, not below 0."""
    rng = np.random.default_rng(SEED)
    covariance = fit.covariance()[-patterns:, -patterns:]
    return np.maximum(rng.multivariate_normal(fit.effects[-patterns:], covariance, DRAWS, method="cholesky"), 0.0)


def money_of(placed: pl.DataFrame, parts: Sequence[Part]) -> CauseMoney:
    """All callbacks of a cause that count and their cost, as what goes with flagged patterns, the rest, repeats of the
    same opening, and those outside the warranty; the four costs add to `cost`.

    in:     placed: `placed_visits`; parts: what goes with each flagged pattern of the cause
    out:    USD of the visits costed so far; `not_costed` says how many are not
    """
    explained = sum(part.callbacks for part in parts)
    cost_explained = sum(part.cost for part in parts if np.isfinite(part.cost))
    return _money(placed, explained, cost_explained)


def money_by_year(placed: pl.DataFrame, parts: Sequence[Part]) -> list[CauseYear]:
    """The same for each calendar year in which a callback was reported."""
    years = []
    for year in sorted(placed["year"].unique().to_list()):
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
