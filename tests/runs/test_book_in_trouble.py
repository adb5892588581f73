"""The book in use elsewhere, not ours, damaged, read-only, on a full disk: one sentence, exit 5, nothing changed."""

import resource
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random

import duckdb
import pytest

from pipeline.store import book as book_module
from tests.runs.commands import JOBS, LABOUR_HEAD, Answer, areaway, content, taken_in, written

ROOT = Path(__file__).parents[2]
HOLD = "import duckdb, sys; con = duckdb.connect(sys.argv[1]); print('held', flush=True); sys.stdin.read()"
RUN = "from pipeline.cli.main import main; main()"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book with two jobs."""
    path = tmp_path / "book.duckdb"
    taken_in(path, written(tmp_path, "jobs.csv", JOBS))
    return path


@pytest.fixture
def holder(book: Path) -> Iterator[subprocess.Popen[str]]:
    """Another program that has the book open."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(book)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        yield other
        other.communicate()


def refused(answer: Answer) -> bool:
    """Exit 5 with a sentence and no traceback."""
    return answer.code == 5 and answer.out == "" and "Traceback" not in answer.err


def test_a_book_in_use_says_by_which_process(
    book: Path, tmp_path: Path, holder: subprocess.Popen[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book_module, "LOCK_PATIENCE_S", 0.3)
    for arguments in (["info"], ["ingest", tmp_path / "jobs.csv"]):
        answer = areaway(book, *arguments)
        assert refused(answer)
        assert f"process {holder.pid}" in answer.err


def test_a_book_that_is_let_go_in_time_is_used(book: Path, holder: subprocess.Popen[str]) -> None:
    assert holder.stdin is not None
    waiting = subprocess.Popen(
        [sys.executable, "-c", RUN, "--book", str(book), "info"], cwd=ROOT, stdout=subprocess.DEVNULL
    )
    holder.stdin.close()
    holder.stdin = None
    assert waiting.wait(timeout=30) == 0


def test_two_ingests_at_once_both_go_in(book: Path, tmp_path: Path) -> None:
    files = [written(tmp_path, f"labour {at}.csv", LABOUR_HEAD + f"E{at},J1,2025-03-14,W{at},8\n") for at in range(2)]
    both = [
        subprocess.Popen([sys.executable, "-c", RUN, "--book", str(book), "ingest", str(file)], cwd=ROOT,
                         stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for file in files
    ]  # fmt: skip
    assert [one.wait(timeout=60) for one in both] == [0, 0]
    held = {kind["kind"]: kind["rows"] for kind in areaway(book, "info", "--json").document["kinds"]}
    assert held["labour"] == 2


def _text(path: Path) -> None:
    path.write_text("no book at all\n" * 1000)


def _sqlite(path: Path) -> None:
    with sqlite3.connect(path) as con:
        con.execute("create table jobs (a)")
    con.close()


def _other_database(path: Path) -> None:
    with duckdb.connect(str(path)) as con:
        con.execute("create table jobs as select 1 as a")


def _of_the_future(path: Path) -> None:
    with duckdb.connect(str(path)) as con:
        con.execute("create table schema_steps as select '9999_later.sql' as step, now() as applied_at")


def _empty(path: Path) -> None:
    path.touch()


@pytest.mark.parametrize("make", [_text, _sqlite, _other_database, _of_the_future, _empty])
def test_what_is_not_our_book_stays_as_it_was(tmp_path: Path, make: object) -> None:
    path = tmp_path / "other.duckdb"
    make(path)  # type: ignore[operator]
    before = path.read_bytes()
    for arguments in (["info"], ["ingest", written(tmp_path, "jobs.csv", JOBS)]):
        answer = areaway(path, *arguments)
        assert refused(answer), answer
        assert str(path) in answer.err
        assert path.read_bytes() == before


@pytest.mark.parametrize("start", [0, 4096, 12_288])  # file header, first database header, first block of data
def test_a_damaged_book_is_said_to_be_damaged_and_left_alone(book: Path, tmp_path: Path, start: int) -> None:
    data = bytearray(book.read_bytes())
    data[start:] = Random(start).randbytes(len(data) - start)
    book.write_bytes(data)
    for arguments in (["info"], ["ingest", tmp_path / "jobs.csv", "--again"]):
        assert refused(areaway(book, *arguments))
        assert book.read_bytes() == bytes(data)


@pytest.mark.parametrize("seed", range(4))
def test_a_book_damaged_in_places_never_shows_a_traceback(book: Path, tmp_path: Path, seed: int) -> None:
    random, data = Random(seed), bytearray(book.read_bytes())
    start = random.randrange(12_288, len(data) - 5000)
    data[start : start + 5000] = random.randbytes(5000)
    book.write_bytes(data)
    for arguments in (["info"], ["ingest", tmp_path / "jobs.csv", "--again"]):
        answer = areaway(book, *arguments)
        assert answer.code == 0 or refused(answer), answer


def test_a_book_cut_short_is_refused(book: Path) -> None:
    book.write_bytes(book.read_bytes()[:20_000])
    assert refused(areaway(book, "info"))


def test_no_book_yet_says_how_to_make_one(tmp_path: Path) -> None:
    for arguments in (["info"], ["quarantine"], ["withdraw", "1"], ["export", "--out", tmp_path / "out"]):
        answer = areaway(tmp_path / "none.duckdb", *arguments)
        assert (answer.code, answer.out) == (4, "")
        assert "ingest" in answer.err
    assert not (tmp_path / "none.duckdb").exists()


def test_a_book_in_a_folder_that_is_not_there(tmp_path: Path) -> None:
    answer = areaway(tmp_path / "nowhere" / "book.duckdb", "ingest", written(tmp_path, "jobs.csv", JOBS))
    assert refused(answer)
    assert "folder" in answer.err


def test_a_disk_that_takes_no_more_leaves_the_book_as_it_was(book: Path, tmp_path: Path) -> None:
    before = content(book)
    rows = "".join(f"E{at},J1,{2000 + at // 3000}-03-{at % 28 + 1:02d},W{at},8\n" for at in range(60_000))
    file = written(tmp_path, "labour.csv", LABOUR_HEAD + rows)
    room = book.stat().st_size + 300_000

    def small_disk() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    command = [sys.executable, "-c", RUN, "--book", str(book), "ingest", str(file)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, preexec_fn=small_disk, check=False)
    assert (done.returncode, done.stdout) == (5, ""), done.stderr
    assert "Traceback" not in done.stderr
    assert content(book) == before


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 4 MB in memory; needs the right to mount."""
    place = tmp_path / "disk"
    place.mkdir()
    if subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(place)], capture_output=True, check=False
    ).returncode:
        pytest.skip("no right to mount a small disk here; the limit on file size is tested above")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_full_disk_leaves_the_book_as_it_was(small_disk: Path, tmp_path: Path) -> None:
    path = small_disk / "book.duckdb"
    taken_in(path, written(tmp_path, "jobs.csv", JOBS))
    before = content(path)
    rows = "".join(
        f"E{at * 7919},J1,{2000 + at // 9000}-03-{at % 28 + 1:02d},W{at * 104729},8\n" for at in range(180_000)
    )
    answer = areaway(path, "ingest", written(tmp_path, "labour.csv", LABOUR_HEAD + rows))
    assert refused(answer), answer
    assert content(path) == before


def test_a_read_only_disk_is_said_and_can_still_be_read(small_disk: Path, tmp_path: Path) -> None:
    path = small_disk / "book.duckdb"
    taken_in(path, written(tmp_path, "jobs.csv", JOBS))
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    answer = areaway(path, "ingest", tmp_path / "jobs.csv", "--again")
    assert refused(answer), answer
    assert "read-only" in answer.err
    assert areaway(path, "info").code == 0
    new = areaway(small_disk / "new.duckdb", "ingest", tmp_path / "jobs.csv")
    assert refused(new), new
