"""Errors, yardsticks, backtest and odd entries by hand."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from pipeline.estimators.backtest import backtest, quarter_of, quarters_tested
from pipeline.estimators.hours import fit_finished
from pipeline.estimators.measure import Records, against_plain, against_quotes, errors, hold_out, predict_unseen
from pipeline.estimators.odd_entries import odd_entries
from pipeline.estimators.plain import rate_per_phase, wall_averages
from pipeline.estimators.records import finished_openings
from tests.recovery.labour_world import World, make_firm
from tests.unit.estimators.build_records import jobs, labour, openings


def test_errors_of_four_openings():
    """8, 12, 10, 20 said where 10 each was worked: 20, 20, 0, 100 % off; median 20, mean 35; 50 over 40: +25 %."""
    found = errors(np.array([8.0, 12.0, 10.0, 20.0]), np.full(4, 10.0))
    assert found == pytest.approx({"median_ape": 0.2, "mape": 0.35, "bias": 0.25})


@pytest.mark.parametrize(("day", "quarter"), [(date(2025, 3, 31), "2025Q1"), (date(2025, 4, 1), "2025Q2")])
def test_quarters(day, quarter):
    assert quarter_of(day) == quarter


NAMES = [f"J{n}" for n in range(10)]
ROWS = openings(*((f"o{n}", f"J{n}", {"wall_type": "brick" if n < 5 else "stone"}) for n in range(10)))
SHEET = labour(*((f"J{n}", f"o{n}", "window_setting", 2.0 if n < 5 else 4.0) for n in range(10)))


def test_a_wall_average_is_the_mean_of_its_wall():
    book = finished_openings(jobs(*NAMES), ROWS, SHEET)
    assert wall_averages(book, {"wall_type": np.array(["brick", "stone", "wood_foundation"])}).tolist() == [2, 4, 3]


def test_a_plain_rate_is_hours_over_quantity():
    """Windows of 12 sq ft: 30 h for 120 sq ft is 0.25 h/sq ft; by wall 2/12 and 4/12 h/sq ft: 2 h and 4 h again."""
    book = finished_openings(jobs(*NAMES), ROWS, SHEET)
    assert rate_per_phase(book, book.openings) == pytest.approx([2.0] * 5 + [4.0] * 5)


FIRM = make_firm(World(jobs=60, seed=55))
RECORDS = Records(FIRM.jobs, FIRM.openings, FIRM.labour)


def test_the_last_fifth_by_completion_is_held_out():
    held = hold_out(RECORDS, {})
    assert len(np.unique(held.job)) == 12
    last = FIRM.jobs.sort("completed_on", "job_id")["job_id"].to_list()[-12:]
    assert len(held.actual) == FIRM.openings["job_id"].is_in(last).sum()


def test_the_held_out_hours_do_not_reach_the_model():
    """Ten times the hours on the held-out jobs change what was worked there, not what was predicted."""
    ids = FIRM.jobs["job_id"].to_list()
    tenfold = FIRM.labour.with_columns(
        hours=pl.when(pl.col("job_id").is_in(ids[48:])).then(pl.col("hours") * 10).otherwise(pl.col("hours"))
    )
    plain = predict_unseen(RECORDS, ids[:48], ids[48:], rates={})
    wild = predict_unseen(Records(FIRM.jobs, FIRM.openings, tenfold), ids[:48], ids[48:], rates={})
    assert np.array_equal(plain.prediction.p50, wild.prediction.p50)
    assert wild.actual.sum() == pytest.approx(10 * plain.actual.sum())


def test_own_quotes_are_measured_beside_the_model_on_the_same_jobs():
    found = against_quotes(hold_out(RECORDS, {}))
    assert found["jobs"] == 12
    assert set(found["ours"]) == set(found["quoted"]) == {"median_ape", "mape", "bias"}


def test_a_single_job_kept_back_shows_no_gain():
    """One job has no spread: no standard error, and nothing is said to be beaten."""
    ids = FIRM.jobs["job_id"].to_list()
    rivals = against_plain(predict_unseen(RECORDS, ids[:48], ids[48:49], rates={}))
    assert [(row["standard_error"], row["beaten"]) for row in rivals] == [(None, False)] * 2


@pytest.mark.filterwarnings("error")
def test_an_opening_without_an_hour_of_its_own_is_left_out_of_the_test():
    """All hours of a job kept back, and of one learned from, are booked to its first opening: the rest are counted."""
    per_job = FIRM.openings.group_by("job_id").len().filter(pl.col("len") == 2).sort("job_id")["job_id"]
    ids = FIRM.jobs["job_id"].to_list()
    lumped = [per_job.filter(per_job.is_in(ids[:48]))[0], per_job.filter(per_job.is_in(ids[48:]))[0]]
    first = FIRM.openings.group_by("job_id").agg(first=pl.col("opening_id").min())
    sheet = FIRM.labour.join(first, on="job_id").with_columns(
        opening_id=pl.when(pl.col("job_id").is_in(lumped)).then("first").otherwise("opening_id"),
        phase=pl.when(pl.col("phase").is_in(["setup", "travel"])).then(pl.lit("cleanup")).otherwise("phase"),
    )
    held = predict_unseen(Records(FIRM.jobs, FIRM.openings, sheet), ids[:48], ids[48:], rates={})
    assert held.without_hours == 1 and held.actual.min() > 0
    assert len(held.actual) + 1 == FIRM.openings["job_id"].is_in(ids[48:]).sum() == len(held.prediction.confidence) + 1
    assert all(np.isfinite([row["gain"], row["standard_error"]]).all() for row in against_plain(held))


def test_a_quarter_is_predicted_only_from_earlier_ones():
    """Each row names how many jobs came before it; the last quarter's hours change no earlier row."""
    rows = backtest(RECORDS, {})["quarters"]
    before = [row["jobs_before"] for row in rows]
    assert before == sorted(before)
    done = FIRM.jobs.select("job_id", "completed_on").iter_rows()
    last = [job for job, on in done if quarter_of(on) == rows[-1]["quarter"]]
    doubled = FIRM.labour.with_columns(
        hours=pl.when(pl.col("job_id").is_in(last)).then(pl.col("hours") * 2).otherwise(pl.col("hours"))
    )
    again = backtest(Records(FIRM.jobs, FIRM.openings, doubled), {})["quarters"]
    assert again[:-1] == rows[:-1]
    assert again[-1]["bias"] != rows[-1]["bias"]


def test_a_mis_keyed_entry_is_named_not_deleted():
    wrong = FIRM.labour.with_columns(
        hours=pl.when((pl.col("opening_id") == "J00010-1") & (pl.col("phase") == "cleanup"))
        .then(pl.col("hours") * 100)
        .otherwise(pl.col("hours"))
    )
    data = finished_openings(FIRM.jobs, FIRM.openings, wrong)
    worst = odd_entries(data, fit_finished(data, {}))[0]
    assert (worst["opening_id"], worst["phase"]) == ("J00010-1", "cleanup")
    assert data.total.sum() == pytest.approx(wrong["hours"].sum())


def test_a_long_book_is_tested_on_fewer_quarters_but_never_on_less_than_a_year():
    """24,000 jobs in all the refits: 12 quarters up to 2,000 jobs, 8 at 3,000, 4 from 6,000 on."""
    assert [quarters_tested(jobs) for jobs in (0, 60, 2_000, 3_000, 6_000, 300_000)] == [12, 12, 12, 8, 4, 4]
