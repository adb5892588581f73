"""Rates a person can say: hours per unit of each phase, and use per unit of each item, with their 95 % ranges."""

from collections.abc import Iterator

import numpy as np

from pipeline.estimators.design import RATE
from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.materials import MaterialsModel
from pipeline.estimators.phase_model import PhaseModel
from pipeline.takeoff.list import QUANTITY_UNITS
from pipeline.takeoff.phases import PHASE_UNITS

Z_95 = 1.959964  # standard normal quantile
FEWEST_OPENINGS = 3  # a group met less often has no rate of its own; house rule
MAIN_WORD = {  # what a phase's pace depends on first: common practice, no source
    "excavation": "dig_method",
    "wall_cutting": "wall_type",
    "frame_setting": "wall_type",
    "well_setting": "well_type",
    "drainage": "drain",
    "backfill": "dig_method",
}

RateRow = dict[str, str | float | int]


def hour_rates(model: HoursModel) -> list[RateRow]:
    """Hours per unit of work at the usual size, one row per phase and group (wall, dig, well or drain).

    in:     the fitted hours model
    out:    phase, group, rate and its low and high end [h per unit], unit, openings; adjustments such as reinforced
            or winter are left at none; the rate is of the mean, not of one opening
    source: effects of the phase model; normal range on the log scale
    """
    return [
        row
        for phase, word in MAIN_WORD.items()
        if phase in model.phases
        for row in _phase_rates(model.phases[phase], word)
    ]


def _phase_rates(model: PhaseModel, word: str) -> Iterator[RateRow]:
    base = [at for at, column in enumerate(model.columns) if column.group == RATE]
    unit = f"h per {PHASE_UNITS[model.phase]}"
    for at, column in enumerate(model.columns):
        if column.word != word or column.number != "one" or model.rows_with[at] < FEWEST_OPENINGS:
            continue
        picked = np.zeros(len(model.columns))
        picked[[*base, at]] = 1.0
        middle = float(picked @ model.effects)
        error = max(float(picked @ model.V @ picked), 0.0) ** 0.5
        low, rate, high = (
            np.exp(middle + np.array([-Z_95, 0.0, Z_95]) * error) * model.smearing / model.typical_quantity
        )
        yield {
            "phase": model.phase,
            "group": column.level,
            "rate": float(rate),
            "low": float(low),
            "high": float(high),
            "unit": unit,
            "openings": int(model.rows_with[at]),
        }


def item_uses(model: MaterialsModel) -> list[RateRow]:
    """Use of each item per unit of the take-off quantity it follows, one row per item that follows one.

    in:     the fitted materials model
    out:    item, unit, per (the quantity's name and unit), use and its low and high end, pack_size, lines
    """
    rows = []
    for item in model.items.values():
        if not item.driver:
            continue
        spread = np.exp(np.array([-Z_95, 0.0, Z_95]) * item.standard_error + item.level)
        low, use, high = (float(value) for value in spread)
        rows.append(
            RateRow(
                item=item.item,
                unit=item.unit,
                per=f"{QUANTITY_UNITS[item.driver]} of {item.driver}",
                use=use,
                low=low,
                high=high,
                pack_size=item.pack_size,
                lines=item.lines,
            )
        )
    return rows
