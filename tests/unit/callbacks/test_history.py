"""Warranty clocks and counted visits as arrays: small cases worked by hand."""

import datetime as dt

import polars as pl
import pytest

from pipeline.callbacks.history import history_of, share_ours
from tests.unit.callbacks.build_history import history


def openings(*completed, months=12.0):
    return pl.DataFrame(
        {
            "opening_id": [f"O{i}" for i in range(len(completed))],
            "job_id": [f"J{i}" for i in range(len(completed))],
            "completed_on": [dt.date.fromisoformat(day) for day in completed],
            "months_of_warranty": [months] * len(completed),
        }
    )


def visits(*rows):
    """Visits as (opening, reported, costed_on or None, gross, settled, counts)."""
    day = dt.date.fromisoformat
    return pl.DataFrame(
        {
            "opening_id": [row[0] for row in rows],
            "complaint": ["leak"] * len(rows),
            "reported_on": [day(row[1]) for row in rows],
            "costed_on": [day(row[2]) if row[2] else None for row in rows],
            "gross_cost": [row[3] for row in rows],
            "recovered": [None] * len(rows),
            "settled": [row[4] for row in rows],
            "counts": [row[5] for row in rows],
        },
        schema={
            "opening_id": pl.String,
            "complaint": pl.String,
            "reported_on": pl.Date,
            "costed_on": pl.Date,
            "gross_cost": pl.Float64,
            "recovered": pl.Float64,
            "settled": pl.Boolean,
            "counts": pl.Boolean,
        },
    )


def test_an_opening_is_watched_until_today_or_the_end_of_its_warranty():
    """12 months are 365.25 days: the opening of 2023 stopped counting then, that of 2024 counts its 91 days."""
    found = history_of(openings("2023-01-01", "2024-01-01"), visits(), dt.date(2024, 4, 1))
    assert found.end_age.tolist() == [365.25, 91.0]
    assert found.under_warranty == 1


def test_jobs_finished_later_and_visits_that_do_not_count_are_left_out():
    found = history_of(
        openings("2023-01-01", "2024-06-01"),
        visits(
            ("O0", "2023-02-01", None, None, True, False),
            ("O0", "2023-03-01", "2023-03-09", 120.0, True, True),
            ("O1", "2024-07-01", None, None, True, True),
        ),
        dt.date(2024, 4, 1),
    )
    assert len(found.completed) == 1
    assert found.gross_cost.tolist() == [120.0]


def test_a_visit_whose_cost_is_booked_later_is_not_costed_yet():
    asked = visits(("O0", "2023-03-01", "2023-03-09", 120.0, True, True))
    early = history_of(openings("2023-01-01"), asked, dt.date(2023, 3, 5))
    late = history_of(openings("2023-01-01"), asked, dt.date(2023, 3, 9))
    assert (early.costed.tolist(), late.costed.tolist()) == ([False], [True])


def test_a_report_nobody_has_settled_counts_with_the_share_of_settled_ones_that_were_ours():
    """9 of 10 to begin with, and 6 ours of 10 settled: (9 + 6) / (10 + 10) = 0.75."""
    rows = [("O0", "2023-03-01", None, None, True, i < 6) for i in range(10)]
    asked = visits(*rows, ("O0", "2023-04-01", None, None, False, True))
    assert share_ours(asked) == pytest.approx(0.75)
    found = history_of(openings("2023-01-01"), asked, dt.date(2023, 5, 1))
    assert found.weight.tolist() == [1.0] * 6 + [0.75]


def test_only_reports_from_completion_to_the_warrantys_end_are_events():
    """Finished on day 100 with 365 days of warranty: days 99 and 466 are outside, 100 and 465 inside."""
    seen = history([(100, 365)], [(0, day, "leak", 10) for day in (99, 100, 465, 466)])
    assert seen.in_warranty.tolist() == [False, True, True, False]
