"""Gaps filled and said, starter rates checked and leaned on."""

import numpy as np
import pytest

from pipeline.errors import InputError, NotEnoughRecords
from pipeline.estimators.experience import Experience, standing
from pipeline.estimators.hours import fit_hours, predict_hours
from pipeline.estimators.known import fill_gaps, learn_defaults
from pipeline.estimators.starter import check_starter_rates, usual_rate
from tests.unit.estimators.build_records import jobs, labour, openings
from tests.unit.takeoff.build_openings import one, several

PAST = several(
    {"wall_thickness_in": 8.0},
    {"wall_thickness_in": 10.0, "soil": "loam"},
    {"wall_thickness_in": 10.0},
    {"wall_type": "stone", "wall_thickness_in": 18.0, "reinforced": np.nan},
)


def test_a_missing_thickness_is_the_middle_of_its_wall_type():
    filled, assumed = fill_gaps(one(wall_thickness_in=np.nan), learn_defaults(PAST))
    assert filled["wall_thickness_in"].tolist() == [10.0]
    assert assumed == [["wall_thickness_in"]]


def test_a_wall_never_met_takes_the_middle_of_all():
    filled, _ = fill_gaps(one(wall_type="brick", wall_thickness_in=np.nan), learn_defaults(PAST))
    assert filled["wall_thickness_in"].tolist() == [10.0]


def test_a_missing_depth_follows_the_height():
    """Depth 54 over height 36 everywhere: a height of 50 gives 68."""
    filled, assumed = fill_gaps(one(rough_height_in=50.0, depth_below_grade_in=np.nan), learn_defaults(PAST))
    assert filled["depth_below_grade_in"].tolist() == [68.0]
    assert assumed == [["depth_below_grade_in"]]


def test_no_well_is_assumed_narrower_than_its_opening():
    """Wells written 2 in narrower than the opening, perhaps inside measures: the width of the opening is assumed."""
    narrow = several({"rough_width_in": 48.0, "well_width_in": 46.0}, {"rough_width_in": 40.0, "well_width_in": 38.0})
    filled, _ = fill_gaps(one(rough_width_in=50.0, well_width_in=np.nan), learn_defaults(narrow))
    assert filled["well_width_in"].tolist() == [50.0]


def test_missing_soil_is_the_most_frequent_one():
    filled, _ = fill_gaps(one(soil=""), learn_defaults(PAST))
    assert filled["soil"].tolist() == ["clay"]


def test_a_gap_that_changes_nothing_is_not_called_an_assumption():
    undug = one(opening_work="replace", dig_method="none", well_type="none", soil="", wall_thickness_in=np.nan)
    _, assumed = fill_gaps(undug, learn_defaults(PAST))
    assert assumed == [[]]


GAPS = {"dig_method": "", "drain": "", "depth_below_grade_in": np.nan}


def test_a_replacement_without_a_well_is_assumed_undug_and_undrained():
    """In a book that digs by hand and drains into a pit; the drain is no assumption where there is no well."""
    filled, assumed = fill_gaps(one(opening_work="replace", well_type="none", soil="", **GAPS), learn_defaults(PAST))
    assert (filled["dig_method"][0], filled["drain"][0]) == ("none", "none")
    assert assumed == [["dig_method"]]  # neither soil nor depth matters then


def test_dig_drain_and_depth_are_what_goes_with_the_kind_of_work():
    """Five new cuts without a well, dug by hand 18 in deep at 40 in of height: 22 in under the height."""
    shallow = {"well_type": "none", "dig_method": "hand", "drain": "none", "rough_height_in": 40.0}
    book = several(*[{"dig_method": "machine"}] * 9, *[{**shallow, "depth_below_grade_in": 18.0}] * 5)
    wanted = one(well_type="none", rough_height_in=42.0, **GAPS)
    filled, _ = fill_gaps(wanted, learn_defaults(book))
    assert (filled["dig_method"][0], filled["drain"][0], filled["depth_below_grade_in"][0]) == ("hand", "none", 20.0)
    with_well, _ = fill_gaps(one(**GAPS), learn_defaults(book))
    assert (with_well["dig_method"][0], with_well["depth_below_grade_in"][0]) == ("machine", 54.0)


def test_models_stored_before_kinds_were_told_apart_still_answer():
    """Their defaults know one word for all; the trade's own still go first where there is no well."""
    old = {key: value for key, value in learn_defaults(PAST).items() if "of_kind" not in key}
    filled, _ = fill_gaps(one(well_type="none", **GAPS), old)
    assert (filled["dig_method"][0], filled["drain"][0]) == ("hand", "none")


def test_what_was_assumed_is_never_outside_experience():
    """Depth 54 in throughout; 90 in given is far beyond it, the same 90 in assumed is judged by what was given."""
    seen = Experience({"depth_below_grade_in": [54.0, 54.0]}, {"wall_type": {"poured_concrete": 9}}, 20)
    deep = one(depth_below_grade_in=90.0)
    given, assumed = (
        standing(seen, deep, np.array([0.0]), assumed=[names], starter=False)
        for names in ([], ["depth_below_grade_in"])
    )
    assert (given.confidence, given.out_of_range) == (["outside_experience"], [["depth_below_grade_in"]])
    assert (assumed.confidence, assumed.out_of_range) == (["ok"], [[]])


def test_a_replaced_window_without_old_size_leaves_the_wall_alone():
    filled, _ = fill_gaps(one(opening_work="replace"), learn_defaults(PAST))
    assert filled["existing_width_in"].tolist() == [48.0]


@pytest.mark.parametrize(("rates", "word"), [({"digging": 1.0}, "digging"), ({"setup": 0.0}, "more than 0")])
def test_a_starter_rate_that_means_nothing_is_refused_by_name(rates, word):
    with pytest.raises(InputError, match=word):
        check_starter_rates(rates)


def test_a_phase_without_a_rate_of_its_own_leans_on_its_words():
    """Hand 2.0 and machine 0.5 h/yd3: their geometric mean 1.0."""
    assert usual_rate("excavation", {"excavation.hand": 2.0, "excavation.machine": 0.5}) == (pytest.approx(1.0), True)
    assert usual_rate("excavation", {})[1] is False


EMPTY = jobs(), openings(), labour()


def test_twelve_finished_openings_are_needed_without_starter_rates():
    with pytest.raises(NotEnoughRecords, match=r"0 finished openings .* at least 12"):
        fit_hours(*EMPTY)


def test_starter_rates_answer_from_no_job_on_and_are_labelled():
    """0.5 h per sq ft of cut, no job yet: (9.333 + 5) sq ft with the usual allowance over 1.5 is 0.5 x 9.56 = 4.8 h;
    hand at 2.0 h/yd3, 5.25 yd3: about 11 h. Both before the smearing of an assumed 0.3 noise (+4.6 %)."""
    model = fit_hours(*EMPTY, starter_rates={"wall_cutting": 0.5, "excavation.hand": 2.0, "excavation.machine": 2.0})
    said = predict_hours(model, one(), "", 5, 1)
    assert model.starter
    assert said.confidence == ["few_like_it"]
    assert said.phase_mean["wall_cutting"][0] == pytest.approx(4.8, rel=0.15)
    assert said.phase_mean["excavation"][0] == pytest.approx(11.0, rel=0.15)
    assert said.p05[0] < said.p50[0] < said.p95[0]


def test_a_depth_is_never_assumed_below_a_gravel_bed_and_a_little_well():
    """A low opening in a firm whose digs are shallow beside tall ones: 12 in at least, never a negative dig."""
    shallow = learn_defaults(one(rough_height_in=110.0, depth_below_grade_in=44.0))
    filled, _ = fill_gaps(one(rough_height_in=48.0, depth_below_grade_in=np.nan), shallow)
    assert filled["depth_below_grade_in"].tolist() == [12.0]
