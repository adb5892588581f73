"""The window well: how high, how much wall, gravel bed, drain and ladder."""

import numpy as np

from pipeline.takeoff.openings import Flags, Numbers, Openings, numbers, words
from schemas.units import CUBIC_INCHES_PER_CUBIC_YARD, INCHES_PER_FOOT, SQUARE_INCHES_PER_SQUARE_FOOT

GRAVEL_BED_IN = 6.0  # under the well; common practice, no source
GRAVEL_PIT_YD3 = 0.25  # a pit about 2 x 2 x 1.7 ft below the bed; common practice, no source
LADDER_ABOVE_DEPTH_IN = 44.0  # strictly deeper: IRC R310.4.2 (2021), R319 (2024)


def has_well(openings: Openings) -> Flags:
    """True where a well is set."""
    return np.asarray(words(openings, "well_type") != "none")


def well_height_in(openings: Openings) -> Numbers:
    """Height of the well: as given, else the dig less the gravel bed; 0 without a well. [in]"""
    from_dig = np.maximum(numbers(openings, "depth_below_grade_in") - GRAVEL_BED_IN, 0.0)
    given = numbers(openings, "well_depth_in")
    return np.where(has_well(openings), np.where(np.isnan(given), from_dig, given), 0.0)


def well_plan_sqin(openings: Openings) -> Numbers:
    """Width times projection; 0 without a well. [sq in]"""
    plan = numbers(openings, "well_width_in") * numbers(openings, "well_projection_in")
    return np.where(has_well(openings), plan, 0.0)


def well_volume_yd3(openings: Openings) -> Numbers:
    """The box that holds the well; 0 without a well. [yd3]"""
    box = well_plan_sqin(openings) * well_height_from_dig_in(openings)
    return np.where(has_well(openings), box, 0.0) / CUBIC_INCHES_PER_CUBIC_YARD


def well_height_from_dig_in(openings: Openings) -> Numbers:
    """Height left for a well in the dig, above its gravel bed. [in]"""
    return np.maximum(numbers(openings, "depth_below_grade_in") - GRAVEL_BED_IN, 0.0)


def well_wall_area_sqft(openings: Openings) -> Numbers:
    """Face of the well, width times height: what setting it is measured by; 0 without a well. [sq ft]"""
    face = numbers(openings, "well_width_in") * well_height_in(openings)
    return np.where(has_well(openings), face, 0.0) / SQUARE_INCHES_PER_SQUARE_FOOT


def gravel_yd3(openings: Openings) -> Numbers:
    """Gravel bed under the well, plus the pit where one drains it. [yd3]"""
    bed = well_plan_sqin(openings) * GRAVEL_BED_IN / CUBIC_INCHES_PER_CUBIC_YARD
    return bed + np.where(words(openings, "drain") == "gravel_pit", GRAVEL_PIT_YD3, 0.0)


def drain_pipe_ft(openings: Openings) -> Numbers:
    """Drain from grade to the bottom of the dig; 0 without a drain. [ft]"""
    length = numbers(openings, "depth_below_grade_in") / INCHES_PER_FOOT
    return np.where(words(openings, "drain") == "none", 0.0, length)


def ladder_count(openings: Openings) -> Numbers:
    """1 where the well is deeper than a person may climb without a fixed ladder, else 0. [ea]

    source: IRC R310.4.2 (2021): strictly more than 44 in
    """
    return np.where(well_height_in(openings) > LADDER_ABOVE_DEPTH_IN, 1.0, 0.0)
