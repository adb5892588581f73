"""Who is at risk, since when and until when; all by hand."""

import datetime as dt

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.bands import band_of, band_years
from pipeline.callbacks.exposure import at_risk, first_event

AS_OF = dt.date(2024, 1, 1)
JOBS = pl.DataFrame(
    {
        "job_id": ["done", "open", "later", "short"],
        "crew": ["A", "A", "B", "B"],
        "completed_on": [dt.date(2023, 1, 1), None, dt.date(2024, 2, 1), dt.date(2020, 1, 1)],
        "warranty_months": [24, 24, 24, 12],
    },
    schema_overrides={"warranty_months": pl.Int64},
)
OPENINGS = pl.DataFrame(
    {"opening_id": ["d1", "d2", "o1", "l1", "s1"], "job_id": ["done", "done", "open", "later", "short"]}
)
VISIT = {"opening_id": pl.String, "complaint": pl.String, "visit_reported_on": pl.Date, "counts": pl.Boolean}


def visits(*rows):
    return pl.DataFrame(list(rows), schema=VISIT, orient="row")


def test_only_openings_of_finished_jobs_are_at_risk_until_today_or_the_warranty_ends():
    """365 days from 2023-01-01 to 2024-01-01; a 12-month warranty from 2020 ends after 365.25 days."""
    found = at_risk(JOBS, OPENINGS, visits(), AS_OF).sort("opening_id")
    assert found["opening_id"].to_list() == ["d1", "d2", "s1"]
    assert found["days_at_risk"].to_list() == pytest.approx([365.0, 365.0, 365.25])
    assert found["warranty_days"].to_list() == pytest.approx([730.5, 730.5, 365.25])


def test_the_first_visit_of_each_complaint_and_how_many_there_were():
    """Leaks on days 40 and 100, a fit complaint on day 40; the uncounted one on day 10 is no event."""
    given = visits(
        ("d1", "leak", dt.date(2023, 4, 11), True),
        ("d1", "leak", dt.date(2023, 2, 10), True),
        ("d1", "fit", dt.date(2023, 2, 10), True),
        ("d1", "leak", dt.date(2023, 1, 11), False),
    )
    row = at_risk(JOBS, OPENINGS, given, AS_OF).filter(pl.col("opening_id") == "d1").to_dicts()[0]
    assert (row["leak_day"], row["leak_visits"], row["fit_day"], row["drainage_day"]) == (40.0, 2, 40.0, None)


@pytest.mark.parametrize("day", [dt.date(2022, 12, 31), dt.date(2021, 1, 2), dt.date(2025, 6, 1)])
def test_a_visit_before_completion_after_the_warranty_or_after_the_as_of_date_is_no_event(day):
    """Opening s1: finished 2020-01-01, warranty to day 365; opening d1: finished 2023-01-01, as of 2024-01-01."""
    given = visits(("d1", "leak", day, True), ("s1", "leak", dt.date(2021, 1, 2), True))
    assert at_risk(JOBS, OPENINGS, given, AS_OF)["leak_day"].null_count() == 3


def test_watching_for_a_first_visit_ends_with_it_and_never_lasts_no_time():
    """A call on the day of completion still has half a day at risk."""
    given = visits(("d1", "leak", dt.date(2023, 1, 1), True), ("d2", "leak", dt.date(2023, 1, 31), True))
    days, came = first_event(at_risk(JOBS, OPENINGS, given, AS_OF).sort("opening_id"), "leak")
    assert days.tolist() == pytest.approx([0.5, 30.0, 365.25])
    assert came.tolist() == [True, True, False]


def test_years_in_each_age_band_add_to_the_time_watched():
    """400 days: 90 + 90 + 185 + 35."""
    years = band_years(np.array([400.0]))[0] * 365.25
    assert years.tolist() == pytest.approx([90, 90, 185, 35, 0, 0])


def test_years_between_two_ages():
    """From day 100 to day 200: 80 days in the second band, 20 in the third."""
    years = band_years(np.array([200.0]), np.array([100.0]))[0] * 365.25
    assert years.tolist() == pytest.approx([0, 80, 20, 0, 0, 0])


def test_an_event_on_the_last_day_of_a_band_belongs_to_that_band():
    assert band_of(np.array([0.5, 90.0, 90.5, 730.0, 5000.0])).tolist() == [0, 0, 1, 3, 5]
