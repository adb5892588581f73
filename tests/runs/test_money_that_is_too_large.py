"""Money and quantities beyond what the book holds wait with a sentence; none overflows."""

from pathlib import Path

import polars as pl
import pytest

from tests.runs.commands import JOBS, areaway, taken_in, waiting, written

HEAD = "line_id,job_id,category,amount\n"
MATERIALS_HEAD = "line_id,job_id,item,quantity,unit,unit_cost\n"
TOO_MUCH = ["10000000000", "$10,000,000,000.00", "(10000000000)", "9999999999.99996", "1e10", "1e14", "9" * 40, "1e300"]
MOST = 9_999_999_999.9999  # what an exact decimal of 14 digits, 4 of them behind the point, can hold


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book with two jobs."""
    path = tmp_path / "book.duckdb"
    taken_in(path, written(tmp_path, "jobs.csv", JOBS))
    return path


@pytest.mark.parametrize("amount", TOO_MUCH)
def test_an_amount_of_ten_thousand_million_and_more_waits_alone(book: Path, tmp_path: Path, amount: str) -> None:
    rows = f'L1,J1,permit,"{amount}"\nL2,J1,permit,120\n'
    document = taken_in(book, written(tmp_path, "other_costs.csv", HEAD + rows))
    assert (document["accepted"], document["quarantined"]) == (1, 1)
    (entry,) = waiting(book)
    assert (entry["column"], entry["value"], entry["row"]) == ("amount", amount, 2)
    assert "must be" in entry["reason"]


@pytest.mark.parametrize("ending", ["parquet", "xlsx"])
@pytest.mark.parametrize("amount", [1e10, -1e10, 1e22])
def test_a_number_of_a_typed_file_that_is_too_large_waits_alone(
    book: Path, tmp_path: Path, ending: str, amount: float
) -> None:
    path = tmp_path / f"other_costs.{ending}"
    frame = pl.DataFrame({"line_id": ["L1", "L2"], "job_id": "J1", "category": "permit", "amount": [amount, 120.0]})
    frame.write_parquet(path) if ending == "parquet" else frame.write_excel(path)
    document = taken_in(book, path)
    assert (document["accepted"], document["quarantined"]) == (1, 1)
    assert waiting(book)[0]["reason"].endswith("it must be under 10,000,000,000")


def test_the_largest_money_goes_in_and_its_sums_do_not_overflow(book: Path, tmp_path: Path) -> None:
    costs = "".join(f"L{at},J1,permit,{MOST}\n" for at in range(20))
    bought = "".join(f"M{at},J1,shim,1,ea,{MOST}\n" for at in range(20))
    taken_in(book, written(tmp_path, "other_costs.csv", HEAD + costs))
    assert taken_in(book, written(tmp_path, "materials.csv", MATERIALS_HEAD + bought))["accepted"] == 20
    jobs = areaway(book, "jobs", "--as-of", "2025-06-30", "--json").document["rows"]
    (job,) = [row for row in jobs if row["job_id"] == "J1"]
    assert job["material_cost"] == pytest.approx(20 * MOST)
    assert areaway(book, "export", "--out", tmp_path / "out").code == 0


def test_a_line_that_comes_to_ten_thousand_million_waits_alone(book: Path, tmp_path: Path) -> None:
    rows = "M1,J1,shim,100000,ea,100000\nM2,J1,shim,-100000,ea,100000\nM3,J1,shim,2,ea,5\n"
    document = taken_in(book, written(tmp_path, "materials.csv", MATERIALS_HEAD + rows))
    assert (document["accepted"], document["quarantined"]) == (1, 2)
    reason = "unit_cost is '100000'; times quantity it must be under 10,000,000,000"
    assert [(entry["row"], entry["reason"]) for entry in waiting(book)] == [(2, reason), (3, reason)]
    hours = "entry_id,job_id,worked_on,hours,hourly_cost\nE1,J1,2025-03-14,8,2000000000\n"
    assert taken_in(book, written(tmp_path, "labour.csv", hours))["quarantined"] == 1
    assert areaway(book, "jobs", "--as-of", "2025-06-30", "--json").code == 0


FINISHED = "job_id,crew,started_on,completed_on,contract_price\nJ1,A,2025-03-10,2025-03-14,5000\n"
COMMANDS = (("margins",), ("jobs",), ("jobs", "J1"), ("month",), ("callbacks",))


@pytest.fixture
def finished(tmp_path: Path) -> Path:
    """A book with one finished job."""
    path = tmp_path / "finished.duckdb"
    taken_in(path, written(tmp_path, "jobs.csv", FINISHED))
    return path


def test_the_largest_quantity_at_the_largest_list_price_overflows_no_answer(finished: Path, tmp_path: Path) -> None:
    bought = f"M1,J1,shim,{MOST},ea,0.01,2025-03-12\n"
    taken_in(finished, written(tmp_path, "materials.csv", f"{MATERIALS_HEAD[:-1]},bought_on\n{bought}"))
    listed = f"item,effective_on,unit,unit_cost\nshim,2025-01-01,ea,{MOST}\n"
    taken_in(finished, written(tmp_path, "prices.csv", listed))
    for command in COMMANDS:
        assert areaway(finished, *command, "--as-of", "2025-06-30", "--json").code == 0
    (job,) = areaway(finished, "jobs", "J1", "--as-of", "2025-06-30", "--json").document["items"]
    assert job["price_variance"] == pytest.approx(MOST * 0.01 - MOST**2)


def test_the_largest_hours_of_a_callback_at_the_standard_cost_overflow_no_answer(
    finished: Path, tmp_path: Path
) -> None:
    size = "opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type\n"
    taken_in(finished, written(tmp_path, "openings.csv", f"{size}O1,J1,brick,new_cut,48,48,steel\n"))
    reports = f"callback_id,opening_id,reported_on,complaint,labour_hours\nC1,O1,2025-04-01,leak,{MOST}\n"
    taken_in(finished, written(tmp_path, "callbacks.csv", reports))
    settings = tmp_path / "dear.toml"
    settings.write_text("[firm]\nstandard_hourly_cost = 999999\noverhead_per_labour_hour = 999999\n")
    for command in COMMANDS:
        assert areaway(finished, "--settings", settings, *command, "--as-of", "2025-06-30", "--json").code == 0


@pytest.mark.parametrize("name", ["standard_hourly_cost", "overhead_per_labour_hour"])
def test_a_million_dollars_an_hour_is_a_slip_of_the_hand(book: Path, tmp_path: Path, name: str) -> None:
    settings = tmp_path / "dear.toml"
    settings.write_text(f"[firm]\n{name} = 1000000\n")
    refused = areaway(book, "--settings", settings, "margins")
    assert refused.code == 3
    assert f"[firm] {name}" in refused.err
    assert "under 1,000,000" in refused.err
