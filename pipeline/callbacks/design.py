"""What the hazard model sees: crews, walls, missing cards as shrunk effects; patterns with their gaps filled."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.catalogue import Ready
from pipeline.callbacks.exposure import first_event
from pipeline.callbacks.facts import FACTS, Facts
from pipeline.callbacks.hazard import Array, Clock, clock
from schemas.vocab import CAUSES, WALL_TYPE

SD_CREW = 0.5  # log rate; simulation study, fresh seeds; so are the next two
SD_WALL = 0.5
SD_NO_CARD = 0.5
NO_CARD = "no check card"
SAME_AGREEMENT = 0.98  # house rule: patterns differing on at most 2 % of the openings with (or without) are one
SAME_RECORDED = 0.9  # house rule: ... if the firm's own is recorded on so large a share of the other's openings
RIDGE_FILL = 2.0
FILL_LEAST, FILL_MOST = 0.01, 0.99


@dataclass(frozen=True)
class Adjusters:
    """Effects held in every model: their names, a column each, and the penalty of each."""

    names: tuple[str, ...]
    features: Array
    penalty: Array

    def without(self, name: str) -> "Adjusters":
        """All but one."""
        kept = np.array([other != name for other in self.names])
        return Adjusters(tuple(n for n in self.names if n != name), self.features[:, kept], self.penalty[kept])


@dataclass(frozen=True)
class Study:
    """Everything the search for patterns works on, one row per opening at risk.

    present: rows x patterns, 1 / 0 / nan not recorded;  filled: the same with nan replaced by what the others suggest
    plausible: patterns x causes
    same_as: built-in patterns that are a pattern of the firm's own under another name, by (pattern, cause)
    """

    population: pl.DataFrame
    patterns: tuple[Ready, ...]
    present: Array
    filled: Array
    plausible: NDArray[np.bool_]
    same_as: Mapping[tuple[int, str], int]
    adjusters: Adjusters
    clocks: Mapping[str, Clock]


def study_of(population: pl.DataFrame, patterns: Sequence[Ready]) -> Study:
    """Put the population of `exposure.at_risk` and the patterns into matrices."""
    facts = facts_of(population)
    rows = population.height
    present = np.array([ready.present(facts, rows) for ready in patterns]).reshape(len(patterns), rows).T
    plausible = np.array([[cause in ready.pattern.causes for cause in CAUSES] for ready in patterns])
    clocks = {cause: clock(*first_event(population, cause)) for cause in CAUSES}
    return Study(
        population,
        tuple(patterns),
        present,
        filled_gaps(present),
        plausible.reshape(len(patterns), len(CAUSES)),
        _same_findings(patterns, present),
        adjusters_of(population),
        clocks,
    )


def _same_findings(patterns: Sequence[Ready], present: Array) -> dict[tuple[int, str], int]:
    """The firm's own pattern takes the place of a built-in one that says the same, for the causes it names."""
    own = [k for k, ready in enumerate(patterns) if ready.pattern.own]
    return {
        (k, cause): mine
        for mine in own
        for k, ready in enumerate(patterns)
        if not ready.pattern.own and _same(present[:, mine], present[:, k])
        for cause in patterns[mine].pattern.causes
    }


def _same(mine: Array, other: Array) -> bool:
    both = ~np.isnan(mine) & ~np.isnan(other)
    recorded = int((~np.isnan(other)).sum())
    if both.sum() < max(SAME_RECORDED * recorded, 1) or other[both].std() == 0:
        return False
    differ = (mine[both] != other[both]).sum()
    return bool(differ <= (1 - SAME_AGREEMENT) * min((other[both] == 1).sum(), (other[both] == 0).sum()))


def facts_of(frame: pl.DataFrame) -> Facts:
    """The columns of a frame that patterns may look at, as arrays (see `facts.Facts`)."""
    return {name: _array(frame[name], FACTS[name]) for name in frame.columns if name in FACTS}


def _array(column: pl.Series, kind: str) -> NDArray[np.generic]:
    if kind == "number":
        return column.cast(pl.Float64).to_numpy()
    if kind == "flag":
        return column.cast(pl.Boolean).cast(pl.Float64).to_numpy()
    if kind == "date":
        return column.cast(pl.Date).to_numpy()
    return np.array(column.cast(pl.String).to_list(), dtype=object)


def adjusters_of(population: pl.DataFrame) -> Adjusters:
    """Columns for crews, wall types and openings without a check card.

    An opening whose crew is not recorded gets none of the crew columns: the average crew.
    """
    crews = sorted(population["crew"].drop_nulls().unique().to_list())
    walls = [wall for wall in WALL_TYPE if wall in set(population["wall_type"].to_list())]
    columns = [_is(population["crew"], crew) for crew in crews]
    columns += [_is(population["wall_type"], wall) for wall in walls]
    columns.append(population["checked_on"].is_null().cast(pl.Float64).to_numpy())
    sds = [SD_CREW] * len(crews) + [SD_WALL] * len(walls) + [SD_NO_CARD]
    names = (*(f"crew {crew}" for crew in crews), *(f"wall {wall}" for wall in walls), NO_CARD)
    return Adjusters(names, np.array(columns).T, 1 / np.array(sds) ** 2)


def _is(column: pl.Series, word: str) -> Array:
    return (column == word).fill_null(False).cast(pl.Float64).to_numpy()


def filled_gaps(present: Array) -> Array:
    """Replace what is not recorded by its conditional mean given the other patterns.

    Ridge regression of each pattern on the others over the openings where it is recorded, their own gaps at their
    mean; clipped to 0.01-0.99. A pattern never recorded is filled with its lowest value.
    """
    recorded = ~np.isnan(present)
    counts = recorded.sum(axis=0)
    means = np.where(recorded, present, 0.0).sum(axis=0) / np.maximum(counts, 1)
    rough = np.where(recorded, present, means) - means
    filled = np.where(recorded, present, 0.0)
    for k in range(present.shape[1]):
        gaps = ~recorded[:, k]
        if gaps.any():
            suggested = means[k] + _suggested(rough, k, recorded[:, k])
            filled[gaps, k] = np.clip(suggested, FILL_LEAST, FILL_MOST)[gaps]
    return filled


def _suggested(rough: Array, k: int, rows: NDArray[np.bool_]) -> Array:
    """What the other columns say about column k's distance from its mean."""
    others = np.delete(rough, k, axis=1)
    seen = others[rows]
    gram = seen.T @ seen + RIDGE_FILL * np.eye(seen.shape[1])
    slopes = np.linalg.solve(gram, seen.T @ rough[rows, k])
    suggested: Array = others @ slopes
    return suggested
