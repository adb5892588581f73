"""Writing a batch: what goes in, what waits, what is let in later."""

from datetime import date
from pathlib import Path

from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from tests.unit.store.made import all_of, file_read, new_book, take, waiting


def test_a_row_goes_in_with_its_batch_file_and_line(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        written = take(con, file_read("jobs", [{"job_id": "J1"}, {"job_id": "J2"}]))
        assert written.files[0] == {"rows": 2, "accepted": 2, "updated": 0, "unchanged": 0, "quarantined": 0}
        assert all_of(con, "select job_id, _batch_id, _file_id, _line from jobs order by all") == [
            ("J1", 1, 1, 2),
            ("J2", 1, 1, 3),
        ]


def test_a_row_waits_for_its_job_and_goes_in_when_it_arrives(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        first = take(con, file_read("labour", [{"entry_id": "E1"}]))
        assert first.files[0]["quarantined"] == 1
        assert waiting(con) == [("labour", "E1")]
        second = take(con, file_read("jobs", [{"job_id": "J1"}]))
        assert second.released == 1
        assert waiting(con) == []
        assert all_of(con, "select entry_id, hours, _batch_id from labour") == [("E1", 8, 1)]


def test_a_job_lets_in_openings_which_let_in_callbacks_which_let_in_their_duplicates(tmp_path: Path) -> None:
    with new_book(tmp_path) as con:
        take(con, file_read("callbacks", [{"callback_id": "C2", "duplicate_of": "C1"}]))
        take(con, file_read("callbacks", [{"callback_id": "C1"}]))
        take(con, file_read("openings", [{"opening_id": "O1"}]))
        assert waiting(con) == [("callbacks", "C1"), ("callbacks", "C2"), ("openings", "O1")]
        assert take(con, file_read("jobs", [{"job_id": "J1"}])).released == 3
        assert waiting(con) == []


def test_a_callback_before_completion_and_hours_after_it_are_kept_with_a_warning(tmp_path: Path) -> None:
    done, early, late = date(2025, 3, 20), date(2025, 3, 18), date(2025, 4, 2)
    with new_book(tmp_path) as con:
        written = take(
            con,
            file_read("jobs", [{"job_id": "J1", "completed_on": done}]),
            file_read("openings", [{"opening_id": "O1"}]),
            file_read("labour", [{"entry_id": "E1", "worked_on": late}, {"entry_id": "E2", "worked_on": done}]),
            file_read("callbacks", [{"callback_id": "C1", "reported_on": early, "labour_hours": 2.0}]),
        )
        assert waiting(con) == []
        assert [(place, [notice.line for notice in doubts]) for place, doubts in written.doubts.items()] == [
            (2, [2]),
            (3, [2]),
        ]
        assert len(all_of(con, "from row_warnings")) == 2


def test_a_file_that_takes_effect_through_a_later_batch_waits_where_it_is_at_odds_with_that_batch(
    tmp_path: Path,
) -> None:
    """One key twice in a batch: different rows all wait, each naming the other; identical rows count once."""
    first = file_read("jobs", [{"job_id": "J1", "crew": "a"}, {"job_id": "J2"}, {"job_id": "J3"}], path="first.csv")
    second = file_read("jobs", [{"job_id": "J1", "crew": "b"}, {"job_id": "J2"}], path="second.csv")
    with new_book(tmp_path) as con:
        take(con, first)
        take(con, first, second)  # the first brings nothing new here, so nothing is at odds yet
        assert all_of(con, "select job_id, crew from jobs order by 1")[0] == ("J1", "b")
        with one_transaction(con):
            withdraw_batch(con, 1)
        assert all_of(con, "select job_id from jobs order by 1") == [("J2",), ("J3",)]
        found = all_of(con, "select raw->>'crew', _line, reason from quarantine where state = 'waits' order by 1")
        elsewhere = "job_id 'J1' stands also on line 2 of {}.csv with different values; keep the row that is right"
        assert found == [("a", 2, elsewhere.format("second")), ("b", 2, elsewhere.format("first"))]


def test_rows_that_waited_and_went_in_later_are_doubted_like_any_other(tmp_path: Path) -> None:
    """Callback and hours wait for the opening and the job; both go in with a batch that brings neither of them."""
    done, early, late = date(2025, 3, 20), date(2025, 3, 18), date(2025, 4, 2)
    with new_book(tmp_path) as con:
        callback = {"callback_id": "C1", "reported_on": early, "labour_hours": 2.0}
        take(con, file_read("callbacks", [callback], path="callbacks.csv"))
        take(con, file_read("labour", [{"entry_id": "E1", "worked_on": late}], path="labour.csv"))
        take(con, file_read("openings", [{"opening_id": "O1"}]))
        assert all_of(con, "from row_warnings") == []
        written = take(con, file_read("jobs", [{"job_id": "J1", "completed_on": done}]))
        assert (written.released, dict(written.doubts)) == (3, {})
        assert [(name, notice.line, notice.column) for name, notice in written.doubts_earlier] == [
            ("callbacks.csv", 2, "reported_on"),
            ("labour.csv", 2, "worked_on"),
        ]
        listed = all_of(con, 'select batch_id, file, "row", "column" from row_warnings order by 1')
        assert listed == [(1, "callbacks.csv", 2, "reported_on"), (2, "labour.csv", 2, "worked_on")]


def test_a_doubt_comes_with_the_record_that_raises_it_and_goes_with_its_correction(tmp_path: Path) -> None:
    """The job is completed later than its callback was reported: said once, until the job's date is put right."""
    with new_book(tmp_path) as con:
        take(con, file_read("jobs", [{"job_id": "J1"}]), file_read("openings", [{"opening_id": "O1"}]))
        take(con, file_read("callbacks", [{"callback_id": "C1", "reported_on": date(2025, 3, 18)}]))
        raised = take(con, file_read("jobs", [{"job_id": "J1", "completed_on": date(2025, 3, 20)}]))
        assert len(raised.doubts_earlier) == 1
        again = take(con, file_read("jobs", [{"job_id": "J2", "completed_on": date(2025, 3, 20)}]))
        assert (again.doubts_earlier, len(all_of(con, "from row_warnings"))) == ((), 1)
        take(con, file_read("jobs", [{"job_id": "J1", "completed_on": date(2025, 3, 17)}]))
        assert all_of(con, "from row_warnings") == []
        with one_transaction(con):
            withdraw_batch(con, 5)
        assert len(all_of(con, "from row_warnings")) == 1
