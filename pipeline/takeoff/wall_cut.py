"""The cut in the wall: saw length, cut face, what comes out and what it weighs."""

import numpy as np

from pipeline.takeoff.openings import Numbers, Openings, numbers, words, zero_if_absent
from schemas.units import (
    CUBIC_INCHES_PER_CUBIC_FOOT,
    CUBIC_INCHES_PER_CUBIC_YARD,
    INCHES_PER_FOOT,
    SQUARE_INCHES_PER_SQUARE_FOOT,
)

CONCRETE_LB_PER_CUFT = 150.0  # lightly reinforced, residential density table 145-150; ASCE 7 C3-2 (from memory) 150
BRICK_LB_PER_SQFT_PER_IN = 39.0 / 4.0  # 4 in clay brick wythe 39 psf, ASCE 7-05 Table C3-1 as quoted
STONE_LB_PER_CUFT = 165.0  # ashlar granite and limestone, the heavy end; ASCE 7 C3-2, from memory
WOOD_FOUNDATION_LB_PER_SQFT = 10.0  # studs and two sheets of plywood; common practice, no source
# Normal-weight block wall, lb per sq ft by thickness in inches: reference table citing ASTM C90-06, TEK 14-1B.
BLOCK_THICKNESS_IN = (6.0, 8.0, 10.0, 12.0)
BLOCK_HOLLOW_LB_PER_SQFT = (28.0, 36.0, 44.0, 50.0)
BLOCK_SOLID_LB_PER_SQFT = (63.0, 84.0, 104.0, 133.0)


def cut_length_ft(openings: Openings) -> Numbers:
    """Length of saw cut on one face of the wall; 0 where a window is only replaced. [ft]

    in:     opening_work, rough and existing width and height
    out:    one value per opening
    source: a new opening is cut all round; an enlarged one down both sides and along the bottom,
            and beside the old window too where it gets wider
    """
    width_in, height_in = numbers(openings, "rough_width_in"), numbers(openings, "rough_height_in")
    old_width_in = zero_if_absent(openings, "existing_width_in")
    old_height_in = zero_if_absent(openings, "existing_height_in")
    beside_old_in = np.where(width_in > old_width_in, 2 * old_height_in, 0.0)
    enlarged_in = 2 * np.maximum(height_in - old_height_in, 0.0) + width_in + beside_old_in
    work = words(openings, "opening_work")
    length_in = np.where(work == "new_cut", 2 * (width_in + height_in), enlarged_in)
    return np.where(work == "replace", 0.0, length_in) / INCHES_PER_FOOT


def cut_area_sqft(openings: Openings) -> Numbers:
    """Face that the saw goes through: cut length times wall thickness. [sq ft]"""
    return cut_length_ft(openings) * numbers(openings, "wall_thickness_in") / INCHES_PER_FOOT


def removed_area_sqft(openings: Openings) -> Numbers:
    """Wall face taken out: the rough opening less the one that was there. [sq ft]"""
    rough = numbers(openings, "rough_width_in") * numbers(openings, "rough_height_in")
    old = zero_if_absent(openings, "existing_width_in") * zero_if_absent(openings, "existing_height_in")
    return np.maximum(rough - old, 0.0) / SQUARE_INCHES_PER_SQUARE_FOOT


def removed_volume_cuft(openings: Openings) -> Numbers:
    """Wall taken out. [cu ft]"""
    return removed_area_sqft(openings) * numbers(openings, "wall_thickness_in") / INCHES_PER_FOOT


def removed_volume_yd3(openings: Openings) -> Numbers:
    """Wall taken out, in the unit a skip is ordered by. [yd3]"""
    cubic_feet_per_cubic_yard = CUBIC_INCHES_PER_CUBIC_YARD / CUBIC_INCHES_PER_CUBIC_FOOT
    return removed_volume_cuft(openings) / cubic_feet_per_cubic_yard


def wall_lb_per_sqft(openings: Openings) -> Numbers:
    """Weight of one square foot of this wall. [lb/sq ft]

    in:     wall_type, wall_thickness_in, reinforced (a reinforced block wall counts as grouted solid)
    out:    one value per opening; nan for a wall type outside the word list or no thickness
    source: see the constants
    """
    thickness_in = numbers(openings, "wall_thickness_in")
    grouted = np.nan_to_num(numbers(openings, "reinforced")) > 0
    hollow = np.interp(thickness_in, BLOCK_THICKNESS_IN, BLOCK_HOLLOW_LB_PER_SQFT)
    solid = np.interp(thickness_in, BLOCK_THICKNESS_IN, BLOCK_SOLID_LB_PER_SQFT)
    weights = {
        "poured_concrete": CONCRETE_LB_PER_CUFT * thickness_in / INCHES_PER_FOOT,
        "concrete_block": np.where(grouted, solid, hollow),
        "brick": BRICK_LB_PER_SQFT_PER_IN * thickness_in,
        "stone": STONE_LB_PER_CUFT * thickness_in / INCHES_PER_FOOT,
        "wood_foundation": np.full(len(thickness_in), WOOD_FOUNDATION_LB_PER_SQFT),
    }
    walls = words(openings, "wall_type")
    return np.select([walls == wall for wall in weights], list(weights.values()), default=np.nan)


def debris_weight_lb(openings: Openings) -> Numbers:
    """Weight of the wall taken out: never lifted by hand in one piece. [lb]"""
    return removed_area_sqft(openings) * wall_lb_per_sqft(openings)
