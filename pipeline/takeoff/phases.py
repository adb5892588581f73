"""The quantity each phase of the work is measured by, and the phases an opening can have."""

from collections.abc import Callable

import numpy as np

from pipeline.takeoff.dig import backfill_volume_yd3, dig_volume_yd3
from pipeline.takeoff.openings import Flags, Numbers, Openings, numbers, words
from pipeline.takeoff.seal import opening_area_sqft, perimeter_ft
from pipeline.takeoff.wall_cut import cut_area_sqft, removed_volume_cuft
from pipeline.takeoff.well import well_wall_area_sqft
from schemas.units import INCHES_PER_FOOT

# In the order of the work; "other" is no phase of its own but what the phases do not explain.
MEASURED_PHASES = (
    "setup",
    "excavation",
    "wall_cutting",
    "frame_setting",
    "window_setting",
    "well_setting",
    "drainage",
    "backfill",
    "cleanup",
    "travel",
)
JOB_LEVEL_PHASES = ("setup", "travel")  # once per job, shared equally by its openings

PHASE_UNITS = {
    "setup": "job",
    "excavation": "cu yd",
    "wall_cutting": "sq ft of cut",
    "frame_setting": "ft of frame",
    "window_setting": "sq ft of window",
    "well_setting": "sq ft of well",
    "drainage": "ft of drain",
    "backfill": "cu yd",
    "cleanup": "cu ft of wall",
    "travel": "job",
}


def _share_of_job(openings: Openings) -> Numbers:
    return 1.0 / numbers(openings, "openings_in_job")


def _drain_depth_ft(openings: Openings) -> Numbers:
    return numbers(openings, "depth_below_grade_in") / INCHES_PER_FOOT


PHASE_QUANTITY: dict[str, Callable[[Openings], Numbers]] = {
    "setup": _share_of_job,
    "excavation": dig_volume_yd3,
    "wall_cutting": cut_area_sqft,
    "frame_setting": perimeter_ft,
    "window_setting": opening_area_sqft,
    "well_setting": well_wall_area_sqft,
    "drainage": _drain_depth_ft,
    "backfill": backfill_volume_yd3,
    "cleanup": removed_volume_cuft,
    "travel": _share_of_job,
}


def phase_quantities(openings: Openings) -> dict[str, Numbers]:
    """Quantity of each phase, in the unit of PHASE_UNITS.

    in:     the columns of openings, nothing missing, plus openings_in_job
    out:    phase -> one value per opening, at least 0
    source: house rule, see the take-off modules
    """
    return {phase: PHASE_QUANTITY[phase](openings) for phase in MEASURED_PHASES}


def possible_phases(openings: Openings) -> dict[str, Flags]:
    """Which phases an opening can have at all: the others are exactly 0.

    in:     opening_work, dig_method, well_type, drain
    out:    phase -> True or False per opening
    source: house rule: nothing is cut to replace a window, nothing dug in a standing well
    """
    always = np.ones(len(openings["wall_type"]), dtype=bool)
    dug = words(openings, "dig_method") != "none"
    rules = {
        "wall_cutting": words(openings, "opening_work") != "replace",
        "excavation": dug,
        "backfill": dug,
        "well_setting": words(openings, "well_type") != "none",
        "drainage": words(openings, "drain") != "none",
    }
    return {phase: rules.get(phase, always) for phase in MEASURED_PHASES}
