"""Writing a batch: what goes in, what waits, what is let in later."""

from datetime import date
from pathlib import Path

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
