"""Starter rates: what a thin book leans on, by the user's table or else by rough rates with great doubt."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from pipeline.errors import InputError
from pipeline.estimators.design import LEVELS, RATE, SLOPE, SLOPE_SD, Column
from pipeline.takeoff.phases import MEASURED_PHASES

STARTER_SD = 0.3  # a user's rate may be off by a third; simulation study, fresh seeds
ROUGH_SD = 0.8  # a rough rate may be off by a factor of 2 or more; its pull is gone after a few openings
# Hours per unit of the phase's quantity (per job for setup and travel). Common practice, no source, but
# excavation and backfill: hand-dig and hand-fill tables of the Guild of Project Controls, firm soil.
ROUGH_RATES = {
    "setup": 2.0,
    "excavation": 1.2,
    "wall_cutting": 0.5,
    "frame_setting": 0.1,
    "window_setting": 0.08,
    "well_setting": 0.12,
    "drainage": 0.3,
    "backfill": 0.8,
    "cleanup": 0.3,
    "travel": 2.0,
}
# Of an ordinary opening, in the units of the phases; used only where the book has none. Common practice, no source.
ROUGH_QUANTITIES = {
    "setup": 1.0,
    "excavation": 6.0,
    "wall_cutting": 10.0,
    "frame_setting": 14.0,
    "window_setting": 12.0,
    "well_setting": 30.0,
    "drainage": 6.0,
    "backfill": 4.0,
    "cleanup": 9.0,
    "travel": 1.0,
}
# Log of a wall's hours per unit against the middle of walls: hollow block and wood cut faster, rubble slower.
# Common practice, no source; a firm's own few jobs outweigh them.
ROUGH_WALLS = {
    ("wall_cutting", "concrete_block"): -0.25,
    ("wall_cutting", "stone"): 0.35,
    ("wall_cutting", "wood_foundation"): -0.7,
    ("frame_setting", "stone"): 0.25,
}
# The word whose levels may have a rate of their own: "excavation.hand", "wall_cutting.brick" ...
WORD_OF_PHASE = {
    "excavation": "dig_method",
    "wall_cutting": "wall_type",
    "frame_setting": "wall_type",
    "well_setting": "well_type",
    "drainage": "drain",
    "backfill": "dig_method",
}
SOIL = "soil"


def check_starter_rates(rates: Mapping[str, float]) -> None:
    """Refuse a name that means nothing or a rate that is not above 0, naming it and what is allowed.

    errors: InputError
    """
    allowed = allowed_names()
    for name, rate in rates.items():
        if name not in allowed:
            raise InputError(f"starter_rates: '{name}' is not a rate; use one of: {', '.join(sorted(allowed))}")
        if not rate > 0 or not np.isfinite(rate):
            raise InputError(f"starter_rates: {name} is {rate}; it must be more than 0")


def allowed_names() -> set[str]:
    """Every name a starter rate may have: a phase, a phase and a word, or a soil's multiplier."""
    of_words = {f"{phase}.{level}" for phase, word in WORD_OF_PHASE.items() for level in LEVELS[word]}
    return set(MEASURED_PHASES) | of_words | {f"{SOIL}.{soil}" for soil in LEVELS[SOIL]}


def usual_rate(phase: str, rates: Mapping[str, float]) -> tuple[float, bool]:
    """Hours per unit to lean on, and whether it is the user's own.

    in:     a phase; the user's table
    out:    the phase's rate; without one the geometric mean of its words' rates; without those a rough one
    """
    if phase in rates:
        return rates[phase], True
    of_words = [rate for name, rate in rates.items() if name.startswith(f"{phase}.")]
    if of_words:
        return float(np.exp(np.mean(np.log(of_words)))), True
    return ROUGH_RATES[phase], False


def rate_columns(phase: str, typical_quantity: float, rates: Mapping[str, float]) -> list[Column]:
    """The intercept (log hours at the typical quantity) and the slope, with what is believed about them."""
    rate, own = usual_rate(phase, rates)
    level = float(np.log(rate * typical_quantity))
    return [
        Column(RATE, "", "", "one", STARTER_SD if own else ROUGH_SD, level, fixed=True),
        Column(SLOPE, "", "", SLOPE, SLOPE_SD, 1.0, fixed=True),
    ]


def lean_on(columns: list[Column], phase: str, rates: Mapping[str, float]) -> list[Column]:
    """The columns with their prior means: the user's rates, then with spread STARTER_SD, else rough ones of walls."""
    base, _ = usual_rate(phase, rates)
    priors = {}
    for column in columns:
        prior = _prior(column, phase, rates, base)
        if prior is not None:
            priors[column] = prior
    groups = {column.group for column in priors}
    return [
        replace(column, prior=priors.get(column, 0.0), sd0=STARTER_SD)
        if column.group in groups
        else replace(column, prior=_rough(column, phase))
        for column in columns
    ]


def _rough(column: Column, phase: str) -> float:
    of_wall = column.word == "wall_type" and column.number == "one"
    return ROUGH_WALLS.get((phase, column.level), 0.0) if of_wall else 0.0


def _prior(column: Column, phase: str, rates: Mapping[str, float], base: float) -> float | None:
    if column.number != "one":
        return None
    if column.word == SOIL and phase == "excavation" and f"{SOIL}.{column.level}" in rates:
        return float(np.log(rates[f"{SOIL}.{column.level}"]))
    if column.word == WORD_OF_PHASE.get(phase) and f"{phase}.{column.level}" in rates:
        return float(np.log(rates[f"{phase}.{column.level}"] / base))
    return None
