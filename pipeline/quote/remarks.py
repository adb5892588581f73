"""Sizes of an opening that contradict one another, and a start that is past: remarked on, not refused."""

from collections.abc import Iterator, Mapping
from typing import Any

RIM_ABOVE_GRADE_IN = 6.0  # a well's rim stands up to this above grade; common practice, no source
LONG_OVER_SHORT = 4.0  # sides of an opening: beyond it a slip of the tape is likelier than such a window; house rule
SIZE_DIGITS = 2

REMARKS: Mapping[str, str] = {
    "no_dig_depth": "No digging is said, yet the dig is to go {} below grade: no hours for a dig are in the price.",
    "no_dig_well": "No digging is said, yet a well is to be set: no hours for a dig are in the price.",
    "deep_well": "The well is {} deep, the dig only {}: one of the two is wrong.",
    "narrow_well": "The well is {} wide, the hole {}: a well is no narrower than its hole.",
    "deep_sill": "The sill is {} below grade, the dig only {}: one of the two is wrong.",
    "lonely_drain": "A drain is asked for but no well: its hours are in the price.",
    "sides": "The hole is {} wide and {} high: check both.",
    "past": "The start, {}, is past on {}, the day of these figures: the price holds the wages of that start.",
}


def remarks(opening: Mapping[str, Any], *, start: str, as_of: str) -> list[str]:
    """What contradicts itself in what was asked, a sentence each.

    in:     one opening, only what was given (None = not given) [in]; ISO days of the start ("" = not given) and of
            the figures
    out:    sentences; none where nothing contradicts. What was assumed is not held against what was given
    source: house rules
    """
    found = [*_of_the_dig(opening), *_of_the_well(opening), *_of_the_hole(opening)]
    if start and start < as_of:
        found.append(REMARKS["past"].format(start, as_of))
    return found


def _size(opening: Mapping[str, Any], name: str) -> float:
    """A size; 0 where it was not given."""
    return float(opening.get(name) or 0)


def _of_the_dig(opening: Mapping[str, Any]) -> Iterator[str]:
    depth, sill = _size(opening, "depth_below_grade_in"), _size(opening, "sill_below_grade_in")
    if opening.get("dig_method") == "none":
        if opening["opening_work"] == "replace":
            return
        if depth > 0:
            yield _said("no_dig_depth", depth)
        elif opening["well_type"] != "none":
            yield _said("no_dig_well")
    elif sill > depth > 0:
        yield _said("deep_sill", sill, depth)


def _of_the_well(opening: Mapping[str, Any]) -> Iterator[str]:
    if opening["well_type"] == "none":
        if opening.get("drain") not in (None, "", "none"):
            yield _said("lonely_drain")
        return
    well, depth = _size(opening, "well_depth_in"), _size(opening, "depth_below_grade_in")
    if depth > 0 and well > depth + RIM_ABOVE_GRADE_IN:
        yield _said("deep_well", well, depth)
    width = _size(opening, "well_width_in")
    if 0 < width < opening["rough_width_in"]:
        yield _said("narrow_well", width, opening["rough_width_in"])


def _of_the_hole(opening: Mapping[str, Any]) -> Iterator[str]:
    width, height = opening["rough_width_in"], opening["rough_height_in"]
    if max(width, height) > LONG_OVER_SHORT * min(width, height):
        yield _said("sides", width, height)


def _said(name: str, *sizes: float) -> str:
    return REMARKS[name].format(*(f"{round(size, SIZE_DIGITS):g} in" for size in sizes))
