"""Which caution is shown when, and who is named: OSHA 29 CFR 1926, NIOSH, model code."""

import pytest

from pipeline.quote.cautions import cautions


def topics(**opening):
    return {caution.topic for caution in cautions(opening)}


@pytest.mark.parametrize(("depth", "ladder", "protection"), [(47.9, 0, 0), (48, 1, 0), (59.9, 1, 0), (60, 1, 1)])
def test_depth_brings_the_ladder_and_then_the_shoring(depth, ladder, protection):
    """4 ft: way out (1926.651(c)(2)); 5 ft: cave-in protection (1926.652(a)); both inclusive."""
    shown = topics(dig_method="hand", depth_below_grade_in=depth)
    assert ("way out of the dig" in shown, "cave-in" in shown) == (bool(ladder), bool(protection))


def test_a_replacement_in_a_standing_well_neither_digs_nor_cuts():
    """No excavation, silica or load caution where nothing is dug or cut."""
    shown = topics(opening_work="replace", dig_method="none", wall_type="concrete_block", well_type="steel")
    assert not shown & {"buried lines", "edge of the dig", "silica dust", "load above the opening", "engine fumes"}
    assert "open edge" in shown


def test_a_wider_opening_needs_its_load_carried_and_a_taller_one_a_second_look():
    """New cut or wider: design the header; height only: have it confirmed."""
    wider = topics(opening_work="enlarge", rough_width_in=48, existing_width_in=32)
    taller = topics(opening_work="enlarge", rough_width_in=32, existing_width_in=32)
    assert "load above the opening" in wider and "header over a taller opening" not in wider
    assert "header over a taller opening" in taller and "load above the opening" not in taller
    assert "load above the opening" in topics(opening_work="new_cut")


def test_wood_makes_no_silica_and_masonry_two_feet_wide_needs_a_lintel():
    """29 CFR 1926.1153 for concrete, block, brick, stone; lintel from 24 in of masonry opening."""
    assert "silica dust" not in topics(opening_work="new_cut", wall_type="wood_foundation")
    assert "silica dust" in topics(opening_work="new_cut", wall_type="stone")
    assert "lintel" in topics(opening_work="new_cut", wall_type="brick", rough_width_in=24)
    assert "lintel" not in topics(opening_work="new_cut", wall_type="brick", rough_width_in=23.9)


def test_every_caution_names_who_decides():
    """No caution without an authority."""
    shown = cautions({"opening_work": "new_cut", "dig_method": "hand", "depth_below_grade_in": 70, "reinforced": True})
    assert len(shown) >= 9
    assert all(caution.authority for caution in shown)
