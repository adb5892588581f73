"""One ordinary opening, with what a test wants to change."""

import numpy as np

ORDINARY = {
    "wall_type": "poured_concrete",
    "wall_thickness_in": 8.0,
    "opening_work": "new_cut",
    "rough_width_in": 48.0,
    "rough_height_in": 36.0,
    "existing_width_in": 0.0,
    "existing_height_in": 0.0,
    "depth_below_grade_in": 54.0,
    "soil": "clay",
    "dig_method": "hand",
    "reinforced": 0.0,
    "well_type": "steel",
    "well_width_in": 60.0,
    "well_projection_in": 36.0,
    "well_depth_in": float("nan"),
    "drain": "gravel_pit",
}


def one(**changes):
    """The ordinary opening as columns of one row."""
    return {name: np.array([value]) for name, value in {**ORDINARY, **changes}.items()}


def several(*changes):
    """One row per dict of changes."""
    return {name: np.array([{**ORDINARY, **each}[name] for each in changes]) for name in ORDINARY}
