"""Openings under warranty, worst first: chance of a call before the warranty ends, what it would cost, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import polars as pl

from pipeline.callbacks.catalogue import Limits, Ready
from pipeline.callbacks.design import facts_of, filled_gaps
from pipeline.callbacks.forecast import (
    CauseForecast,
    any_of,
    clocks_of,
    forecast_models,
    probabilities,
    with_adjusters,
)
from pipeline.callbacks.hazard import Array
from pipeline.callbacks.history import COMPLAINTS
from pipeline.callbacks.patterns import Finding
from pipeline.callbacks.wording import reading_words, times, times_range

REASON_RATIO = 1.15  # house rule: a pattern that lifts a complaint's rate by less than that is not worth a word
MOST_REASONS = 5
MOST_UNPROVEN = 2
UNPROVEN = "also recorded here, not shown to matter"


@dataclass(frozen=True)
class OpeningsAhead:
    """Openings under warranty with their chances; all arrays one value per opening of `population`.

    calls, costs: each opening's part of the reserve's visits and of its cost [USD]; None while there is no reserve
    """

    population: pl.DataFrame
    patterns: Sequence[Ready]
    present: Array
    chances: Mapping[str, Array]
    models: Mapping[str, CauseForecast]
    calls: Array | None
    costs: Array | None

    @property
    def under_warranty(self) -> int:
        return self.population.height

    @property
    def base_rate(self) -> list[str]:
        """Complaints with too few visits to tell openings apart."""
        return [name for name, model in self.models.items() if model.covariance is None]

    def rows(self, limits: Limits, top: int | None, found: Sequence[Finding]) -> list[dict[str, object]]:
        """The worst openings as plain rows; ties in the order of their ids.

        found: what the search over all patterns says of them: only a flagged one is a reason with a ratio
        """
        told = self._told(found)
        chance = any_of(self.chances)
        worst = np.lexsort((self.population["opening_id"].to_numpy(), -chance))[:top]
        return [self._row(int(i), float(chance[i])) | {"reasons": self._reasons(int(i), told, limits)} for i in worst]

    def _row(self, i: int, chance: float) -> dict[str, object]:
        opening = self.population.row(i, named=True)
        by_cause = {name: float(values[i]) for name, values in self.chances.items()}
        return {
            "opening_id": opening["opening_id"],
            "job_id": opening["job_id"],
            "crew": opening["crew"],
            "completed_on": opening["completed_on"],
            "warranty_ends_on": opening["completed_on"] + timedelta(days=int(opening["warranty_days"])),
            "probability": chance,
            "expected_cost": None if self.costs is None else float(self.costs[i]),
            "by_cause": by_cause,
        }

    def _reasons(self, i: int, told: Sequence["_Told"], limits: Limits) -> list[str]:
        """Flagged patterns first, then broken limits, then what was recorded without having been shown to matter."""
        here = [one for one in told if self.present[i, one.column] == 1]
        proven = [one.text for one in here if one.proven][:MOST_REASONS]
        unproven = [one.text for one in here if not one.proven][:MOST_UNPROVEN]
        opening = self.population.row(i, named=True)
        texts = proven + broken_limits(opening, limits)
        texts += [f"{UNPROVEN}: {', '.join(unproven)}"] if unproven else []
        before = called_before(opening)
        if texts:
            return before + texts
        if len(self.base_rate) == len(self.models):
            return [*before, "too few callbacks yet to tell openings apart: the base rate for its age"]
        return [*before, "nothing recorded that stands out: wall type, crew and age alone"]

    def _told(self, found: Sequence[Finding]) -> list["_Told"]:
        """Every pattern worth a word, the largest lift first; a stand-in speaks through its original."""
        at = {ready.pattern.name: k for k, ready in enumerate(self.patterns)}
        worth: dict[str, _Told] = {}
        for one in found:
            told = self._told_of(at[one.pattern], one) if one.pattern in at and not one.stands_in_for else None
            if told and (one.pattern not in worth or told.rank > worth[one.pattern].rank):
                worth[one.pattern] = told
        return sorted(worth.values(), key=lambda told: told.rank, reverse=True)

    def _told_of(self, column: int, one: Finding) -> "_Told | None":
        if one.flagged:
            often = f"{one.cause} about {times(one.ratio)} as often (range {times_range(one.low, one.high)})"
            return _Told(column=column, proven=True, lift=one.ratio, text=f"{one.text}: {often}")
        lift = float(np.exp(self.models[one.cause].effects[column - len(self.patterns)]))
        return _Told(column=column, proven=False, lift=lift, text=one.text) if lift >= REASON_RATIO else None


@dataclass(frozen=True, kw_only=True)
class _Told:
    """A pattern in words. column: its place among the patterns; proven: flagged by the search; lift: hazard ratio."""

    column: int
    proven: bool
    lift: float
    text: str

    @property
    def rank(self) -> tuple[bool, float]:
        return self.proven, self.lift


def called_before(opening: Mapping[str, object]) -> list[str]:
    """The complaints it has called with already, in words; empty for one that never called."""
    visits = {name: opening.get(f"{name}_visits") or 0 for name in COMPLAINTS}
    told = [f"{name} ({number} times)" if number != 1 else name for name, number in visits.items() if number]
    return [f"has called before: {', '.join(told)}"] if told else []


def broken_limits(opening: Mapping[str, object], limits: Limits) -> list[str]:
    """Readings of one opening beyond the firm's own limits, in words."""
    found = []
    for reading, (least, most) in limits.items():
        (name, unit), value = reading_words(reading), opening.get(reading)
        if not isinstance(value, int | float):
            continue
        if most is not None and value > most:
            found.append(f"outside our own limit: {name} {value:g}{unit}, at most {most:g}{unit}")
        if least is not None and value < least:
            found.append(f"outside our own limit: {name} {value:g}{unit}, at least {least:g}{unit}")
    return found


def remaining_risk(
    population: pl.DataFrame, patterns: Sequence[Ready], to_come: Mapping[str, tuple[float, float]] | None
) -> OpeningsAhead:
    """Chance of at least one more visit of each complaint between now and the end of the warranty.

    in:     population: `exposure.at_risk`; to_come: visits and their cost [USD] still to come per
            complaint, as the reserve has them; None while there is none
    out:    OpeningsAhead, one row per opening whose warranty still runs
    source: see `forecast`; a complaint with fewer than 15 visits gives every opening the base rate for its age
    """
    rows = population.height
    facts = facts_of(population)
    present = np.array([ready.present(facts, rows) for ready in patterns]).reshape(len(patterns), rows).T
    features, adjusters = with_adjusters(population, filled_gaps(present))
    models = forecast_models(features, adjusters.penalty, clocks_of(population))
    age, end = population["age_days"].to_numpy(), population["warranty_days"].to_numpy()
    running = end > age
    chances = probabilities(models, features[running], age[running], end[running])
    kept = population.filter(pl.Series(running))
    calls, costs = (None, None) if to_come is None else parts_of_the_reserve(to_come, chances)
    return OpeningsAhead(kept, patterns, present[running], chances, models, calls, costs)


def parts_of_the_reserve(
    to_come: Mapping[str, tuple[float, float]], chances: Mapping[str, Array]
) -> tuple[Array, Array]:
    """The reserve shared out among the openings in proportion to the calls expected of each; the parts add up to it.

    in:     to_come: visits and their cost [USD] per complaint; chances: of at least one call, per complaint and opening
    out:    visits and USD per opening
    source: a chance p of at least one call stands for -log(1 - p) calls, those of a Poisson process
    """
    parts = np.zeros((2, len(next(iter(chances.values())))))
    for name, chance in chances.items():
        calls = -np.log1p(-chance)
        if calls.sum() > 0:
            parts += np.outer(to_come[name], calls / calls.sum())
    return parts[0], parts[1]
