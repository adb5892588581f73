"""Permit, disposal and the like as rates with a range. Amounts are invented and worked by hand."""

import numpy as np
import polars as pl
import pytest

from pipeline.quote.other_costs import FEWEST_JOBS, fit_other_costs, kind_of_work, predict_other_costs


def paid(rows):
    """Rows of (job, category, work, openings, amount)."""
    return pl.DataFrame(rows, schema=["job_id", "category", "work", "openings", "amount"], orient="row")


def test_a_permit_is_paid_per_job_and_disposal_per_opening():
    """Permit $150 whatever the job; disposal $80 for each opening: two openings cost 150 and 160."""
    rows = [(f"J{n}", "permit", "new_cut", 1 + n % 3, 150.0) for n in range(12)]
    rows += [(f"J{n}", "disposal", "new_cut", 1 + n % 3, 80.0 * (1 + n % 3)) for n in range(12)]
    lines = {line["category"]: line for line in predict_other_costs(fit_other_costs(paid(rows)), "new_cut", 2)}
    assert lines["permit"]["expected"] == pytest.approx(150)
    assert lines["disposal"]["expected"] == pytest.approx(160)


def test_a_kind_of_work_that_pays_nothing_leans_on_nothing_as_its_jobs_grow():
    """New cuts pay $200, replacements never: with 100 of each a replacement is expected to pay under $12."""
    rows = [(f"N{n}", "permit", "new_cut", 1, 200.0) for n in range(100)]
    rows += [(f"R{n}", "permit", "replace", 1, 0.0) for n in range(100)]
    rates = fit_other_costs(paid(rows))
    [line] = predict_other_costs(rates, "replace", 1)
    assert line["expected"] < 12
    [line] = predict_other_costs(rates, "new_cut", 1)
    assert line["expected"] == pytest.approx(200, rel=0.05)


def test_the_range_holds_four_in_five_and_grows_with_the_spread():
    """Lognormal by its moments: of amounts drawn so, 80 % lie between low and high."""
    luck = np.random.default_rng(3)
    amounts = luck.lognormal(5.0, 0.4, 4000)
    rates = fit_other_costs(paid([(f"J{n}", "equipment", "new_cut", 1, float(a)) for n, a in enumerate(amounts)]))
    [line] = predict_other_costs(rates, "new_cut", 1)
    assert np.mean((amounts > line["low"]) & (amounts < line["high"])) == pytest.approx(0.8, abs=0.02)
    assert line["expected"] == pytest.approx(amounts.mean(), rel=0.02)


def test_two_jobs_say_nothing():
    """Fewer than three finished jobs: no rate."""
    rows = [(f"J{n}", "permit", "new_cut", 1, 100.0) for n in range(FEWEST_JOBS - 1)]
    assert fit_other_costs(paid(rows)) == {}
    assert fit_other_costs(paid(rows).clear()) == {}


def test_a_category_that_was_only_credited_is_not_expected():
    """Credits alone make no cost."""
    rows = [(f"J{n}", "other", "new_cut", 1, -10.0) for n in range(10)]
    assert predict_other_costs(fit_other_costs(paid(rows)), "new_cut", 1) == []


def test_a_job_of_several_kinds_is_mixed():
    """One kind names the job; two make it mixed."""
    assert kind_of_work(["replace", "replace"]) == "replace"
    assert kind_of_work(["replace", "new_cut"]) == "mixed"


def test_a_slipped_decimal_point_does_not_set_the_rate():
    """40 permits of $150, one of $15,000 held to 150 × e^(3.5 × 0.3) = $428.65: (6,000 + 428.65) / 41 = $156.80."""
    rows = [(f"J{n}", "permit", "new_cut", 1, 150.0) for n in range(40)] + [("J40", "permit", "new_cut", 1, 15_000.0)]
    [line] = predict_other_costs(fit_other_costs(paid(rows)), "new_cut", 1)
    assert line["expected"] == pytest.approx(156.80, abs=0.01)
