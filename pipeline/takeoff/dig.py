"""The dig outside the wall: how wide, how deep, how much more with sloped sides, what goes back."""

import numpy as np

from pipeline.takeoff.openings import Numbers, Openings, numbers, words
from pipeline.takeoff.well import well_volume_yd3
from schemas.units import CUBIC_INCHES_PER_CUBIC_YARD

WORKING_ROOM_ALONG_IN = 24.0  # 12 in beside the well on either side; common practice, no source
WORKING_ROOM_OUT_IN = 18.0  # beyond the well; common practice, no source
NO_WELL_EXTRA_ALONG_IN = 36.0  # pit beside a bare opening; common practice, no source
NO_WELL_OUT_IN = 36.0  # room for one person to kneel; common practice, no source
WELL_SHARE_OF_ITS_BOX = 0.7  # a well is rounded: it fills this share of width x projection x height
LEAST_BACKFILL_YD3 = 0.3  # ground is always made good; common practice, no source

# Horizontal run for one of depth. 29 CFR 1926 Subpart P, Appendix B, Table B-1 (read in a secondary text).
SLOPES = {"A": 0.75, "B": 1.0, "C": 1.5}
# Soil beside a house is old backfill, hence previously disturbed, hence never type A (Appendix A).
SLOPE_WITHOUT_A_COMPETENT_PERSON = "C"

# Loose volume over bank volume, minus 1. Peurifoy Table 4-1 as quoted: middle of the printed range;
# sand and clay: building-estimating text, Examples 9-2 and 9-3.
SWELL = {"sand_gravel": 0.15, "loam": 0.225, "clay": 0.30, "hardpan": 0.45}
SWELL_UNKNOWN_SOIL = 0.30  # common earth 20-45 %, near its middle


def pit_along_wall_in(openings: Openings) -> Numbers:
    """Length of the pit's bottom along the wall. [in]"""
    no_well = words(openings, "well_type") == "none"
    without = numbers(openings, "rough_width_in") + NO_WELL_EXTRA_ALONG_IN
    return np.where(no_well, without, numbers(openings, "well_width_in") + WORKING_ROOM_ALONG_IN)


def pit_out_from_wall_in(openings: Openings) -> Numbers:
    """Width of the pit's bottom, out from the wall. [in]"""
    no_well = words(openings, "well_type") == "none"
    return np.where(no_well, NO_WELL_OUT_IN, numbers(openings, "well_projection_in") + WORKING_ROOM_OUT_IN)


def dig_volume_yd3(openings: Openings) -> Numbers:
    """Bank volume of the pit with vertical sides; 0 where nothing is dug. [yd3]

    in:     well_type, well_width_in, well_projection_in, rough_width_in, depth_below_grade_in, dig_method
    out:    one value per opening, nan where a size is not recorded
    source: volume of a box; working room is common practice, no source
    """
    box = pit_along_wall_in(openings) * pit_out_from_wall_in(openings)
    volume = box * numbers(openings, "depth_below_grade_in") / CUBIC_INCHES_PER_CUBIC_YARD
    return np.where(words(openings, "dig_method") == "none", 0.0, volume)


def sloped_volume_yd3(along_in: Numbers, out_in: Numbers, depth_in: Numbers, *, run_per_depth: float) -> Numbers:
    """Bank volume of a pit whose three free sides slope; the fourth is the house. [yd3]

    in:     bottom sizes and depth in inches; horizontal run for one of depth
    out:    cubic yards, never below the vertical pit
    source: prismoidal formula, depth / 6 x (bottom + 4 x middle + top)
    """
    run_in = run_per_depth * depth_in

    def area_at(share: float) -> Numbers:
        return (along_in + 2 * share * run_in) * (out_in + share * run_in)

    six_mean_areas = area_at(0.0) + 4 * area_at(0.5) + area_at(1.0)
    return depth_in / 6 * six_mean_areas / CUBIC_INCHES_PER_CUBIC_YARD


def slope_multiplier(openings: Openings, soil_type: str = SLOPE_WITHOUT_A_COMPETENT_PERSON) -> Numbers:
    """How many times the vertical pit must be dug when its sides are sloped for this soil type.

    in:     the columns of openings; soil_type A, B or C
    out:    at least 1; 1 where nothing is dug
    source: 29 CFR 1926 Subpart P, Appendix B, Table B-1
    """
    along_in, out_in = pit_along_wall_in(openings), pit_out_from_wall_in(openings)
    depth_in = numbers(openings, "depth_below_grade_in")
    sloped = sloped_volume_yd3(along_in, out_in, depth_in, run_per_depth=SLOPES[soil_type])
    vertical = along_in * out_in * depth_in / CUBIC_INCHES_PER_CUBIC_YARD
    nothing_dug = (words(openings, "dig_method") == "none") | (depth_in == 0)
    return np.where(nothing_dug, 1.0, sloped / np.where(vertical > 0, vertical, 1.0))


def backfill_volume_yd3(openings: Openings) -> Numbers:
    """What goes back round the well; 0 where nothing is dug. [yd3]"""
    remaining = dig_volume_yd3(openings) - WELL_SHARE_OF_ITS_BOX * well_volume_yd3(openings)
    return np.where(
        words(openings, "dig_method") == "none", 0.0, np.maximum(remaining, LEAST_BACKFILL_YD3)
    )


def loose_spoil_yd3(openings: Openings) -> Numbers:
    """Soil to haul away, swollen as it lies in the truck. [loose yd3]

    in:     dig and well sizes, soil
    out:    what does not go back, times 1 + swell of its soil; 0 where nothing is dug
    source: swell factors, see SWELL
    """
    soils = words(openings, "soil")
    swell = np.array([SWELL.get(str(soil), SWELL_UNKNOWN_SOIL) for soil in soils])
    kept_out = np.maximum(dig_volume_yd3(openings) - backfill_volume_yd3(openings), 0.0)
    return np.asarray(kept_out * (1 + swell))
