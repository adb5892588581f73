"""A path that cannot be read or written is said in a sentence that names it, with nothing on standard output."""

import os
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline.errors import InputError
from pipeline.runs.case_page import write_case_page
from pipeline.store.book import _storage_fault
from tests.runs.commands import areaway, taken_in, written

JOBS = "job_id,crew,started_on,completed_on,contract_price\nJ1,north,2025-03-03,2025-03-05,9000\n"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One finished job."""
    folder = tmp_path_factory.mktemp("paths")
    taken_in(folder / "book.duckdb", written(folder, "jobs.csv", JOBS))
    return folder / "book.duckdb"


@pytest.mark.parametrize("command", ["export", "blank", "demo", "month 2025-03", "quarantine"])
def test_a_file_that_stands_where_a_folder_should_be_is_named(book: Path, tmp_path: Path, command: str) -> None:
    in_the_way = written(tmp_path, "text.txt", "hello")
    option = "--export" if command == "quarantine" else "--out"
    out = {"month 2025-03": in_the_way / "page.html", "quarantine": in_the_way / "rows.csv"}.get(command, in_the_way)
    answer = areaway(book, *command.split(), option, out)
    assert (answer.code, answer.out) == (3, "")
    assert "text.txt" in answer.err
    assert in_the_way.read_text() == "hello"


def test_a_case_page_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    case: Any = {"callback": {"callback_id": "C1"}, "opening": {"opening_id": "O1"}}
    with pytest.raises(InputError, match=r"text\.txt.case-C1\.html cannot be written: .*another folder with --out"):
        write_case_page(case, written(tmp_path, "text.txt", "hello"))


def _not_allowed(*_: object, **__: object) -> str:
    raise PermissionError(13, "Permission denied")


def test_settings_that_may_not_be_read_are_named(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings = written(tmp_path, "firm.toml", "[firm]\n")
    monkeypatch.setattr(Path, "read_text", _not_allowed)
    answer = areaway(book, "--settings", settings, "info")
    assert (answer.code, answer.out) == (3, "")
    assert f"the settings file {settings} cannot be read: Permission denied; give another file" in answer.err


def test_settings_that_are_no_text_are_said_to_be_none(book: Path, tmp_path: Path) -> None:
    (tmp_path / "firm.toml").write_bytes(b"\xff\xfe\x00binary\x81")
    answer = areaway(book, "--settings", tmp_path / "firm.toml", "info")
    assert answer.code == 3
    assert "firm.toml is no text in UTF-8" in answer.err and "codec" not in answer.err


def test_a_book_that_may_not_be_read_is_not_said_to_be_read_only(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    said = _storage_fault(book, duckdb.IOException("Cannot open file: Permission denied"))
    assert said is not None and "not allowed to read it" in said and "read-only" not in said


@pytest.mark.parametrize("command", ["ingest", "inspect"])
def test_a_file_that_may_not_be_read_is_named_without_the_usage(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    file = written(tmp_path, "jobs.csv", JOBS)
    monkeypatch.setattr(os, "access", lambda path, mode: str(path) != str(file))
    monkeypatch.setattr(Path, "read_bytes", _not_allowed)
    answer = areaway(book, command, file)
    assert (answer.code, answer.out) == (3, "")
    assert "jobs.csv cannot be read: Permission denied" in answer.err and "Usage" not in answer.err


@pytest.mark.parametrize("asked", ["", "closed", "closed/jobs.csv"])
def test_a_folder_that_may_not_be_opened_is_named_and_not_passed_over(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: str
) -> None:
    closed = written(tmp_path, "closed/jobs.csv", JOBS).parent
    monkeypatch.setattr(os, "access", lambda path, mode: str(path) != str(closed))
    answer = areaway(book, "ingest", tmp_path / asked)
    assert (answer.code, answer.out) == (3, "")
    assert f"the folder {closed} may not be opened" in answer.err


@pytest.mark.parametrize(
    ("command", "said"),
    [("revisit --top abc", "'abc' is not a whole number, such as 20"),
     ("quote --margin abc", "'abc' is not a number, such as 0.35")],
)  # fmt: skip
def test_an_option_that_is_no_number_is_said_in_our_words(book: Path, command: str, said: str) -> None:
    answer = areaway(book, *command.split())
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err and "parse" not in answer.err
