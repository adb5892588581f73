"""How likely each opening is to call back between two ages: all patterns together, strongly shrunk."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.callbacks.bands import BANDS, band_years
from pipeline.callbacks.design import Adjusters, adjusters_of
from pipeline.callbacks.exposure import first_event
from pipeline.callbacks.hazard import Array, Clock, Fit, clock, fit_hazard
from pipeline.callbacks.history import COMPLAINTS

SD_FORECAST = 0.35  # log hazard ratio when all patterns enter together; simulation study, fresh seeds
LEAST_EVENTS = 15  # of a complaint; below it everyone gets the base rate
HALF_AN_EVENT = 0.5  # none seen yet is not never: Jeffreys' prior of a Poisson rate, from memory
YEARS_BEFORE_ANY = 33.0  # with it a new firm starts at 1.5 per 100 opening-years and complaint: house rule
PSEUDO_VISITS = 2.0  # pull of each age band towards the shape shared by all complaints; simulation study, fresh seeds


@dataclass(frozen=True)
class CauseForecast:
    """One complaint's model: log effects of the features (zeros below 15 events), yearly baseline per age band."""

    effects: Array
    baseline: Array
    events: int
    covariance: Array | None


def clocks_of(population: pl.DataFrame) -> dict[str, Clock]:
    """Time at risk of the first visit, for each of the five complaints."""
    return {complaint: clock(*first_event(population, complaint)) for complaint in COMPLAINTS}


def forecast_models(features: Array, penalty: Array, clocks: Mapping[str, Clock]) -> dict[str, CauseForecast]:
    """A model per complaint on the same features.

    in:     features: openings x effects; penalty: of the adjusters (first columns); the rest take the forecast's own sd
    source: ridge on a proportional hazards model with a step baseline, the age shape shared between complaints
    """
    shape = shared_shape(clocks)
    return {name: _cause_model(features, penalty, time, shape) for name, time in clocks.items()}


def shared_shape(clocks: Mapping[str, Clock]) -> Array:
    """Visit rate of each age band over the rate of all ages, all complaints together; 1 where nobody has been yet."""
    events = np.sum([time.band_events for time in clocks.values()], axis=0)
    years = np.sum([time.years.sum(axis=0) for time in clocks.values()], axis=0)
    overall = events.sum() / max(years.sum(), 1e-12)
    if overall == 0:
        return np.ones(BANDS)
    shape: Array = (events + PSEUDO_VISITS) / (years * overall + PSEUDO_VISITS)
    return shape


def _cause_model(features: Array, adjuster_penalty: Array, time: Clock, shape: Array) -> CauseForecast:
    if time.events < LEAST_EVENTS:
        none = np.zeros(features.shape[1])
        return CauseForecast(none, _baseline(time, time.years, shape), time.events, None)
    patterns = np.full(features.shape[1] - len(adjuster_penalty), 1 / SD_FORECAST**2)
    penalty = np.concatenate([np.maximum(adjuster_penalty, 1 / SD_FORECAST**2), patterns])
    fit: Fit = fit_hazard(features, time, penalty)
    weighted = time.years * np.exp(features @ fit.effects)[:, None]
    return CauseForecast(fit.effects, _baseline(time, weighted, shape), time.events, fit.covariance())


def _baseline(time: Clock, weighted_years: Array, shape: Array) -> Array:
    """Yearly rate per band: its own events, pulled by two pseudo-visits to the cause's level times the shared shape."""
    years = weighted_years.sum(axis=0)
    events, watched = time.band_events.sum(), (years * shape).sum()
    level = events / watched if events > 0 else HALF_AN_EVENT / (watched + YEARS_BEFORE_ANY)
    baseline: Array = (time.band_events + PSEUDO_VISITS) / (years + PSEUDO_VISITS / (level * shape))
    return baseline


def probabilities(
    models: Mapping[str, CauseForecast], features: Array, from_days: Array, to_days: Array
) -> dict[str, Array]:
    """Chance of a visit of each complaint between two ages. One value in 0-1 per opening."""
    years = band_years(to_days, from_days)
    return {
        name: 1 - np.exp(-(years @ model.baseline) * np.exp(features @ model.effects))
        for name, model in models.items()
    }


def any_of(chances: Mapping[str, Array]) -> Array:
    """Chance that at least one of several visits comes, each on its own clock."""
    none: Array = np.prod([1 - chance for chance in chances.values()], axis=0)
    return 1 - none


def with_adjusters(population: pl.DataFrame, patterns: Array) -> tuple[Array, Adjusters]:
    """Feature matrix of adjusters and patterns."""
    adjusters = adjusters_of(population)
    return np.column_stack([adjusters.features, patterns]), adjusters
