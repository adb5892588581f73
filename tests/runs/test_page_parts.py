"""What the pages stand on equals what the commands answer, though it is gathered over one connection."""

from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.runs import callbacks, case_file, checks, crews, jobs, margins, month, patterns, reserve, revisit
from pipeline.runs.page_parts import MOST_REVISITS, page_parts, plain
from pipeline.runs.spans import trailing_year
from pipeline.runs.standards import hold_visits, standards
from pipeline.settings import load_settings
from pipeline.store.book import newest_date, open_book, rows
from tests.runs.fitted_book import sample_book


@pytest.fixture(scope="module")
def parts(firm: tuple[Path, Path]) -> dict[str, Any]:
    """All parts of its pages."""
    return page_parts(firm[0], load_settings(firm[1]), None)


@pytest.fixture(scope="module")
def firm(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A book of 160 jobs of the sample firm, and its settings."""
    return sample_book(tmp_path_factory.mktemp("firm"))


def test_every_part_is_the_answer_of_its_command(firm: tuple[Path, Path], parts: dict[str, Any]) -> None:
    """Nine commands asked one by one, each with a connection of its own, give the same figures."""
    book, settings = firm[0], load_settings(firm[1])
    alone = {
        "margins": margins.margins_(book, settings),
        "month": month.month_(book, settings),
        "open_jobs": jobs.jobs_(book, settings, only_open=True),
        "checks": checks.checks_(book, settings),
        "crews": crews.crews_(book, settings),
        "callbacks": callbacks.callbacks_(book, settings),
        "patterns": patterns.patterns_(book, settings),
        "reserve": reserve.reserve_(book, settings),
        "revisit": revisit.revisit_(book, settings, top=MOST_REVISITS),
    }
    assert {name: parts[name] for name in alone} == {name: plain(answer) for name, answer in alone.items()}


def test_a_case_on_the_page_is_the_case_of_the_command(firm: tuple[Path, Path], parts: dict[str, Any]) -> None:
    """The search made for the patterns serves the case files too, with the same shares."""
    book, settings = firm[0], load_settings(firm[1])
    shown = next(case for case in parts["cases"] if case["callback"])
    alone = case_file.case_of_callback(book, settings, shown["callback"]["callback_id"])
    assert shown == plain(alone)


def test_the_visits_held_for_the_pages_answer_for_their_day_alone(firm: tuple[Path, Path]) -> None:
    """Every question about visits reads the same from the held list; one about another day is refused."""
    with open_book(firm[0]) as con:
        on, settings = newest_date(con), load_settings(firm[1])
        terms = standards(con, settings, on)
        asked = {"as_of": on, "standard": terms["standard"], "warranty": terms["warranty"]}
        names = ("warranty_visits", "callback_list", "counted_visits", "pages_rain")
        before = [rows(con, name, asked) for name in names]
        hold_visits(con, settings, on)
        assert [rows(con, name, asked) for name in names] == before
        with pytest.raises(duckdb.InvalidInputException, match="held for another day"):
            rows(con, "counted_visits", asked | {"as_of": on.replace(year=on.year - 1)})


def test_the_day_of_the_pages_can_be_an_earlier_one(firm: tuple[Path, Path]) -> None:
    """As of a year before: no part knows of anything later."""
    book, settings = firm[0], load_settings(firm[1])
    with open_book(book) as con:
        newest = newest_date(con)
    earlier = newest.replace(year=newest.year - 1, day=1)
    parts = page_parts(book, settings, earlier)
    assert parts["as_of"] == earlier.isoformat()
    assert parts["margins"] == plain(margins.margins_(book, settings, as_of=earlier))
    assert max(row["reported_on"] for row in parts["callbacks"]["rows"]) <= earlier.isoformat()


def test_jobs_at_a_loss_come_first_and_are_all_there(firm: tuple[Path, Path], parts: dict[str, Any]) -> None:
    """Of the jobs `jobs` lists for the last year: all with a profit below zero, worst first, then those short of it."""
    book, settings = firm[0], load_settings(firm[1])
    listed = jobs.jobs_(book, settings)
    since = trailing_year(listed["as_of"]).first_day
    year = [row for row in listed["rows"] if row["completed_on"] and row["completed_on"] >= since]
    year = [row for row in year if row["job_id"] not in listed["jobs_without_labour"]]
    profits = {row["job_id"]: float(row["profit_after_callbacks"]) for row in year}
    lost = sorted((profit, job) for job, profit in profits.items() if profit < 0)
    found = parts["short_jobs"]
    assert (found["jobs"], found["at_a_loss"]) == (len(year), len(lost))
    assert found["lost"] == pytest.approx(sum(profit for profit, _ in lost))
    assert [row["job_id"] for row in found["rows"][: len(lost)]] == [job for _, job in lost]
    assert {row["job_id"]: row["profit_after_callbacks"] for row in found["rows"]}.items() <= profits.items()
    usual = sum(profits.values()) / sum(float(row["revenue"]) for row in year)
    for row in found["rows"]:
        assert row["effect"] == pytest.approx(row["profit_after_callbacks"] - usual * row["revenue"], abs=0.006)
