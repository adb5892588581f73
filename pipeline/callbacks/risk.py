"""Callback risk of an opening still to be made: fitted once, stored as plain numbers, predicted with numpy alone."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from pipeline.callbacks.bands import band_years
from pipeline.callbacks.conditions import columns_used, parse
from pipeline.callbacks.facts import OPENING_FACTS, Facts
from pipeline.callbacks.hazard import Array
from pipeline.callbacks.truth import truth
from schemas.units import DAYS_PER_MONTH

if TYPE_CHECKING:
    import polars as pl

    from pipeline.callbacks.catalogue import Ready
    from pipeline.callbacks.design import Adjusters
    from pipeline.callbacks.forecast import CauseForecast


class PatternTerm(TypedDict):
    """A pattern known before the work starts: its condition, and its share where it is not recorded."""

    name: str
    when: str
    share: float


class CauseModel(TypedDict):
    """One complaint: yearly rate per age band, log effects; `base_rate` when too few events to tell openings apart."""

    baseline: list[float]
    crew: dict[str, float]
    average_crew: float
    wall: dict[str, float]
    average_wall: float
    patterns: list[float]
    events: int
    base_rate: bool


class RiskModel(TypedDict):
    """All complaints. Plain numbers, so that a quote and a page can use them."""

    patterns: list[PatternTerm]
    causes: dict[str, CauseModel]
    openings: int


def predict_risk(
    model: RiskModel, openings: Facts, crew: str | None = None, months: float | Array = 24.0
) -> dict[str, Array]:
    """Chance of at least one visit of each complaint within the first months after completion.

    in:     openings: columns as in the records, an array each (nan, "" or None = not recorded);
            crew: its name, None or unknown = an average crew; months: one number, or one per opening
    out:    complaint -> one value in 0-1 per opening
    """
    rows = len(next(iter(openings.values())))
    days = np.broadcast_to(np.asarray(months, float) * DAYS_PER_MONTH, (rows,))
    years = band_years(days)
    present = _terms(model["patterns"], openings, rows)
    walls = np.asarray(openings["wall_type"], dtype=object)
    found = {}
    for complaint, part in model["causes"].items():
        log_rate = present @ np.array(part["patterns"]) + part["crew"].get(crew or "", part["average_crew"])
        log_rate += np.array([part["wall"].get(wall, part["average_wall"]) for wall in walls])
        found[complaint] = 1 - np.exp(-(years @ np.array(part["baseline"])) * np.exp(log_rate))
    return found


def _terms(patterns: Sequence[PatternTerm], openings: Facts, rows: int) -> Array:
    """1 present, 0 absent, the usual share where it is not recorded: rows x patterns."""
    found = np.zeros((rows, len(patterns)))
    for k, term in enumerate(patterns):
        present = truth(parse(term["when"]), openings, rows)
        found[:, k] = np.where(np.isnan(present), term["share"], present)
    return found


def known_before_work(ready: "Ready") -> bool:
    """Whether a pattern's condition looks at the opening alone, not at the check card or the weather."""
    used = columns_used(ready.tree)
    return bool(used) and used <= set(OPENING_FACTS)


def fit_risk(population: "pl.DataFrame", patterns: Sequence["Ready"]) -> RiskModel:
    """Fit what is known before the work: crew, wall and patterns of the opening; not whether a card will be filled in.

    in:     population: `exposure.at_risk` of openings; patterns: `catalogue.ready_patterns`
    out:    RiskModel; a complaint with fewer than 15 events gives every opening the base rate, and says so
    """
    from pipeline.callbacks.design import NO_CARD, adjusters_of, facts_of
    from pipeline.callbacks.forecast import clocks_of, forecast_models

    usable = [ready for ready in patterns if known_before_work(ready)]
    facts = facts_of(population)
    terms = [_term(ready, facts, population.height) for ready in usable]
    adjusters = adjusters_of(population).without(NO_CARD)
    features = np.column_stack([adjusters.features, _terms(terms, facts, population.height)])
    models = forecast_models(features, adjusters.penalty, clocks_of(population))
    causes = {name: _stored(model, adjusters) for name, model in models.items()}
    return RiskModel(patterns=terms, causes=causes, openings=population.height)


def _term(ready: "Ready", facts: Facts, rows: int) -> PatternTerm:
    present = ready.present(facts, rows)
    recorded = present[~np.isnan(present)]
    share = float(recorded.mean()) if len(recorded) else 0.0
    return PatternTerm(name=ready.pattern.name, when=ready.when, share=share)


def _stored(model: "CauseForecast", adjusters: "Adjusters") -> CauseModel:
    """The model as plain numbers; an unknown crew or wall takes the average rate of the known ones."""
    held = adjusters.features.shape[1]
    named = dict(zip(adjusters.names, model.effects[:held].tolist(), strict=True))
    crew = {name.removeprefix("crew "): effect for name, effect in named.items() if name.startswith("crew ")}
    wall = {name.removeprefix("wall "): effect for name, effect in named.items() if name.startswith("wall ")}
    columns = dict(zip(adjusters.names, adjusters.features.T, strict=True))
    return CauseModel(
        baseline=model.baseline.tolist(),
        crew=crew,
        average_crew=_average(crew, [columns[f"crew {name}"].sum() for name in crew]),
        wall=wall,
        average_wall=_average(wall, [columns[f"wall {name}"].sum() for name in wall]),
        patterns=model.effects[held:].tolist(),
        events=model.events,
        base_rate=model.covariance is None,
    )


def _average(effects: Mapping[str, float], openings: Sequence[float]) -> float:
    """Log of the mean rate over the openings done."""
    if not effects:
        return 0.0
    return float(np.log(np.average(np.exp(list(effects.values())), weights=openings)))
