"""Plain averages, the yardstick of any model: hours by wall type, and one rate per phase."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from pipeline.estimators.records import Finished
from pipeline.estimators.starter import WORD_OF_PHASE
from pipeline.takeoff.openings import Numbers, Words, words
from pipeline.takeoff.phases import JOB_LEVEL_PHASES, MEASURED_PHASES, phase_quantities, possible_phases

FEWEST_OPENINGS = 5  # below this a group takes the average of all; common practice, no source


def wall_averages(train: Finished, openings: Mapping[str, Any]) -> Numbers:
    """Mean hours of the finished openings of the same wall type. [h]

    in:     finished openings; openings to predict
    out:    hours per opening
    source: what a spreadsheet does
    """
    return _group_mean(words(train.openings, "wall_type"), train.total, words(openings, "wall_type"))


def rate_per_phase(train: Finished, openings: Mapping[str, Any]) -> Numbers:
    """Sum over phases of (hours per unit in the past) x quantity, a rate per wall, dig method, well or drain. [h]

    in:     finished openings; openings to predict, without gaps, with openings_in_job
    out:    hours per opening
    source: unit-rate estimating, common practice
    """
    can, quantity = possible_phases(openings), phase_quantities(openings)
    total = np.zeros(len(words(openings, "wall_type")))
    for phase in MEASURED_PHASES:
        word = WORD_OF_PHASE.get(phase, "wall_type")
        total += np.where(can[phase], _rates(phase, train, word, words(openings, word)) * quantity[phase], 0.0)
    return total * (1 + _share_elsewhere(train))


def _share_elsewhere(train: Finished) -> float:
    placed = sum(float(np.nansum(hours)) for hours in train.hours.values())
    return float(train.elsewhere.sum()) / placed if placed else 0.0


def _rates(phase: str, train: Finished, word: str, wanted: Words) -> Numbers:
    hours, quantity = train.hours[phase], train.quantity[phase]
    use = train.possible[phase] & (hours > 0) & (quantity > 0)
    groups = words(train.openings, word)[use]
    overall = _ratio(hours[use], quantity[use])
    if phase in JOB_LEVEL_PHASES:
        return np.full(len(wanted), overall)
    rates = {}
    for group in np.unique(wanted):
        here = groups == group
        rates[group] = _ratio(hours[use][here], quantity[use][here]) if here.sum() >= FEWEST_OPENINGS else overall
    return np.array([rates[group] for group in wanted])


def _ratio(hours: Numbers, quantity: Numbers) -> float:
    return float(hours.sum() / quantity.sum()) if len(hours) else 0.0


def _group_mean(groups: Words, values: Numbers, wanted: Words) -> Numbers:
    overall = float(values.mean())
    means = {}
    for group in np.unique(wanted):
        here = groups == group
        means[group] = float(values[here].mean()) if here.sum() >= FEWEST_OPENINGS else overall
    return np.array([means[group] for group in wanted])
