"""Every sentence of the promises of ingest, one test each, named after it."""

import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import polars as pl
import pytest

from pipeline.store.sheets import write_workbook
from tests.runs.commands import JOBS, LABOUR_HEAD, areaway, content, taken_in, waiting, written

ROOT = Path(__file__).parents[2]
PLACES = ("accepted", "updated", "unchanged", "quarantined")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Where the book of a test is; it is not there yet."""
    return tmp_path / "book.duckdb"


def counts(document: dict[str, int]) -> tuple[int, ...]:
    """Rows accepted, updated, unchanged and quarantined."""
    return tuple(document[place] for place in PLACES)


def hours_of(book: Path) -> list[tuple[str, float]]:
    """Entries and their hours in the book."""
    with duckdb.connect(str(book), read_only=True) as con:
        return con.execute("select entry_id, hours::double from labour order by 1").fetchall()


def test_every_source_row_ends_up_in_exactly_one_place(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour 1.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J1,2025-03-14,W2,8\n"))
    second = (
        LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J1,2025-03-14,W2,6\nE3,J1,2025-03-15,W1,7\nE4,J1,2025-03-15,W2,99\n"
    )
    document = taken_in(book, written(tmp_path, "labour 2.csv", second))
    assert document["rows"] == 4
    assert counts(document) == (1, 1, 1, 1)  # E3 new, E2 updated, E1 already so, E4 waits
    assert hours_of(book) == [("E1", 8), ("E2", 6), ("E3", 7)]


def test_the_book_itself_refuses_counts_that_do_not_add_up(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    with duckdb.connect(str(book)) as con, pytest.raises(duckdb.ConstraintException):
        con.execute("update batches set unchanged = unchanged + 1")
    with duckdb.connect(str(book)) as con, pytest.raises(duckdb.ConstraintException):
        con.execute("update files set rows = rows + 1")


def test_a_quarantined_row_has_one_entry_with_file_row_column_value_and_reason(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    text = LABOUR_HEAD + "\nE1,J1,2025-03-14,W1,ninety\n"  # line 2 is blank and counts
    file = written(tmp_path, "labour.csv", text)
    taken_in(book, file)
    (entry,) = waiting(book)
    assert (entry["kind"], entry["file"], entry["row"]) == ("labour", str(file), 3)
    assert (entry["column"], entry["value"]) == ("hours", "ninety")
    assert "ninety" in entry["reason"]


def test_a_quarantined_row_is_named_by_sheet_and_row_in_a_workbook_and_by_index_plus_2_in_parquet(
    book: Path, tmp_path: Path
) -> None:
    frame = pl.DataFrame({"entry_id": ["E1", "E2"], "job_id": "J1", "worked_on": "2025-03-14", "hours": ["8", "99"]})
    frame.write_parquet(tmp_path / "labour.parquet")
    write_workbook(tmp_path / "cards.xlsx", {"labour": frame.with_columns(entry_id=pl.lit("F") + pl.col("entry_id"))})
    taken_in(book, written(tmp_path, "jobs.csv", JOBS), tmp_path / "labour.parquet", tmp_path / "cards.xlsx")
    places = [(entry["file"], entry["row"]) for entry in waiting(book)]
    assert places == [(str(tmp_path / "labour.parquet"), 3), (f"{tmp_path / 'cards.xlsx'}[labour]", 3)]


def test_one_ingest_is_one_transaction_a_bad_file_among_good_ones_changes_nothing(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    before = content(book)
    good = written(tmp_path, "labour.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n")
    broken = written(tmp_path, "openings.csv", "opening_id,opening_id\nO1,O1\n")
    answer = areaway(book, "ingest", good, broken)
    assert (answer.code, answer.out) == (3, "")
    assert "openings.csv" in answer.err
    assert content(book) == before


@pytest.mark.parametrize("after_s", [0.0, 0.03, 0.1, 0.2, 0.4])
def test_killed_at_any_moment_the_book_opens_and_holds_the_state_before_or_after(
    book: Path, tmp_path: Path, after_s: float
) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    rows = "".join(f"E{at},J1,{2000 + at // 3000}-03-{at % 28 + 1:02d},W{at},8\n" for at in range(60_000))
    file = written(tmp_path, "labour.csv", LABOUR_HEAD + rows)
    command = [
        sys.executable,
        "-c",
        "from pipeline.cli.main import main; main()",
        "--book",
        str(book),
        "ingest",
        str(file),
    ]
    running = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    assert running.stderr is not None
    assert any("writing to" in line for line in running.stderr)  # the transaction begins here
    time.sleep(after_s)
    running.send_signal(signal.SIGKILL)
    running.wait()
    running.stderr.close()
    info = areaway(book, "info", "--json")
    assert info.code == 0, info.err
    held = {kind["kind"]: kind["rows"] for kind in info.document["kinds"]}
    assert held["jobs"] == 2
    assert (held["labour"], len(info.document["batches"])) in ((0, 1), (60_000, 2))


def test_a_file_whose_content_was_taken_in_before_changes_nothing(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    old = written(tmp_path, "labour old.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J9,2025-03-14,W2,8\n")
    taken_in(book, old)
    taken_in(book, written(tmp_path, "labour new.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,7\n"))
    under_another_name = written(tmp_path, "labour copy.csv", old.read_text())
    document = taken_in(book, under_another_name)
    assert hours_of(book) == [("E1", 7)]  # the later correction stands
    assert counts(document) == (0, 0, 1, 1)  # E2 still waits for job J9, and only once
    assert len(waiting(book)) == 1


def test_again_takes_it_in_anew(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    old = written(tmp_path, "labour old.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n")
    taken_in(book, old)
    taken_in(book, written(tmp_path, "labour new.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,7\n"))
    assert counts(taken_in(book, old, "--again")) == (0, 1, 0, 0)
    assert hours_of(book) == [("E1", 8)]


def test_the_last_ingested_version_wins_and_the_older_stays_in_the_history_with_its_batch(
    book: Path, tmp_path: Path
) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,6\n"))
    with duckdb.connect(str(book), read_only=True) as con:
        current = con.execute("select hours::double, _batch_id from labour").fetchall()
        older = con.execute("select hours::double, _batch_id, _until_batch_id from history.labour").fetchall()
    assert (current, older) == ([(6.0, 3)], [(8.0, 2, 3)])


def test_one_key_twice_identical_rows_the_second_is_unchanged(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    twice = LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n" * 2
    assert counts(taken_in(book, written(tmp_path, "labour.csv", twice))) == (1, 0, 1, 0)


def test_one_key_twice_different_rows_all_wait_and_each_reason_names_the_other_lines(
    book: Path, tmp_path: Path
) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    text = LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J1,2025-03-14,W2,8\nE1,J1,2025-03-14,W1,7\n"
    assert counts(taken_in(book, written(tmp_path, "labour.csv", text))) == (1, 0, 0, 2)
    first, second = waiting(book)
    assert (first["row"], second["row"]) == (2, 4)
    assert "line 4" in first["reason"]
    assert "line 2" in second["reason"]


def test_a_row_that_refers_to_a_missing_job_waits_and_is_released_by_itself(book: Path, tmp_path: Path) -> None:
    document = taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    assert counts(document) == (0, 0, 0, 1)
    document = taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    assert (document["accepted"], document["released"]) == (2, 1)
    assert (waiting(book), hours_of(book)) == ([], [("E1", 8)])


def test_a_row_that_refers_to_a_job_in_the_same_batch_does_not_wait(book: Path, tmp_path: Path) -> None:
    folder = tmp_path / "files"
    written(folder, "labour.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n")
    written(folder, "jobs.csv", JOBS)
    document = taken_in(book, folder)
    assert (counts(document), document["released"]) == ((3, 0, 0, 0), 0)


def test_a_row_of_the_same_kind_and_key_replaces_the_one_that_waits(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,ninety\n"))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,eighty\n"))
    assert [entry["value"] for entry in waiting(book)] == ["eighty"]
    taken_in(book, written(tmp_path, "labour c.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    assert (waiting(book), hours_of(book)) == ([], [("E1", 8)])


def test_the_same_file_again_never_grows_the_quarantine(book: Path, tmp_path: Path) -> None:
    text = LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n,,,,\nTOTAL,,,,16\n,J1,,W1,8\nE2,J1,2025-03-14,W1,many\n"
    file = written(tmp_path, "labour.csv", text)
    taken_in(book, file)
    names = [entry["quarantine_id"] for entry in waiting(book)]
    assert len(names) == 4
    taken_in(book, file)
    taken_in(book, file, "--again")
    assert [entry["quarantine_id"] for entry in waiting(book)] == names


def test_a_file_that_has_grown_brings_its_unreadable_lines_only_once(book: Path, tmp_path: Path) -> None:
    text = LABOUR_HEAD + "TOTAL,,,,16\n,J1,,W1,8\n"
    taken_in(book, written(tmp_path, "labour march.csv", text))
    taken_in(book, written(tmp_path, "labour april.csv", text + "E9,J1,2025-04-01,W1,8\n"))
    assert len(waiting(book)) == 3


def test_at_most_24_hours_per_worker_and_day_rows_in_the_book_stay(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,20\n"))
    text = LABOUR_HEAD + "E2,J1,2025-03-14,W1,3\nE3,J1,2025-03-14,W1,2\nE4,J1,2025-03-15,W1,2\n"
    assert counts(taken_in(book, written(tmp_path, "labour b.csv", text))) == (1, 0, 0, 2)
    assert hours_of(book) == [("E1", 20), ("E4", 2)]


def test_a_day_of_too_many_hours_says_where_they_stand(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    twice = "E1,J1,2025-03-14,W1,20\nE2,J1,2025-03-14,W1,6\nE3,J1,2025-03-15,W1,20\n"
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + twice))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E4,J1,2025-03-15,W1,6.5\n"))
    rule = "; a day has at most 24; correct the hours or the date and ingest the rows again"
    in_one, in_both = (
        f"worker W1 would have 26 hours on 2025-03-14, all in this batch{rule}",
        f"worker W1 would have 26.5 hours on 2025-03-15: 6.5 in this batch and 20 already in the book{rule}",
    )
    assert [entry["reason"] for entry in waiting(book)] == [in_one, in_one, in_both]


def test_a_correction_of_the_hours_in_the_book_is_not_counted_twice(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,20\n"))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,19\nE2,J1,2025-03-14,W1,5\n"))
    assert hours_of(book) == [("E1", 19), ("E2", 5)]


def test_withdraw_the_book_then_equals_one_that_never_received_that_batch(book: Path, tmp_path: Path) -> None:
    jobs = written(tmp_path, "jobs.csv", JOBS)
    first = written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J2,2025-03-14,W2,8\n")
    second = written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,5\nE3,J1,2025-03-14,W3,5\n")
    for file in (jobs, first, second):
        taken_in(book, file)
    assert areaway(book, "withdraw", 3).code == 0
    assert hours_of(book) == [("E1", 8), ("E2", 8)]
    assert [batch["withdrawn"] for batch in areaway(book, "info", "--json").document["batches"]] == [False, False, True]


def test_withdraw_later_rows_that_lose_their_parent_wait_again(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    assert areaway(book, "withdraw", 1).code == 0
    assert (hours_of(book), [entry["column"] for entry in waiting(book)]) == ([], ["job_id"])
    taken_in(book, tmp_path / "jobs.csv")  # the batch is withdrawn, so its content is new again
    assert (hours_of(book), waiting(book)) == ([("E1", 8)], [])


def test_withdraw_rows_that_a_later_batch_saw_again_stay(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    taken_in(book, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    taken_in(book, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\nE2,J1,2025-03-14,W2,8\n"))
    areaway(book, "withdraw", 2)
    assert hours_of(book) == [("E1", 8), ("E2", 8)]


@pytest.mark.parametrize("number", [7, 1])
def test_withdraw_what_cannot_be_withdrawn_says_so_and_changes_nothing(book: Path, tmp_path: Path, number: int) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    areaway(book, "withdraw", 1)
    before = content(book)
    answer = areaway(book, "withdraw", number)
    assert (answer.code, answer.out) == (3, "")
    assert f"batch {number}" in answer.err
    assert content(book) == before


def test_strict_any_quarantined_row_means_exit_3_and_nothing_stored(book: Path, tmp_path: Path) -> None:
    file = written(tmp_path, "labour.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n")
    answer = areaway(book, "ingest", file, "--strict")
    assert (answer.code, answer.out) == (3, "")
    assert "labour.csv line 2" in answer.err
    assert not book.exists()


@pytest.mark.parametrize(
    ("arguments", "code"),
    [(("--kind", "wages"), 2), (("--colour", "red"), 2), (("--received", "tomorrow"), 2)],
)
def test_wrong_usage_makes_no_book(book: Path, tmp_path: Path, arguments: tuple[str, str], code: int) -> None:
    answer = areaway(book, "ingest", written(tmp_path, "jobs.csv", JOBS), *arguments)
    assert (answer.code, answer.out, book.exists()) == (code, "", False)


def test_an_error_leaves_the_book_untouched(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    before = content(book)
    answer = areaway(book, "ingest", tmp_path / "nowhere.csv")
    assert (answer.code, answer.out) == (3, "")
    assert "nowhere.csv" in answer.err
    assert content(book) == before


def test_dropped_rows_are_gone_and_their_reason_is_kept(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "TOTAL,,,,16\nE1,J1,2025-03-14,W1,x\n"))
    total, other = (entry["quarantine_id"] for entry in waiting(book))
    without_reason = areaway(book, "quarantine", "--drop", total)
    assert without_reason.code == 2
    with_more = areaway(book, "quarantine", "--drop", total, "--reason", "a sum", "--export", tmp_path / "q.csv")
    assert (with_more.code, (tmp_path / "q.csv").exists(), len(waiting(book))) == (2, False, 2)
    answer = areaway(book, "quarantine", "--drop", total, "--reason", "a sum, no record", "--json")
    assert [row["quarantine_id"] for row in answer.document["rows"]] == [other]
    with duckdb.connect(str(book), read_only=True) as con:
        assert con.execute("select why_it_was_dropped from dropped_rows").fetchall() == [("a sum, no record",)]
    assert areaway(book, "quarantine", "--drop", total, "--reason", "again").code == 3


def test_a_batch_withdrawn_later_leaves_dropped_rows_dropped(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "labour.csv", LABOUR_HEAD + "TOTAL,,,,16\n"))
    areaway(book, "quarantine", "--drop", waiting(book)[0]["quarantine_id"], "--reason", "a sum")
    taken_in(book, written(tmp_path, "jobs.csv", JOBS))
    areaway(book, "withdraw", 2)
    assert waiting(book) == []
