"""The three jobs of sample_data/small, typed by hand: their money worked out in the head."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from pipeline.cli.jobs import list_lines
from pipeline.cli.margins import lines as margin_lines
from pipeline.errors import InputError, NotEnoughRecords
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.jobs import job_, jobs_
from pipeline.runs.margins import Cut, margins_
from pipeline.runs.month import month_
from pipeline.runs.spans import month_span
from pipeline.settings import Settings, load_settings
from pipeline.store.book import open_book
from pipeline.store.firm_settings import remember

SMALL = Path(__file__).parents[2] / "sample_data" / "small"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Settings]:
    book = tmp_path_factory.mktemp("small") / "book.duckdb"
    settings = load_settings(SMALL / "areaway.toml")
    ingest_(book, settings, Delivery([SMALL], received=date(2026, 12, 31)))
    return book, settings


def amounts(row: Any, names: str) -> list[float | None]:
    return [None if row[name] is None else float(row[name]) for name in names.split()]


MONEY = "revenue labour_cost material_cost other_cost gross_profit overhead job_profit callback_cost"
VARIANCES = "labour_rate_variance labour_efficiency_variance material_price_variance material_usage_variance"


def test_job_01_earns_1800_and_1680_after_its_leak(small):
    """20 h at 30 = 600; 400+200+250+60+25+30+20+15 = 1,000; 120+80 = 200; overhead 20 x 20 = 400.

    The leak cost 100 + 50 - 30 = 120; its second report five days later is the same visit.
    """
    job = job_(*small, "01")
    assert amounts(job, MONEY) == [4000, 600, 1000, 200, 2200, 400, 1800, 120]
    assert (job["gross_margin"], job["job_margin"], job["margin_after_callbacks"]) == (0.55, 0.45, 0.42)
    assert job["profit_per_labour_hour"] == 84
    assert amounts(job, VARIANCES) == [0, 0, 0, None]
    assert [callback["why_not"] for callback in job["callbacks"]] == [None, "duplicate"]


def test_job_02_breaks_even_and_its_bridge_says_why(small):
    """80 h for 65 expected: 450 over at 30; 40 h at 35 for 30: 200; windows and frames 20 over list, wells 10: 100.

    Quoted 6,000 - 5,300 = 700; with the change order 700 + 500 - 250 = 950; hours, wages and prices take 750 of it,
    the rest of the quoted cost 200.
    """
    job = job_(*small, "02")
    assert amounts(job, MONEY) == [6500, 2600, 2000, 300, 1600, 1600, 0, 0]
    assert amounts(job, VARIANCES) == [200, 450, 100, None]
    assert {step["step"]: float(step["amount"]) for step in job["bridge"]} == {
        "quoted profit": 700,
        "price of change orders": 500,
        "cost of change orders": -250,
        "wage rate": -200,
        "labour hours": -450,
        "material prices": -100,
        "callbacks": 0,
        "rest of quoted cost": -200,
        "actual profit": 0,
    }
    assert [opening["labour_cost"] for opening in job["openings"]] == [Decimal("1300.00")] * 2


def test_job_03_is_open_and_expected_to_cost_what_was_quoted(small):
    """Material 500 and 10 h at 30 + 20 spent; 20 of the quoted 30 h to come at 50; 1,750 is quoted for the rest."""
    (job,) = jobs_(*small, only_open=True)["rows"]
    assert amounts(job, "cost_to_date expected_final_cost expected_profit") == [1000, 3250, 1750]
    assert job["heading_for_loss"] is False


def test_margins_of_all_three(small):
    """Two months with one completed job each; the open job is in neither."""
    result = margins_(*small)
    assert [(row["group"], float(row["job_profit"])) for row in result["rows"]] == [("2025-04", 1800), ("2026-01", 0)]
    assert amounts(result["total"], MONEY) == [10500, 3200, 3000, 500, 3800, 2000, 1800, 120]
    assert float(result["total"]["hours_at_standard"] or 0) == 40
    assert result["overhead_set"]
    assert [bias["bias"] for bias in result["quote_bias"]] == [None, None]


def test_a_month_with_one_job_says_what_it_earned_and_draws_no_conclusion(small):
    """January 2026: no comparison of margins, no bias of quotes, no change of wages from a single job."""
    told = month_(*small, "2026-01")
    assert [sentence["topic"] for sentence in told["sentences"]] == ["result", "jobs", "callbacks", "open jobs"]
    assert told["sentences"][0]["numbers"]["jobs"] == 1


def test_the_month_told_by_default_is_the_newest_with_a_finished_job(small):
    """By May 2026 the newest of the jobs, finished in April 2025 and January 2026, is the latter."""
    assert month_(*small, as_of=date(2026, 5, 1))["month"] == "2026-01"
    assert month_(*small, as_of=date(2025, 12, 31))["month"] == "2025-04"


@pytest.mark.parametrize(
    ("month", "day", "said"),
    [
        ("2030-01", date(2026, 5, 1), "2030-01 begins after 2026-05-01.* newest month with a finished job is 2026-01"),
        (None, date(1980, 1, 1), "0 jobs finished by 1980-01-01, at least 1 is needed"),
    ],
)
def test_a_month_that_nobody_has_records_of_is_refused(small, month, day, said):
    with pytest.raises(NotEnoughRecords, match=said):
        month_(*small, month, as_of=day)


def test_margins_of_days_without_a_finished_job_are_one_sentence(small):
    told = "\n".join(margin_lines(margins_(*small, Cut(span=month_span("2030-01")))))
    assert "No job was completed in the days asked for; the newest one is of 2026-01-" in told
    assert "areaway fit" not in told and "$0" not in told


def test_a_job_asked_for_without_its_zero_in_front_is_suggested(small):
    with pytest.raises(InputError, match=r"there is no job '1' .*did you mean 01\?"):
        job_(*small, "1")


def test_the_list_of_jobs_begins_with_the_newest_and_counts_what_it_leaves_out(small, monkeypatch):
    """Of jobs 01 (April 2025) and 02 (January 2026) the latter comes first."""
    monkeypatch.setattr("pipeline.cli.jobs.JOBS_SHOWN", 1)
    told = "\n".join(list_lines(jobs_(*small)))
    assert "2026-01-" in told and "2025-04-" not in told
    assert "… and 1 more completed before these; areaway jobs --all" in told
    assert "2025-04-" in "\n".join(list_lines(jobs_(*small), show_all=True))


def test_without_an_overhead_setting_every_answer_says_so(small):
    """Overhead is 0 then, and each answer carries the flag; the month says it in words."""
    book, _ = small
    bare = Settings()
    assert not margins_(book, bare)["overhead_set"]
    assert not jobs_(book, bare)["overhead_set"]
    assert not job_(book, bare, "01")["overhead_set"]
    told = month_(book, bare, "2026-01")
    assert not told["overhead_set"]
    assert "Overhead not set: job profit is before overhead." in [line["text"] for line in told["sentences"]]


def test_the_views_for_people_show_the_same_profit_as_jobs(small):
    book, settings = small
    with open_book(book, write=True) as con:
        remember(con, settings)
        shown = dict(con.execute("select job_id, profit_after_callbacks from job_profit").fetchall())
    assert shown == {row["job_id"]: row["profit_after_callbacks"] for row in jobs_(book, settings)["rows"]}
