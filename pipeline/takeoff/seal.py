"""The frame in the wall: gasket, anchors, shims, foam, sealant and grout."""

import numpy as np

from pipeline.takeoff.openings import Numbers, Openings, numbers, words
from schemas.units import CUBIC_INCHES_PER_CUBIC_FOOT, INCHES_PER_FOOT, SQUARE_INCHES_PER_SQUARE_FOOT

ANCHOR_SPACING_IN = 12.0  # common practice, no source; the anchor maker's sheet decides
GROUT_BAND_IN = 0.5  # gap between frame and cut; common practice, no source
SEALANT_BEADS = 2.0  # one inside, one outside; common practice, no source
LINTEL_BEARING_IN = 6.0  # each side, at least: masonry retrofit article; a designer decides
SHIMS_PER_ANCHOR = 2.0  # a pair; common practice, no source


def perimeter_ft(openings: Openings) -> Numbers:
    """Once round the rough opening. [ft]"""
    perimeter_in = 2 * (numbers(openings, "rough_width_in") + numbers(openings, "rough_height_in"))
    return perimeter_in / INCHES_PER_FOOT


def opening_area_sqft(openings: Openings) -> Numbers:
    """Rough opening, width times height. [sq ft]"""
    area_sqin = numbers(openings, "rough_width_in") * numbers(openings, "rough_height_in")
    return area_sqin / SQUARE_INCHES_PER_SQUARE_FOOT


def gasket_length_ft(openings: Openings) -> Numbers:
    """Butyl tape for one closed loop round the frame. [ft]"""
    return perimeter_ft(openings)


def anchor_count(openings: Openings) -> Numbers:
    """Anchors at most 12 in apart on each of the four sides. [ea]"""
    across = np.ceil(numbers(openings, "rough_width_in") / ANCHOR_SPACING_IN)
    up = np.ceil(numbers(openings, "rough_height_in") / ANCHOR_SPACING_IN)
    return 2 * (across + up)


def shim_count(openings: Openings) -> Numbers:
    """A pair of shims at each anchor. [ea]"""
    return SHIMS_PER_ANCHOR * anchor_count(openings)


def foam_length_ft(openings: Openings) -> Numbers:
    """Foam once round the window. [ft]"""
    return perimeter_ft(openings)


def sealant_length_ft(openings: Openings) -> Numbers:
    """Sealant inside and out. [ft]"""
    return SEALANT_BEADS * perimeter_ft(openings)


def grout_volume_cuft(openings: Openings) -> Numbers:
    """Grout behind the frame, through the whole wall: the frame bears on all of it. [cu ft]"""
    band_sqin = 2 * (numbers(openings, "rough_width_in") + numbers(openings, "rough_height_in")) * GROUT_BAND_IN
    return band_sqin * numbers(openings, "wall_thickness_in") / CUBIC_INCHES_PER_CUBIC_FOOT


def lintel_length_ft(openings: Openings) -> Numbers:
    """Lintel over a cut opening with its bearings; 0 where the wall is left as it is. [ft]"""
    length_in = numbers(openings, "rough_width_in") + 2 * LINTEL_BEARING_IN
    return np.where(words(openings, "opening_work") == "replace", 0.0, length_in) / INCHES_PER_FOOT
