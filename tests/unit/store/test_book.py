"""The book's layout: made once, brought up to date, views applied when their text changed."""

import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from pipeline.errors import NotEnoughRecords
from pipeline.store import layout
from pipeline.store.book import open_book
from pipeline.store.steps import fill_in
from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from tests.unit.store.made import all_of, file_read, new_book, take, waiting


def test_a_new_book_has_every_kind_as_a_table_and_nothing_in_it(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        assert all_of(con, "select count(*) from jobs") == [(0,)]
        assert layout.is_current(con)


def test_a_book_that_could_not_be_filled_is_not_left_behind(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="stop"), new_book(tmp_path):
        raise ValueError("stop")
    assert list(tmp_path.iterdir()) == []


def test_a_book_that_was_there_before_stays_when_filling_it_fails(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        take(con, file_read("jobs", [{"job_id": "J1"}]))
    with pytest.raises(ValueError, match="stop"), new_book(tmp_path):
        raise ValueError("stop")
    with new_book(tmp_path) as con:
        assert all_of(con, "select job_id from jobs") == [("J1",)]


def test_a_changed_view_is_applied_anew_when_the_book_is_next_opened_even_for_reading(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        con.execute("update shared_views set text_hash = 'older text' where name = 'quarantined_rows.sql'")
        con.execute("create or replace view quarantined_rows as select 1 as something_older")
    with open_book(tmp_path / "book.duckdb") as con:
        assert all_of(con, "from quarantined_rows") == []
        assert layout.is_current(con)


def test_views_are_left_alone_while_their_text_stays(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        con.execute("create or replace view quarantined_rows as select 1 as by_hand")
    with new_book(tmp_path) as con:
        assert all_of(con, "from quarantined_rows") == [(1,)]


def test_a_database_without_any_table_is_no_book_yet(tmp_path: Path) -> None:
    duckdb.connect(str(tmp_path / "book.duckdb")).close()
    with pytest.raises(NotEnoughRecords), open_book(tmp_path / "book.duckdb"):
        pass
    with new_book(tmp_path) as con:
        assert layout.is_current(con)


def test_upper_case_words_are_filled_in_whole_and_nowhere_else() -> None:
    assert fill_in("from KIND join KINDS on 'KIND_of'", {"KIND": "jobs"}) == "from jobs join KINDS on 'KIND_of'"


def test_a_withdrawn_correction_lets_the_row_wait_again(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        take(con, file_read("jobs", [{"job_id": "J1"}]))
        take(con, file_read("labour", [], [{"key": "E1"}]))
        name = all_of(con, "select quarantine_id from quarantine")[0][0]
        take(con, file_read("labour", [{"entry_id": "E9", "_quarantine_id": name}]))
        assert waiting(con) == []
        with one_transaction(con):
            withdraw_batch(con, 3)
        assert waiting(con) == [("labour", "E1")]
        assert all_of(con, "select count(*) from labour") == [(0,)]


def test_the_database_draws_no_bar_on_standard_output(tmp_path: Path) -> None:
    """In `python -c` it would, after 2 s of one question; then standard output held more than the answer."""
    code = (
        "import sys; from pathlib import Path; from pipeline.store.book import open_book\n"
        "with open_book(Path(sys.argv[1]), write=True, create=True) as con:\n"
        "    print(con.execute(\"select current_setting('enable_progress_bar')\").fetchall())"
    )
    root = Path(__file__).parents[3]
    command = [sys.executable, "-c", code, str(tmp_path / "firm.duckdb")]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
    assert done.stdout == "[(False,)]\n"
