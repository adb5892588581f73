"""Doubts about rows that were kept can be listed, and the book's copy of the settings follows every change."""

from pathlib import Path

import duckdb
import pytest

from tests.runs.commands import LABOUR_HEAD, areaway, taken_in, waiting, written

JOBS = "job_id,crew,started_on,completed_on,contract_price\nJ1,north,2025-03-03,2025-03-20,9000\n"
OPENINGS = (
    "opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type\n"
    "O1,J1,brick,new_cut,40,50,steel\n"
)
CALLBACKS = "callback_id,opening_id,reported_on,complaint\nC1,O1,2025-03-18,leak\n"
LABOUR_WITH_COST = "entry_id,job_id,worked_on,worker_id,hours,hourly_cost\n"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Where the book of a test is; it is not there yet."""
    return tmp_path / "book.duckdb"


def _doubtful(book: Path, tmp_path: Path) -> Path:
    """A book with one doubt about a row and one about a whole column, from two batches; the file of the first."""
    taken_in(book, written(tmp_path, "jobs.csv", JOBS), written(tmp_path, "openings.csv", OPENINGS))
    early = written(tmp_path, "callbacks.csv", CALLBACKS)
    taken_in(book, early)
    taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "E1,J1,03/04/2025,W1,8\n"))
    return early


def test_the_warnings_of_all_batches_can_be_listed(book: Path, tmp_path: Path) -> None:
    early = _doubtful(book, tmp_path)
    first, second = areaway(book, "info", "--warnings", "--json").document["warnings"]
    assert list(first) == ["kind", "file", "row", "column", "value", "text", "batch_id"]
    assert (first["kind"], first["file"], first["row"], first["column"]) == ("callbacks", str(early), 2, "reported_on")
    assert (first["value"], first["batch_id"]) == ("2025-03-18", 2)
    assert first["text"].startswith("reported on 2025-03-18, before job J1 was completed on 2025-03-20")
    assert (second["kind"], second["row"], second["column"], second["batch_id"]) == ("labour", None, "worked_on", 3)
    text = areaway(book, "info", "--warnings").out
    assert f"batch 2  callbacks  {early} line 2: reported_on: reported on 2025-03-18, before job J1" in text
    assert "Warnings: 2\n" in text


def test_warnings_are_listed_only_when_asked_for_and_leave_with_their_batch(book: Path, tmp_path: Path) -> None:
    _doubtful(book, tmp_path)
    assert "warnings" not in areaway(book, "info", "--json").document
    assert areaway(book, "withdraw", 2).code == 0
    (left,) = areaway(book, "info", "--warnings", "--json").document["warnings"]
    assert left["batch_id"] == 3


def test_an_ingest_that_warns_says_where_the_warnings_are_listed(book: Path, tmp_path: Path) -> None:
    _doubtful(book, tmp_path)
    file = written(tmp_path, "labour b.csv", LABOUR_HEAD + "E2,J1,03/05/2025,W1,8\n")
    said = "Warnings about what was kept: 1; areaway info --warnings lists them."
    assert said in areaway(book, "ingest", file).out
    assert "info --warnings" not in areaway(book, "ingest", file).out  # the same file: nothing was kept anew


def test_a_row_that_waited_and_goes_in_with_a_doubt_is_told_by_the_ingest_that_lets_it_in(
    book: Path, tmp_path: Path
) -> None:
    early = written(tmp_path, "callbacks.csv", CALLBACKS)
    taken_in(book, early)
    taken_in(book, written(tmp_path, "openings.csv", OPENINGS))
    answer = areaway(book, "ingest", written(tmp_path, "jobs.csv", JOBS))
    assert f"{early} line 2: reported_on: reported on 2025-03-18, before job J1 was completed on" in answer.err
    assert "2 rows that had waited went in now.\nWarnings about what was kept: 1;" in answer.out
    (listed,) = areaway(book, "info", "--warnings", "--json").document["warnings"]
    assert (listed["file"], listed["row"], listed["batch_id"]) == (str(early), 2, 1)


def remembered(book: Path) -> list[tuple[float]]:
    """The standard cost of an hour that rides along in the book."""
    with duckdb.connect(str(book), read_only=True) as con:
        return con.execute("select value::double from firm_settings where name = 'standard_hourly_cost'").fetchall()


def test_a_withdrawal_changes_the_settings_remembered_with_the_book(book: Path, tmp_path: Path) -> None:
    """The standard cost of an hour is the median of the hours recorded, so it follows the rows that leave."""
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_WITH_COST + "E1,J1,2025-03-14,W1,8,30\n"))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_WITH_COST + "E1,J1,2025-03-14,W1,8,40\n"))
    assert remembered(book) == [(40,)]
    assert areaway(book, "withdraw", 3).code == 0
    assert remembered(book) == [(30,)]


def test_dropping_a_row_remembers_the_settings_in_force(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "TOTAL,,,,16\n"))
    (entry,) = waiting(book)
    settings = written(tmp_path, "firm.toml", "[firm]\nstandard_hourly_cost = 55\n")
    assert remembered(book) == [(0,)]
    answer = areaway(book, "--settings", settings, "quarantine", "--drop", entry["quarantine_id"], "--reason", "a sum")
    assert answer.code == 0, answer.err
    assert remembered(book) == [(55,)]
