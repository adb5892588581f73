"""Escape-opening limits at their boundaries: International Residential Code, section per edition."""

import pytest

from pipeline.errors import InputError
from pipeline.quote.egress import egress_checks

BASE = {"well_type": "steel", "drain": "footing_drain"}


def verdict(rule, edition="2021", local=None, **sizes):
    found = {check.rule: check for check in egress_checks({**BASE, **sizes}, edition=edition, local=local)}
    return found[rule].result


@pytest.mark.parametrize(
    ("width", "height", "below_grade", "expected"),
    [
        (20, 24, 50, "fail"),  # 480 in2 = 3.33 ft2, though each side passes
        (20, 41, 50, "fail"),  # 820 in2 = 5.694 ft2: short of 5.7 (820.8 in2)
        (34.2, 24, 50, "pass"),  # exactly 820.8 in2
        (24, 34.2, 50, "pass"),
        (20, 41.04, 50, "pass"),  # 820.8 in2; binary floats give 5.699999…
        (20, 36, 44, "pass"),  # exactly 5.0 ft2 at the edge of the grade-floor band
        (30, 24, 44.1, "fail"),  # 5.0 ft2, but no longer a grade-floor opening
        (20, 36, -44, "pass"),  # as far above grade
        (32.88, 25.00, 50, "pass"),  # 5.708 ft2, a published example
        (20, 38, None, "cannot_tell"),  # between the two minimums, depth of the sill unknown
        (20, 35, None, "fail"),  # below both minimums
        (None, 41, 50, "cannot_tell"),
    ],
)
def test_clear_area_is_compared_exactly(width, height, below_grade, expected):
    """5.7 ft2, or 5.0 ft2 within 44 in of grade, inclusive (R310.2.1, 2021; R319.2.1, 2024)."""
    sizes = {"clear_width_in": width, "clear_height_in": height, "sill_below_grade_in": below_grade}
    assert verdict("clear_area_ft2", **sizes) == expected
    assert verdict("clear_area_ft2", edition="2024", **sizes) == expected


def test_below_grade_relief_of_2015_and_2018_is_left_to_the_official():
    """Those editions may relieve openings below grade (from memory): we neither pass nor fail them."""
    sizes = {"clear_width_in": 20, "clear_height_in": 36, "sill_below_grade_in": 50}
    assert verdict("clear_area_ft2", edition="2018", **sizes) == "cannot_tell"
    assert verdict("clear_area_ft2", edition="2012", **sizes) == "fail"


@pytest.mark.parametrize(
    ("rule", "column", "at_limit", "beyond"),
    [
        ("clear_height_in", "clear_height_in", 24, 23.99),
        ("clear_width_in", "clear_width_in", 20, 19.99),
        ("sill_above_floor_in", "sill_above_floor_in", 44.0, 44.01),
    ],
)
def test_sides_and_sill_pass_at_their_limit(rule, column, at_limit, beyond):
    """Height 24 in, width 20 in, sill 44 in, inclusive (R310.1 to R310.2.3)."""
    assert verdict(rule, **{column: at_limit}) == "pass"
    assert verdict(rule, **{column: beyond}) == "fail"
    assert verdict(rule) == "cannot_tell"


@pytest.mark.parametrize(
    ("width", "projection", "area", "each"),
    [
        (36, 36, "pass", ("pass", "pass")),  # 9.00 ft2
        (54, 24, "pass", ("pass", "fail")),  # 9.00 ft2 but too shallow
        (37, 35.9, "pass", ("pass", "fail")),  # 9.22 ft2, one side short
        (36, 35.9, "fail", ("pass", "fail")),
    ],
)
def test_well_area_and_both_sides_count(width, projection, area, each):
    """9 ft2 and 36 in each way (R310.4.1, 2021)."""
    sizes = {"well_width_in": width, "well_projection_in": projection}
    assert verdict("well_area_ft2", **sizes) == area
    assert (verdict("well_width_in", **sizes), verdict("well_projection_in", **sizes)) == each


def test_a_ladder_is_needed_only_above_44_inches():
    """Strictly more than 44 in (R310.4.2, 2021)."""
    assert verdict("ladder_needed_at_well_depth_in", well_depth_in=44.0) == "pass"
    assert verdict("ladder_needed_at_well_depth_in", well_depth_in=44.1) == "cannot_tell"


def test_the_section_moves_with_the_edition():
    """The 2024 edition moved these rules from R310 to R319."""
    old, new = (egress_checks(BASE, edition=edition)[0].section for edition in ("2012", "2024"))
    assert (old, new) == ("R310.1.1", "R319.2.1")


def test_a_local_figure_replaces_the_model_code():
    """A firm whose town asks for 24 in of width says so in [codes]."""
    assert verdict("clear_width_in", local={"clear_width_in": 24}, clear_width_in=22) == "fail"
    with pytest.raises(InputError, match="no figure of the code"):
        egress_checks(BASE, edition="2021", local={"clear_widht_in": 24})


def test_a_slip_of_units_is_refused():
    """A clear width of 508 (mm) is no width in inches (house rule: 240 in)."""
    with pytest.raises(InputError, match="slip of units"):
        egress_checks({**BASE, "clear_width_in": 508}, edition="2021")


def test_a_rough_opening_says_nothing_about_egress():
    """Only the window's own clear opening counts; without it every window rule is cannot_tell."""
    checks = egress_checks({**BASE, "rough_width_in": 48, "rough_height_in": 48}, edition="2021")
    assert {check.result for check in checks if check.rule.startswith(("clear", "sill"))} == {"cannot_tell"}


def test_below_grade_without_a_well_fails():
    """An opening whose bottom is below grade needs a well (R310.4, 2021)."""
    opening = {"well_type": "none", "sill_below_grade_in": 1}
    assert [check.result for check in egress_checks(opening, edition="2021")][-1] == "fail"
