"""Dig, cut and debris of one opening, by hand."""

import numpy as np
import pytest

from pipeline.takeoff import dig, wall_cut
from tests.unit.takeoff.build_openings import one


def test_pit_is_the_well_plus_working_room():
    """(60 + 24) x (36 + 18) x 54 in = 244,944 cu in = 5.25 yd3."""
    assert dig.dig_volume_yd3(one())[0] == pytest.approx(5.25)


def test_pit_beside_a_bare_opening():
    """No well: (48 + 36) x 36 x 54 in = 163,296 cu in = 3.5 yd3."""
    assert dig.dig_volume_yd3(one(well_type="none"))[0] == pytest.approx(3.5)


def test_nothing_is_dug_in_a_standing_well():
    standing = one(dig_method="none", opening_work="replace")
    assert dig.dig_volume_yd3(standing)[0] == 0
    assert dig.backfill_volume_yd3(standing)[0] == 0
    assert dig.slope_multiplier(standing)[0] == 1


def test_backfill_is_the_dig_less_seven_tenths_of_the_well():
    """Well box 60 x 36 x 48 in = 103,680 cu in = 2.2222 yd3; 5.25 - 0.7 x 2.2222 = 3.6944."""
    assert dig.backfill_volume_yd3(one())[0] == pytest.approx(3.6944, abs=1e-4)


def test_spoil_swells_by_its_soil():
    """5.25 - 3.6944 = 1.5556 yd3 of clay, 30 % swell: 2.0222 loose yd3."""
    assert dig.loose_spoil_yd3(one())[0] == pytest.approx(2.0222, abs=1e-4)


def test_a_new_opening_is_cut_all_round():
    """2 x (48 + 36) = 168 in = 14 ft; through 8 in: 9.333 sq ft."""
    assert wall_cut.cut_length_ft(one())[0] == 14
    assert wall_cut.cut_area_sqft(one())[0] == pytest.approx(9.3333, abs=1e-4)


def test_an_enlarged_opening_is_cut_down_the_sides_and_along_the_bottom():
    """32 x 16 in made 32 wide, 36 high: 2 x 20 + 32 = 72 in = 6 ft; made 48 wide: 2 x 20 + 48 + 2 x 16 = 120 in."""
    deeper = one(opening_work="enlarge", rough_width_in=32.0, existing_width_in=32.0, existing_height_in=16.0)
    wider = one(opening_work="enlarge", existing_width_in=32.0, existing_height_in=16.0)
    assert wall_cut.cut_length_ft(deeper)[0] == 6
    assert wall_cut.cut_length_ft(wider)[0] == 10


def test_a_replaced_window_needs_no_cut():
    same = one(opening_work="replace", existing_width_in=48.0, existing_height_in=36.0)
    assert wall_cut.cut_area_sqft(same)[0] == 0
    assert wall_cut.debris_weight_lb(same)[0] == 0


def test_a_size_that_is_not_recorded_leaves_the_quantity_unknown():
    assert np.isnan(dig.dig_volume_yd3(one(depth_below_grade_in=np.nan))[0])
    assert np.isnan(wall_cut.cut_area_sqft(one(wall_thickness_in=np.nan))[0])
