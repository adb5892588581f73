"""Take-off against printed figures: pits with sloped sides, panel weights, swell, hand-dig rates."""

import numpy as np
import pytest

from pipeline.takeoff import dig, wall_cut
from schemas.units import CUBIC_INCHES_PER_CUBIC_YARD
from tests.unit.takeoff.build_openings import one


@pytest.mark.parametrize(
    ("soil_type", "run", "yd3"),
    [("A", 0.75, 11.04), ("B", 1.0, 14.01), ("C", 1.5, 21.11)],
)
def test_pit_with_three_sloped_sides(soil_type, run, yd3):
    """Bottom 6 ft along the wall by 4 ft, 5 ft deep: vertical 4.44 yd3.

    Slopes: 29 CFR 1926 Subpart P, Appendix B, Table B-1; volumes computed with the prismoid.
    """
    along_in, out_in, depth_in = (np.array([value]) for value in (72.0, 48.0, 60.0))
    assert along_in[0] * out_in[0] * depth_in[0] / CUBIC_INCHES_PER_CUBIC_YARD == pytest.approx(4.44, abs=0.005)
    assert dig.SLOPES[soil_type] == run
    sloped = dig.sloped_volume_yd3(along_in, out_in, depth_in, run_per_depth=run)
    assert sloped[0] == pytest.approx(yd3, abs=0.005)


def test_sloping_multiplies_the_dig_by_two_and_a_half_to_nearly_five():
    """The same pit: 11.04 / 4.44 = 2.48 (type A) and 21.11 / 4.44 = 4.75 (type C). computed.

    Along 72 and out 48 in come from a well 48 in wide and 30 in out.
    """
    pit = one(well_width_in=48.0, well_projection_in=30.0, depth_below_grade_in=60.0)
    assert dig.slope_multiplier(pit, "A")[0] == pytest.approx(2.484, abs=0.001)
    assert dig.slope_multiplier(pit, "C")[0] == pytest.approx(4.750, abs=0.001)


@pytest.mark.parametrize(
    ("case", "pounds"),
    [
        ({"rough_width_in": 48.0, "rough_height_in": 36.0}, 1200.0),  # 4 x 3 ft x 8 in of concrete at 150 pcf
        ({"rough_width_in": 60.0, "rough_height_in": 48.0}, 2000.0),  # 5 x 4 ft: exactly one short ton
        (
            {
                "rough_width_in": 48.0,
                "rough_height_in": 48.0,
                "opening_work": "enlarge",
                "existing_width_in": 32.0,
                "existing_height_in": 16.0,
            },
            1244.4,
        ),
        ({"wall_type": "concrete_block"}, 432.0),  # hollow 8 in block, 36 psf
        ({"wall_type": "concrete_block", "reinforced": 1.0}, 1008.0),  # the same grouted solid, 84 psf
        ({"wall_type": "brick", "wall_thickness_in": 4.0}, 468.0),  # one wythe, 39 psf (ASCE 7-05 C3-1 as quoted)
    ],
)
def test_weight_of_what_is_cut_out(case, pounds):
    """150 pcf lightly reinforced concrete; block table citing ASTM C90-06 and TEK 14-1B. 12 sq ft unless said."""
    assert wall_cut.debris_weight_lb(one(**case))[0] == pytest.approx(pounds, abs=0.05)


@pytest.mark.parametrize(("soil", "swell"), [("sand_gravel", 0.15), ("clay", 0.30)])
def test_swell_of_printed_soils(soil, swell):
    """1,000 bank yd3 of dense clay make 1,300 loose yd3; sand and gravel 15 % (estimating text, Examples 9-2, 9-3)."""
    openings = one(soil=soil)
    kept_out = dig.dig_volume_yd3(openings) - dig.backfill_volume_yd3(openings)
    assert dig.loose_spoil_yd3(openings)[0] / kept_out[0] == pytest.approx(1 + swell)


@pytest.mark.parametrize(
    ("soil", "low", "high"),
    [("sand_gravel", 5, 15), ("loam", 10, 35), ("clay", 30, 60), ("hardpan", 20, 60)],
)
def test_swell_lies_in_the_printed_range(soil, low, high):
    """Peurifoy, Table 4-1, as quoted: sand/gravel 5-15 %, loam 10-35 %, clay 30-60 %, common earth from 20 %."""
    assert low <= 100 * dig.SWELL[soil] <= high
