"""Hours of finished jobs, spread over their openings by hand."""

import numpy as np
import pytest

from pipeline.estimators.records import finished_openings
from tests.unit.estimators.build_records import jobs, labour, openings

TWO = openings(("a", "J1", {}), ("b", "J1", {"rough_height_in": 60.0, "dig_method": "none", "well_type": "none"}))


def test_setup_and_travel_are_shared_equally_whatever_opening_they_name():
    found = finished_openings(jobs("J1"), TWO, labour(("J1", "a", "setup", 3.0), ("J1", None, "travel", 1.0)))
    assert found.hours["setup"].tolist() == [1.5, 1.5]
    assert found.hours["travel"].tolist() == [0.5, 0.5]


def test_shared_entries_go_only_where_the_phase_can_be():
    """Nothing was dug at b: all of the shared dig is a's, and b's dig is exactly 0."""
    found = finished_openings(jobs("J1"), TWO, labour(("J1", None, "excavation", 8.0), ("J1", None, "setup", 1.0)))
    assert found.hours["excavation"].tolist() == [8.0, 0.0]


def test_shared_entries_follow_quantity_plus_an_allowance():
    """Window area 12 and 20 sq ft, median 16, allowance 0.4 x 16 = 6.4: 18.4 and 26.4 of 44.8."""
    found = finished_openings(jobs("J1"), TWO, labour(("J1", None, "window_setting", 44.8)))
    assert found.hours["window_setting"] == pytest.approx([18.4, 26.4])


def test_a_phase_without_hours_is_missing_not_zero():
    found = finished_openings(jobs("J1"), TWO, labour(("J1", "a", "cleanup", 2.0)))
    assert np.isnan(found.hours["cleanup"][1])


def test_no_hour_is_lost():
    """Own, shared, under another phase, under one that cannot be, under none: the openings' totals add up to all."""
    entries = labour(
        ("J1", "a", "excavation", 5.0),
        ("J1", None, "cleanup", 3.0),
        ("J1", "b", "excavation", 1.0),
        ("J1", None, "other", 0.5),
        ("J1", "a", None, 0.25),
    )
    assert finished_openings(jobs("J1"), TWO, entries).total.sum() == pytest.approx(9.75)


def test_open_jobs_and_jobs_without_labour_are_left_out():
    entries = labour(("J1", "a", "setup", 3.0))
    assert len(finished_openings(jobs("J1", finished=False), TWO, entries).job) == 0
    assert len(finished_openings(jobs("J1"), TWO, entries.clear()).job) == 0


def test_a_job_with_a_tenth_of_its_hours_unsplit_is_kept_out_of_the_phases():
    """11 of 111 hours under no phase is just under a tenth, 13 of 113 is above."""
    rows = [(f"J{n}", f"o{n}", "excavation", 100.0) for n in range(14)]
    many = openings(*((f"o{n}", f"J{n}", {}) for n in range(14)))
    entries = labour(*rows, ("J0", "o0", None, 11.0), ("J1", "o1", None, 13.0))
    found = finished_openings(jobs(*(f"J{n}" for n in range(14))), many, entries)
    assert found.split.tolist() == [True, False, *[True] * 12]
    assert not found.presumed_split


def test_a_book_without_phases_presumes_the_split_and_says_so():
    """All 20 hours stand under no phase: they are placed by rough rates, and still add up."""
    found = finished_openings(jobs("J1"), TWO, labour(("J1", "a", None, 20.0)))
    assert found.presumed_split
    assert sum(np.nan_to_num(hours).sum() for hours in found.hours.values()) == pytest.approx(20.0)
