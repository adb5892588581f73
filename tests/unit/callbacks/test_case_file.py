"""Case file: shares that add up, alike cases first, days in order."""

import datetime as dt
from math import log

import pytest

from pipeline.callbacks.case_file import (
    Case,
    Lead,
    days_of_weather,
    distances,
    likely_causes,
    shelf_of,
    similar_cases,
    timeline,
    weather_rows,
)
from pipeline.runs.case_page import card_lines, case_page

MAY_4 = dt.date(2024, 5, 4)


def report(number, *, opening="O9", complaint="leak", day=MAY_4, found="gasket torn"):
    return {
        "callback_id": number, "opening_id": opening, "complaint": complaint, "reported_on": day, "cause_found": found,
        "work_done": "resealed", "fixed": True, "cost": 100.0, "why_not": None,
    }  # fmt: skip


def test_a_pattern_that_triples_the_calls_goes_with_two_thirds_of_them():
    """Hazard ratio 3: 1 − 1/3 (Miettinen 1974); the rest with nothing recorded."""
    rows = likely_causes([Lead("set_wet", "wet wall", log(3))], "leak")
    assert {row["pattern"]: round(row["share"], 6) for row in rows} == {
        "set_wet": 0.666667,
        "nothing_recorded": 0.333333,
    }


def test_two_patterns_part_the_share_by_their_effects_and_all_add_to_one():
    """Ratios 2 and 4 together 8: 7/8 parted 1 : 2."""
    leads = [Lead("a", "a", log(2), 1.2, 3.1), Lead("b", "b", log(4))]
    rows = likely_causes(leads, "leak")
    assert [(row["pattern"], round(row["share"], 4)) for row in rows] == [
        ("b", 0.5833), ("a", 0.2917), ("nothing_recorded", 0.125),
    ]  # fmt: skip
    assert sum(row["share"] for row in rows) == pytest.approx(1)
    assert "among similar openings leak callbacks came 2.0 times as often with it (range 1.2–3.1)" in rows[1]["why"]


def test_a_pattern_that_brings_no_calls_gets_no_share():
    rows = likely_causes([Lead("a", "a", -0.4)], "fit")
    assert [(row["pattern"], row["share"]) for row in rows] == [("nothing_recorded", 1.0)]


def test_a_pattern_that_was_not_flagged_takes_no_share_and_is_named_as_unproven():
    """Ratio 2 of the flagged one alone: 1/2, whatever else is on the card."""
    rows = likely_causes([Lead("a", "wet wall", log(2)), Lead("b", "cold wall", None)], "leak")
    assert [(row["pattern"], row["share"]) for row in rows] == [("a", 0.5), ("nothing_recorded", 0.5)]
    assert rows[1]["why"].endswith("found here too, not shown to matter in this book: cold wall")


def test_the_nearest_case_shares_findings_and_wall():
    brick, stone = {"opening_id": "O1", "wall_type": "brick"}, {"wall_type": "stone"}
    mine = Case(report("C1", opening="O1"), brick, frozenset({"set_wet"}))
    near = Case(report("C2"), {"wall_type": "brick"}, frozenset({"set_wet"}))
    far = Case(report("C3"), stone, frozenset({"set_cold"}))
    shelf = shelf_of([far, near])
    assert distances(mine, shelf).tolist() == [3.0, 0.0]
    rows = similar_cases(mine, shelf)
    assert [row["callback_id"] for row in rows] == ["C2", "C3"]
    assert rows[0]["patterns_in_common"] == ["set_wet"]


def test_alike_cases_leave_out_the_opening_itself_other_complaints_and_those_that_say_nothing():
    mine = Case(report("C1", opening="O1"), {"opening_id": "O1"}, frozenset())
    silent = report("C4", found=None) | {"work_done": None}
    others = [report("C2", opening="O1"), report("C3", complaint="fit"), silent, report("C5")]
    rows = similar_cases(mine, shelf_of([Case(record, {}, frozenset()) for record in others]))
    assert [row["callback_id"] for row in rows] == ["C5"]


def test_a_finding_no_past_case_has_still_sets_them_apart():
    """One finding of its own and one of theirs: 2 apart; without a word recorded on either side, nothing more."""
    mine = Case(report("C1", opening="O1"), {}, frozenset({"set_wet"}))
    assert distances(mine, shelf_of([Case(report("C2"), {}, frozenset({"set_cold"}))])).tolist() == [2.0]


def test_without_a_past_case_there_is_nothing_alike():
    assert similar_cases(Case({}, {}, frozenset({"set_wet"})), shelf_of([])) == []


def test_weather_of_the_setting_day_and_of_each_call_with_the_two_days_before():
    days = days_of_weather(dt.date(2023, 1, 9), [MAY_4])
    assert [str(day) for day in days] == ["2023-01-09", "2024-05-02", "2024-05-03", "2024-05-04"]
    rows = weather_rows([{"observed_on": MAY_4, "temp_min_f": 40.0, "temp_max_f": 60.0, "precipitation_in": 1.2}], days)
    assert [row["precipitation_in"] for row in rows] == [None, None, None, 1.2]


def test_the_timeline_is_in_order_of_days_and_skips_what_has_none():
    opening = {"quoted_on": None, "started_on": dt.date(2023, 1, 8), "completed_on": dt.date(2023, 1, 10),
               "crew": "North", "warranty_ends_on": dt.date(2025, 1, 9)}  # fmt: skip
    work = [{"phase": "frame_setting", "first_day": dt.date(2023, 1, 9), "last_day": dt.date(2023, 1, 9), "hours": 1.5}]
    entries = timeline(opening, work, [{"checked_on": dt.date(2023, 1, 9), "installer": None}], [report("C1")])
    assert [str(entry["date"]) for entry in entries] == [
        "2023-01-08", "2023-01-09", "2023-01-09", "2023-01-10", "2024-05-04", "2025-01-09",
    ]  # fmt: skip
    assert entries[1]["event"] == "frame setting: 1.5 h"


def test_what_was_found_is_told_even_when_the_day_of_the_visit_is_missing():
    """It stands with the last day known: here the report itself."""
    (entry,) = timeline({"crew": "North"}, [], [], [report("C1")])
    assert entry["event"] == "callback C1: leak reported; found: gasket torn; done: resealed"


def test_text_from_the_records_cannot_become_part_of_the_page():
    """A cause found that looks like a script is shown as text."""
    opening = {"opening_id": "O<1>", "job_id": "J1"}
    case = {
        "callback": report("C1", found="<script>alert(1)</script>"), "opening": opening, "checks": [], "weather": [],
        "patterns_present": [], "likely_causes": [{"pattern": "nothing_recorded", "share": 1.0, "why": "x & y"}],
        "similar": [{"cause_found": "<script>alert(1)</script>"}], "cost": {"net_cost": None}, "timeline": [],
    }  # fmt: skip
    page = case_page(case)
    assert "<script" not in page
    assert "O&lt;1&gt;" in page
    assert "x &amp; y" in page


def test_a_check_card_is_told_in_words_with_units():
    """A reading nobody wrote down says so; who filled in the card and when stand elsewhere."""
    card = {
        "opening_id": "O1", "installer": "W1", "substrate_temp_f": 34.0, "frame_bow_in": 0.0625,
        "anchor_count": 10, "substrate_wet": True, "squeeze_out": "partial", "plumb_error_in": None,
    }  # fmt: skip
    assert card_lines(card) == [
        "wall temperature: 34 °F",
        "bow of the frame: 0.0625 in",
        "number of anchors: 10",
        "substrate wet: yes",
        "squeeze out: partial",
        "plumb error: not recorded",
    ]
