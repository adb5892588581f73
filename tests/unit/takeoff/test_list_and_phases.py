"""The whole list, the well, the seal, and the phases an opening can have."""

import numpy as np
import pytest

from pipeline.takeoff import seal, well
from pipeline.takeoff.list import take_off
from pipeline.takeoff.phases import MEASURED_PHASES, phase_quantities, possible_phases
from tests.unit.takeoff.build_openings import one, several


def test_every_line_has_a_unit_and_a_rule():
    for line in take_off(one()).of_opening(0):
        assert line["unit"] and line["rule"] and line["quantity"] is not None, line["name"]


def test_a_line_that_cannot_be_told_is_none_not_zero():
    lines = {line["name"]: line["quantity"] for line in take_off(one(wall_thickness_in=np.nan)).of_opening(0)}
    assert lines["cut_area"] is None
    assert lines["gasket"] == 14


def test_a_name_that_is_not_on_the_list_is_refused():
    with pytest.raises(KeyError):
        take_off(one()).quantity("scaffold")


def test_gasket_goes_once_round():
    """2 x (48 + 36) in = 14 ft; anchors at most 12 in apart: 2 x (4 + 3) = 14; a pair of shims at each."""
    assert seal.gasket_length_ft(one())[0] == 14
    assert seal.anchor_count(one())[0] == 14
    assert seal.shim_count(one())[0] == 28


def test_grout_band_goes_through_the_wall():
    """168 in x 0.5 in x 8 in = 672 cu in = 0.3889 cu ft."""
    assert seal.grout_volume_cuft(one())[0] == pytest.approx(0.3889, abs=1e-4)


def test_the_well_stands_on_a_gravel_bed_of_six_inches():
    """Dig 54 in: well 48 in high, face 60 x 48 / 144 = 20 sq ft; a height that was given wins."""
    assert well.well_wall_area_sqft(one())[0] == 20
    assert well.well_wall_area_sqft(one(well_depth_in=36.0))[0] == 15


def test_gravel_is_the_bed_and_the_pit():
    """60 x 36 x 6 in = 12,960 cu in = 0.2778 yd3, plus 0.25 yd3 for a gravel pit."""
    assert well.gravel_yd3(one())[0] == pytest.approx(0.5278, abs=1e-4)
    assert well.gravel_yd3(one(drain="sump"))[0] == pytest.approx(0.2778, abs=1e-4)


def test_a_ladder_is_needed_only_beyond_44_inches():
    """IRC R310.4.2 (2021): strictly deeper than 44 in."""
    assert well.ladder_count(one(well_depth_in=44.0))[0] == 0
    assert well.ladder_count(one(well_depth_in=44.1))[0] == 1


CAN = {
    "new cut, hand dug, steel well, gravel pit": ({}, set()),
    "replaced in a standing well": (
        {"opening_work": "replace", "dig_method": "none", "well_type": "none", "drain": "none"},
        {"wall_cutting", "excavation", "backfill", "well_setting", "drainage"},
    ),
    "replaced, dug, new well": ({"opening_work": "replace"}, {"wall_cutting"}),
    "no well": ({"well_type": "none"}, {"well_setting"}),
    "no drain": ({"drain": "none"}, {"drainage"}),
}


@pytest.mark.parametrize("case", CAN)
def test_phases_that_cannot_be(case):
    changes, impossible = CAN[case]
    can = possible_phases(one(**changes))
    assert {phase for phase in MEASURED_PHASES if not can[phase][0]} == impossible


def test_setup_is_shared_by_the_openings_of_a_job():
    openings = {**several({}, {}), "openings_in_job": np.array([1.0, 4.0])}
    assert phase_quantities(openings)["setup"].tolist() == [1.0, 0.25]
