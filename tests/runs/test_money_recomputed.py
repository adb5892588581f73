"""Every figure of margins, jobs and month against the same money worked out again in plain Python from the files."""

import csv
import tomllib
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.jobs import job_, jobs_
from pipeline.runs.margins import GROUPS, Cut, margins_
from pipeline.runs.month import month_
from pipeline.runs.spans import Span
from pipeline.settings import Settings, load_settings
from pipeline.store.book import open_book
from pipeline.store.standard_quantities import StandardQuantity, write_standard_quantities
from sample_data.make import make
from tests.runs.plain_money import PARTS, PROFITS, VARIANCES, ZERO, PlainMoney, Rules

CENT = Decimal("0.01")
JOBS = 200
COMPARED = ("gasket_tape", "foam", "window")  # items given a standard quantity here: invented, for the arithmetic only


@dataclass(frozen=True)
class World:
    """One book and the plain figures of the files it was made from."""

    book: Path
    settings: Settings
    plain: PlainMoney

    @property
    def as_of(self) -> date:
        """The day of the question."""
        return self.plain.rules.as_of


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    folder = tmp_path_factory.mktemp("money")
    files, book = folder / "files", folder / "book.duckdb"
    make(files, seed=7, jobs=JOBS, clean=True)
    settings = load_settings(files / "areaway.toml")
    ingest_(book, settings, Delivery([files], received=date(2026, 12, 31)))
    use = standard_use(files)
    lines = [StandardQuantity(job, item, float(quantity), unit) for (job, item, unit), quantity in use.items()]
    with open_book(book, write=True) as con:
        write_standard_quantities(con, "takeoff", lines)
    firm = tomllib.loads((files / "areaway.toml").read_text(encoding="utf-8"), parse_float=Decimal)["firm"]
    standard, overhead = (steps(firm[name]) for name in ("standard_hourly_cost", "overhead_per_labour_hour"))
    rules = Rules(middle_of_a_late_job(files), standard, overhead, use)
    return World(book, settings, PlainMoney(files, rules))


def steps(entries: list[dict[str, Any]]) -> tuple[tuple[date, Decimal], ...]:
    return tuple((entry["from"], Decimal(entry["value"])) for entry in entries)


def middle_of_a_late_job(files: Path) -> date:
    """The first day of the last job that took longer than a day: it is open then, and later lines must be left out."""
    jobs = csv.DictReader((files / "jobs.csv").open(encoding="utf-8"))
    return max(date.fromisoformat(row["started_on"]) for row in jobs if row["completed_on"] > row["started_on"])


def standard_use(files: Path) -> dict[tuple[str, str, str], Decimal]:
    """A quantity for some items of every other job: nine tenths of the first line."""
    use: dict[tuple[str, str, str], Decimal] = {}
    for row in csv.DictReader((files / "materials.csv").open(encoding="utf-8")):
        key = (row["job_id"], row["item"], row["unit"])
        if row["item"] in COMPARED and int(row["job_id"]) % 2:
            use.setdefault(key, (Decimal(row["quantity"]) * Decimal("0.9")).quantize(Decimal("0.0001")))
    return use


def same_money(shown: Decimal | None, exact: Decimal | None) -> bool:
    """Less than a cent apart, or both not known."""
    if shown is None or exact is None:
        return shown is None and exact is None
    return abs(shown - exact) < CENT and shown == shown.quantize(CENT)


def assert_row(row: Any, exact: dict[str, Any]) -> None:
    for name in (*PARTS, *PROFITS, *VARIANCES):
        assert same_money(row[name], exact[name]), (row["group"], name, row[name], exact[name])
    for name in ("jobs", "quoted_jobs", "actual_hours", "quoted_hours", "hours_of_quoted_jobs"):
        assert row[name] == exact[name], (row["group"], name)
    for name in ("gross_margin", "job_margin", "margin_after_callbacks", "profit_per_labour_hour"):
        assert row[name] == pytest.approx(exact[name], abs=1e-12), (row["group"], name)


@pytest.mark.parametrize("by", GROUPS)
def test_margins_by_any_group_agree_to_the_cent(world, by):
    """Each row and the total, and each total the sum of its column."""
    result = margins_(world.book, world.settings, Cut(by), as_of=world.as_of)
    expected = world.plain.grouped(by, world.plain.completed())
    assert [row["group"] for row in result["rows"]] == sorted(expected)
    for row in result["rows"]:
        assert_row(row, expected[row["group"]])
    assert_row(result["total"], world.plain.sums(world.plain.completed()))
    for name in (*PARTS, *PROFITS, "labour_rate_variance"):
        assert result["total"][name] == sum(row[name] for row in result["rows"])


def test_margins_of_a_span_of_days_hold_the_jobs_completed_in_it(world):
    span = Span(date(2024, 2, 10), date(2024, 9, 3))
    result = margins_(world.book, world.settings, Cut(span=span), as_of=world.as_of)
    assert_row(result["total"], world.plain.sums(world.plain.completed(span.first_day, span.last_day)))
    year = world.plain.completed(world.as_of - timedelta(364), world.as_of)
    assert_row(result["trailing_twelve_months"], world.plain.sums(year))


def test_jobs_list_holds_every_job_begun_and_agrees_to_the_cent(world):
    result = jobs_(world.book, world.settings, as_of=world.as_of)
    assert sorted(row["job_id"] for row in result["rows"]) == sorted(world.plain.jobs)
    for row in result["rows"]:
        exact = world.plain.jobs[row["job_id"]]
        assert row["completed_on"] == exact["completed_on"]
        assert row["status"] == ("completed" if exact["completed_on"] else "open")
        if exact["completed_on"]:
            assert_row(row, world.plain.sums([exact]))
        else:
            assert same_money(row["cost_to_date"], sum((exact[name] for name in PARTS[1:]), ZERO))
            assert row["expected_profit"] == exact["revenue"].quantize(CENT) - row["expected_final_cost"]


def test_open_jobs_without_a_model_are_expected_to_take_what_was_quoted(world):
    """Hours to come = quoted plus change orders less worked, at standard wage and overhead of the day."""
    standard, overhead = Decimal("43"), Decimal("26")
    rows = {row["job_id"]: row for row in jobs_(world.book, world.settings, as_of=world.as_of, only_open=True)["rows"]}
    files = {row["job_id"]: row for row in world.plain.tables["jobs"]}
    assert rows
    for job_id, row in rows.items():
        job = world.plain.jobs[job_id]
        quoted = Decimal(files[job_id]["quoted_labour_hours"]) + job["change_order_hours"]
        to_come = max(quoted - job["actual_hours"], ZERO)
        held = job["quoted_cost"] + job["change_order_cost"] - quoted * (standard + overhead)
        final = (
            job["labour_cost"] + job["overhead"] + to_come * (standard + overhead)
            + max(held, job["material_cost"] + job["other_cost"]) + job["callback_cost"]
        )  # fmt: skip
        assert same_money(row["expected_final_cost"], final)
        assert row["heading_for_loss"] == (row["expected_profit"] < 0)


def test_one_job_whole_adds_up_in_every_list(world):
    """Phases, worker-days, items, other costs and openings each add up to the job's own figures; the bridge closes."""
    some = [job for job in world.plain.completed() if job["callback_cost"]][:4]
    for exact in some:
        job = job_(world.book, world.settings, exact["job_id"], as_of=world.as_of)
        lines = world.plain.labour_lines(exact["job_id"])
        assert sum(line["cost"] for line in job["phases"]) == job["labour_cost"]
        assert sum(line["cost"] for line in job["worker_days"]) == job["labour_cost"]
        assert sum(line["cost"] for line in job["items"]) == job["material_cost"]
        assert sum(line["amount"] for line in job["other_costs"]) == job["other_cost"]
        for name in ("labour_cost", "material_cost", "other_cost", "callback_cost"):
            assert sum(opening[name] for opening in job["openings"]) == job[name]
        assert float(sum(opening["hours"] for opening in job["openings"])) == pytest.approx(float(job["actual_hours"]))
        for line in job["phases"]:
            of_phase = [cost for row, _, cost, _ in lines if (row["phase"] or "not split") == line["phase"]]
            assert same_money(line["cost"], sum(of_phase, ZERO))
        assert sum(step["amount"] for step in job["bridge"][:-1]) == job["bridge"][-1]["amount"]
        assert job["bridge"][0]["amount"] == exact["contract_price"] - exact["quoted_cost"]
        assert job["bridge"][-1]["amount"] == job["profit_after_callbacks"]


@pytest.mark.parametrize("month", ["2020-05", "2025-06", "2026-08"])
def test_the_numbers_of_the_month_agree(world, month):
    """Result, hours against quotes, callbacks, bias of quotes and the target, from the files alone."""
    told = month_(world.book, world.settings, month, as_of=world.as_of)
    numbers = {sentence["topic"]: sentence["numbers"] for sentence in reversed(told["sentences"])}
    first = date.fromisoformat(f"{month}-01")
    last = min((first + timedelta(31)).replace(day=1) - timedelta(1), world.as_of)
    jobs = world.plain.completed(first, last)
    exact = world.plain.sums(jobs)
    for name in ("revenue", "job_profit", "callback_cost", "profit_after_callbacks"):
        assert same_money(Decimal(str(numbers["result"][name])), exact[name])
    assert numbers["result"]["jobs"] == exact["jobs"]
    assert numbers["result"]["margin_after_callbacks"] == pytest.approx(exact["margin_after_callbacks"], abs=1e-12)
    assert_callbacks(world, numbers["callbacks"], (first, last))
    if exact["quoted_jobs"] >= 5:
        added = sum((job["change_order_hours"] for job in jobs if job["quoted_hours"] is not None), ZERO)
        assert numbers["hours"]["quoted_hours"] == float(exact["quoted_hours"] + added)
        assert numbers["hours"]["actual_hours"] == float(exact["hours_of_quoted_jobs"])
    else:
        assert "hours" not in numbers
    assert_prices(world, told, last)


def assert_callbacks(world: World, numbers: dict[str, Any], days: tuple[date, date]) -> None:
    first, last = (day.isoformat() for day in days)
    reported = [visit for visit in world.plain.visits if first <= visit["leader"]["reported_on"] <= last]
    assert numbers["callbacks"] == len(reported)
    cost = sum((visit["net"] for visit in reported if visit["net"] is not None), ZERO)
    assert same_money(Decimal(str(numbers["cost"])), cost)


def assert_prices(world: World, told: Any, last: date) -> None:
    """The first sentence on prices is the bias of quoted hours over the twelve months to the end of the month."""
    year_before = last.replace(year=last.year - 1)
    year = [job for job in world.plain.completed(year_before + timedelta(1), last) if job["quoted_hours"] is not None]
    said = next(sentence for sentence in told["sentences"] if sentence["topic"] == "prices")["numbers"]
    actual = sum((job["actual_hours"] for job in year), ZERO)
    quoted = sum((job["quoted_hours"] + job["change_order_hours"] for job in year), ZERO)
    assert said["jobs"] == len(year)
    assert said["correction"] == pytest.approx(float(actual / quoted), abs=1e-9)


def test_the_jobs_that_explain_a_month_are_those_furthest_from_the_usual_margin(world):
    """Usual = profit after callbacks over revenue of the twelve months before; effects and their steps to the cent."""
    told = month_(world.book, world.settings, "2025-06", as_of=world.as_of)
    before = world.plain.sums(world.plain.completed(date(2024, 6, 1), date(2025, 5, 31)))
    usual = before["profit_after_callbacks"] / before["revenue"]
    month = world.plain.completed(date(2025, 6, 1), date(2025, 6, 30))
    effect = {job["job_id"]: job["profit_after_callbacks"] - usual * job["revenue"] for job in month}
    revenue = sum(job["revenue"] for job in month)
    far = [job for job in effect if abs(effect[job]) > revenue / 100]
    expected = sorted(far, key=lambda job: -abs(effect[job]))[:3]
    assert [job["job_id"] for job in told["jobs_that_explain_it"]] == expected
    for job in told["jobs_that_explain_it"]:
        assert abs(job["effect"] - effect[job["job_id"]]) < 2 * CENT
        assert sum(step["amount"] for step in job["steps"]) in (job["effect"], 0)
