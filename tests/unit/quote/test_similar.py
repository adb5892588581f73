"""Openings done before that are like the one asked for, and in what they differ."""

from datetime import date

from pipeline.quote.similar import most_similar

DONE = {
    "opening_id": ["B", "A"],
    "completed_on": ["2026-01-05", "2026-01-04"],
    "hours": [33.2, 12.6],
    "wall_type": ["brick", "stone"],
    "opening_work": ["new_cut", "new_cut"],
    "dig_method": ["hand", ""],
    "well_type": ["steel", "steel"],
    "rough_width_in": [40.0, 44.25],
    "rough_height_in": [48.0, 50.0],
    "depth_below_grade_in": [66.0, None],
    "soil": ["clay", ""],
    "drain": ["gravel_pit", "none"],
}
ASKED = {"wall_type": "brick", "opening_work": "new_cut", "well_type": "steel", "dig_method": "machine",
         "rough_width_in": 40.0, "rough_height_in": 48.0}  # fmt: skip


def test_each_is_told_with_its_sizes_ground_and_differences():
    """The nearest has the same wall: not said again; its dig is another: said. What was not recorded is left out."""
    found = most_similar(DONE, ASKED, date(2026, 2, 1))
    assert [(one["opening_id"], one["told"]) for one in found] == [
        ("B", "40 × 48 in, 66 in deep, dig: hand, clay, drain: gravel pit"),
        ("A", "44.25 × 50 in, stone, drain: none"),
    ]


def test_a_book_fitted_before_ground_was_kept_still_answers():
    earlier = {name: column for name, column in DONE.items() if name not in ("soil", "drain")}
    assert most_similar(earlier, ASKED, date(2026, 2, 1))[0]["told"] == "40 × 48 in, 66 in deep, dig: hand"
