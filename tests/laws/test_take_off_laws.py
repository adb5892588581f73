"""True of any opening: quantities are finite, not negative, and never fall as a size grows."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.takeoff.list import take_off
from pipeline.takeoff.phases import phase_quantities, possible_phases

SIZE = st.floats(12, 96)
OPENING = st.fixed_dictionaries(
    {
        "wall_type": st.sampled_from(["poured_concrete", "concrete_block", "brick", "stone", "wood_foundation"]),
        "wall_thickness_in": st.floats(4, 36),
        "opening_work": st.sampled_from(["new_cut", "enlarge", "replace"]),
        "rough_width_in": SIZE,
        "rough_height_in": SIZE,
        "existing_width_in": st.floats(0, 12),
        "existing_height_in": st.floats(0, 12),
        "depth_below_grade_in": st.floats(12, 120),
        "soil": st.sampled_from(["sand_gravel", "loam", "clay", "hardpan", ""]),
        "dig_method": st.sampled_from(["hand", "machine", "none"]),
        "reinforced": st.sampled_from([0.0, 1.0]),
        "well_type": st.sampled_from(["none", "steel", "composite", "masonry", "timber"]),
        "well_width_in": st.floats(36, 96),
        "well_projection_in": st.floats(30, 60),
        "well_depth_in": st.one_of(st.just(float("nan")), st.floats(12, 100)),
        "drain": st.sampled_from(["none", "gravel_pit", "footing_drain", "sump"]),
        "openings_in_job": st.sampled_from([1.0, 2.0, 4.0]),
    }
)
GROWING = st.sampled_from(
    [
        "rough_width_in",
        "rough_height_in",
        "wall_thickness_in",
        "depth_below_grade_in",
        "well_width_in",
        "well_projection_in",
    ]
)
# A deeper pit in a given well leaves more to fill, but a larger well in a given pit leaves less.
MAY_FALL = {"backfill", "loose_spoil"}


def columns(*rows):
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}


@given(OPENING)
@settings(max_examples=150, deadline=None)
def test_every_quantity_is_finite_and_not_negative(opening):
    for line in take_off(columns(opening)).lines:
        assert np.isfinite(line.values).all(), line.name
        assert (line.values >= 0).all(), line.name


@given(OPENING, GROWING, st.floats(0.1, 40))
@settings(max_examples=300, deadline=None)
def test_no_quantity_falls_as_a_size_grows(opening, size, growth):
    grown = {**opening, size: opening[size] + growth}
    for line in take_off(columns(opening, grown)).lines:
        if line.name not in MAY_FALL:
            assert line.values[1] >= line.values[0] - 1e-9, line.name


@given(OPENING)
@settings(max_examples=150, deadline=None)
def test_phases_that_cannot_be_are_told_and_the_others_have_a_quantity(opening):
    possible, quantity = possible_phases(columns(opening)), phase_quantities(columns(opening))
    for phase, values in quantity.items():
        assert np.isfinite(values).all()
        assert (values >= 0).all()
        if opening["opening_work"] == "replace" and phase == "wall_cutting":
            assert not possible[phase][0]


@given(OPENING)
@settings(max_examples=100, deadline=None)
def test_a_slope_never_digs_less(opening):
    lines = take_off(columns(opening))
    vertical, b, c = (lines.quantity(name)[0] for name in ("dig_volume", "dig_volume_sloped_b", "dig_volume_sloped_c"))
    assert vertical <= b + 1e-12 <= c + 2e-12
