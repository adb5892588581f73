"""What contradicts itself in an asked opening is remarked on; what was not given contradicts nothing."""

import pytest

from pipeline.quote.remarks import remarks

HOLE = {"opening_work": "new_cut", "rough_width_in": 40.0, "rough_height_in": 48.0, "well_type": "steel"}


def said(start: str = "", **given: object) -> list[str]:
    return remarks({**HOLE, **given}, start=start, as_of="2026-10-30")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"dig_method": "none", "depth_below_grade_in": 60.0}, "No digging is said, yet the dig is to go 60 in"),
        ({"dig_method": "none"}, "No digging is said, yet a well is to be set"),
        ({"well_depth_in": 60.0, "depth_below_grade_in": 30.0}, "The well is 60 in deep, the dig only 30 in"),
        ({"well_width_in": 36.25}, "The well is 36.25 in wide, the hole 40 in"),
        ({"sill_below_grade_in": 50.0, "depth_below_grade_in": 30.0}, "The sill is 50 in below grade, the dig only 30"),
        ({"well_type": "none", "drain": "sump"}, "A drain is asked for but no well"),
        ({"rough_width_in": 3.0, "rough_height_in": 399.0}, "The hole is 3 in wide and 399 in high"),
        ({"start": "2026-10-29"}, "The start, 2026-10-29, is past on 2026-10-30"),
    ],
)
def test_a_contradiction_is_said(given, words):
    [remark] = said(**given)
    assert remark.startswith(words)


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"well_depth_in": 36.0, "depth_below_grade_in": 30.0},  # a rim 6 in above grade
        {"opening_work": "replace", "dig_method": "none", "depth_below_grade_in": 60.0},  # in a standing well
        {"well_type": "none", "drain": "none", "dig_method": "none"},
        {"start": "2026-10-30"},
    ],
)
def test_what_fits_together_is_not_remarked_on(given):
    assert said(**given) == []
