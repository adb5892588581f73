"""Wrong words and empty answers are said in our own sentences, with nothing on standard output."""

import json
from pathlib import Path

import pytest

from tests.runs.commands import JOBS, LABOUR_HEAD, Answer, areaway


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two jobs begun in March 2025."""
    folder = tmp_path_factory.mktemp("refusals")
    (folder / "jobs.csv").write_text(JOBS)
    assert areaway(folder / "book.duckdb", "ingest", folder / "jobs.csv").code == 0
    return folder / "book.duckdb"


def refused(answer: Answer, code: int) -> str:
    """What was said on standard error."""
    assert (answer.code, answer.out) == (code, "")
    return answer.err


def test_a_batch_is_asked_for_by_its_number(book: Path) -> None:
    assert "BATCH is 'abc'; it must be the number of a batch" in refused(areaway(book, "withdraw", "abc"), 2)


def test_at_least_one_opening_is_asked_for(book: Path) -> None:
    assert "--top is 0; it must be at least 1" in refused(areaway(book, "revisit", "--top", "0"), 2)


def test_a_quarantine_export_ends_in_csv_or_xlsx(book: Path, tmp_path: Path) -> None:
    """Wrong usage, said before the book is opened."""
    answer = areaway(tmp_path / "no book here.duckdb", "quarantine", "--export", tmp_path / "x.txt")
    assert "it must end in .csv or .xlsx" in refused(answer, 2)


def test_jobs_before_the_first_begun_are_none(book: Path) -> None:
    answer = areaway(book, "jobs", "--as-of", "1999-01-01")
    assert "0 jobs begun by 1999-01-01, at least 1 is needed" in refused(answer, 4)


def test_a_day_after_the_books_end_is_answered_with_a_note(tmp_path: Path) -> None:
    """Time nobody has recorded anything of counts as quiet: said on standard error, the answer stays one document."""
    head, row = "job_id,crew,started_on,completed_on,contract_price", "J1,north,2025-03-03,2025-03-05,9000"
    (tmp_path / "jobs.csv").write_text(f"{head}\n{row}\n")
    book = tmp_path / "book.duckdb"
    areaway(book, "ingest", tmp_path / "jobs.csv")
    answer = areaway(book, "jobs", "--as-of", "2025-03-08", "--json")
    assert json.loads(answer.out)
    assert "newest record is of 2025-03-05. The 3 days up to 2025-03-08 count as days without work" in answer.err
    assert areaway(book, "jobs", "--as-of", "2025-03-05").err == ""


def test_quarantine_names_first_what_needs_a_hand_and_counts_what_follows(tmp_path: Path) -> None:
    """J1 waits for its price; its two labour rows wait only for J1. J9 is nowhere, so its row needs a hand too."""
    book = tmp_path / "book.duckdb"
    (tmp_path / "jobs.csv").write_text("job_id,crew,started_on,contract_price\nJ1,n,2025-03-03,x\n")
    rows = "".join(f"E{at},{job},2025-03-04,W,8\n" for at, job in enumerate(("J1", "J1", "J9")))
    (tmp_path / "labour.csv").write_text(LABOUR_HEAD + rows.replace("W,8", "W,4"))
    assert areaway(book, "ingest", tmp_path).code == 0
    told = areaway(book, "quarantine")
    assert told.out.splitlines()[-1] == "4 rows wait. Put these 2 right first; 2 others follow by themselves."
    assert "'J9'" in told.out and "E0" not in told.out and len(told.out.splitlines()) == 3
    assert [row["follows"] for row in areaway(book, "quarantine", "--json").document["rows"]] == [
        False, True, True, False,
    ]  # fmt: skip
    dropped = areaway(book, "quarantine", "--drop", told.out.split()[0], "--reason", "none")
    assert dropped.out.startswith("Dropped 1; the reason is kept.\n3 rows wait.")


def test_quarantine_says_how_to_keep_one_of_two_versions_and_that_way_works(tmp_path: Path) -> None:
    book = tmp_path / "book.duckdb"
    (tmp_path / "jobs.csv").write_text(JOBS + "J2,south,2025-03-10,7100\n")
    areaway(book, "ingest", tmp_path / "jobs.csv")
    assert "delete the wrong line there (unless --drop took it), and ingest" in areaway(book, "quarantine").out
    sheet = tmp_path / "jobs-corrected.csv"
    areaway(book, "quarantine", "--export", sheet)
    sheet.write_text("\n".join(sheet.read_text().splitlines()[:2]) + "\n")
    assert areaway(book, "ingest", sheet).code == 0
    assert areaway(book, "quarantine").out == "Nothing waits.\n"


@pytest.mark.parametrize("wrong", [("margins", "--by", "nonsense"), ("revisit", "--top", "0"), ("month", "2026-13")])
def test_a_wrong_option_is_said_before_a_missing_book(tmp_path: Path, wrong: tuple[str, ...]) -> None:
    """With --as-of as without it."""
    refused(areaway(tmp_path / "no book here.duckdb", *wrong, "--as-of", "2026-01-01"), 2)
