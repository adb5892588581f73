"""Rows that only other rows of their batch keep out, or that repeat them: judged anew when those are taken back."""

from collections.abc import Sequence
from pathlib import Path

import duckdb

from tests.laws.test_withdraw_is_never_received import state
from tests.runs.commands import areaway, taken_in, waiting, written

HEAD = "job_id,crew,started_on,contract_price\n"
A, B = HEAD + "J1,a,2025-03-03,9000\n", HEAD + 'J1,b,3/3/2025,"$7,000.50"\n'


def book_of(tmp_path: Path, name: str, *batches: Sequence[object], taken_back: tuple[int, ...] = ()) -> Path:
    """A book that took these batches in, and gave some back."""
    book = tmp_path / f"{name}.duckdb"
    for files in batches:
        taken_in(book, *files)
    for batch in taken_back:
        assert areaway(book, "withdraw", batch).code == 0
    return book


def says(book: Path) -> object:
    """What a book says, apart from the numbers of its batches."""
    with duckdb.connect(str(book), read_only=True) as con:
        return state(con)


def jobs(book: Path) -> list[tuple[str, str, float]]:
    """The jobs in a book."""
    with duckdb.connect(str(book), read_only=True) as con:
        return con.execute("select job_id, crew, contract_price::double from jobs order by 1").fetchall()


def test_the_row_left_over_after_two_withdrawals_goes_in(tmp_path: Path) -> None:
    """Versions of one job from three batches: at odds after the first withdrawal, alone after the second."""
    a, b, b_again = (written(tmp_path, name, text) for name, text in (("a.csv", A), ("b.csv", B), ("c/b.csv", B)))
    kinds = ["--kind", "jobs"]
    book = book_of(tmp_path, "all", [*kinds, a], [*kinds, a, b], [*kinds, b_again], taken_back=(1,))
    told = "job_id 'J1' stands also on line 2 of {} with different values; keep the row that is right"
    assert [row["reason"] for row in waiting(book)] == [told.format(b), told.format(a)]
    assert jobs(book) == []
    assert areaway(book, "withdraw", 2).code == 0
    assert waiting(book) == []
    assert jobs(book) == [("J1", "b", 7000.5)]
    assert says(book) == says(book_of(tmp_path, "never", [*kinds, b_again]))


def test_a_row_that_its_twin_kept_out_goes_in_when_the_twin_is_taken_back(tmp_path: Path) -> None:
    """The same file comes again in a later batch without its twin; its other rows wait for reasons of their own."""
    bad = "J2,,2025-03-03,9000\nJ2,a,2025-03-03,9000\nJ3,,2025-03-03,9000\n"
    a, b = written(tmp_path, "jobs a.csv", A + bad), written(tmp_path, "jobs b.csv", B + "J3,c,2025-03-03,1\n")
    book = book_of(tmp_path, "all", [a, b], [b], [a], taken_back=(1,))
    never = book_of(tmp_path, "never", [b], [a])
    assert says(book) == says(never)
    assert jobs(book) == [("J1", "a", 9000.0), ("J3", "c", 1.0)]
    assert [row["reason"] for row in waiting(book)] == [
        "crew is empty; it must be filled in; the same record stands also on line 4 with different values; "
        "keep the row that is right",
        "job_id 'J2' stands also on line 3 with different values; keep the row that is right",
        "crew is empty; it must be filled in",
    ]


def test_a_row_that_repeated_one_of_its_batch_stays_when_that_one_is_taken_back(tmp_path: Path) -> None:
    a, b = written(tmp_path, "jobs a.csv", A), written(tmp_path, "jobs b.csv", A + "J2,b,2025-03-03,1\n")
    first = taken_in(tmp_path / "all.duckdb", a, b)
    assert (first["accepted"], first["unchanged"]) == (2, 1)
    book = book_of(tmp_path, "all", [b], taken_back=(1,))
    assert jobs(book) == [("J1", "a", 9000.0), ("J2", "b", 1.0)]
    assert says(book) == says(book_of(tmp_path, "never", [b]))


def test_corrections_of_two_rows_that_name_one_record_stay_two_rows(tmp_path: Path) -> None:
    book = tmp_path / "book.duckdb"
    taken_in(book, written(tmp_path, "jobs.csv", HEAD + "J1,,2025-03-03,1\nJ2,,2025-03-03,1\n"))
    sheet = tmp_path / "correct jobs.csv"
    assert areaway(book, "quarantine", "--export", sheet).code == 0
    text = sheet.read_text(encoding="utf-8-sig").replace("J2", "J1").replace(",,2025-03-03,1", ",n,2025-03-03,1")
    lines = text.splitlines()
    text = "\n".join([*lines[:2], lines[2].replace("2025-03-03,1", "2025-03-03,2"), ""])
    taken_in(book, "--kind", "jobs", written(tmp_path, "corrected.csv", text))
    taken_in(book, written(tmp_path, "jobs other.csv", HEAD + "J9,n,2025-03-03,1\n"))
    before = waiting(book)
    assert len(before) == 2
    assert areaway(book, "withdraw", 3).code == 0
    assert waiting(book) == before
