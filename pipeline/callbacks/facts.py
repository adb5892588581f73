"""The facts a pattern may look at: columns of the opening, its check card and the weather of its setting day."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from schemas.vocab import WORDS

OPENING_FACTS: Mapping[str, str] = {
    "opening_id": "text",
    "job_id": "text",
    "wall_type": "text",
    "wall_thickness_in": "number",
    "opening_work": "text",
    "rough_width_in": "number",
    "rough_height_in": "number",
    "existing_width_in": "number",
    "existing_height_in": "number",
    "depth_below_grade_in": "number",
    "soil": "text",
    "dig_method": "text",
    "reinforced": "flag",
    "well_type": "text",
    "well_width_in": "number",
    "well_projection_in": "number",
    "well_depth_in": "number",
    "drain": "text",
    "clear_width_in": "number",
    "clear_height_in": "number",
    "sill_above_floor_in": "number",
    "sill_below_grade_in": "number",
    "window_spec": "text",
    "well_spec": "text",
}
CHECK_FACTS: Mapping[str, str] = {
    "checked_on": "date",
    "installer": "text",
    "substrate_temp_f": "number",
    "substrate_wet": "flag",
    "high_spots_removed": "flag",
    "gasket_gap_in": "number",
    "squeeze_out": "text",
    "anchor_count": "number",
    "anchor_torque_max_lbft": "number",
    "anchor_torque_min_lbft": "number",
    "frame_bow_in": "number",
    "diagonal_difference_in": "number",
    "plumb_error_in": "number",
    "reveal_min_in": "number",
    "reveal_max_in": "number",
    "head_bearing": "text",
    "foam_complete": "flag",
    "grout_band": "flag",
    "drain_flow_ok": "flag",
}
WEATHER_FACTS: Mapping[str, str] = {
    "setting_day": "date",
    "setting_month": "number",
    "temp_min_f": "number",
    "temp_max_f": "number",
    "precipitation_in": "number",
}
FACTS: Mapping[str, str] = {**OPENING_FACTS, **CHECK_FACTS, **WEATHER_FACTS}

Facts = Mapping[str, NDArray[np.generic]]
"""One array per column, a row per opening. Not recorded: nan in numbers, NaT in dates, None or "" elsewhere."""


def words_of(column: str) -> tuple[str, ...]:
    """The closed word list of a text column; empty when any text may stand there."""
    return tuple(WORDS.get(column, {}))


def numeric_facts() -> list[str]:
    """Names of the columns that hold a number with a more and a less, in the order of the records; a month has none."""
    return [name for name, kind in FACTS.items() if kind == "number" and name != "setting_month"]
