"""Whatever was taken in: a book that gives a batch back equals one that never received it."""

import hashlib
from pathlib import Path
from random import Random
from typing import Any

import duckdb
import polars as pl

from pipeline.store.book import open_book
from pipeline.store.quarantine import drop, waiting_rows
from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from schemas.batch import FileRead
from schemas.kinds import KINDS
from tests.unit.store.made import DAY, all_of, file_read, take

SEEDS = range(5)
DROP_AFTER = 2
PLACES = {
    "waits", "released", "replaced", "corrected", "dropped", "older version", "seen again",
    "held for values", "held for link", "held for hours",
}  # fmt: skip
CHAIN = ("jobs", "openings", "labour", "callbacks")


def random_file(random: Random, earlier: dict[str, list[str]]) -> FileRead:
    """A file of one kind over very few keys, so that batches repeat, correct and miss each other's rows.

    in: earlier: per kind, names of quarantine entries that a row of this file may free
    """
    kind = random.choice(CHAIN)
    keys = random.sample(["1", "2", "3", "4"], random.randint(1, 3))
    bad = [{"key": key, **_tie(random, earlier[kind])} for key in keys if random.random() < 0.4]
    bad_keys = {row["key"] for row in bad}
    good = [{**_row(random, kind, key), **_tie(random, earlier[kind])} for key in keys if key not in bad_keys]
    return file_read(kind, good, bad, path=f"{kind}.csv")


def _tie(random: Random, earlier: list[str]) -> dict[str, str]:
    return {"_quarantine_id": random.choice(earlier)} if earlier and random.random() < 0.6 else {}


def entry_names(file: FileRead, rows: pl.DataFrame) -> list[str]:
    """What the quarantine entries of a file are called: its content and kind, the line and the key decide it."""
    places = rows.select("_line", "_key").rows()
    named = ("|".join((file.content_hash, "", file.kind, str(line), key)) for line, key in places)
    return ["q" + hashlib.md5(text.encode()).hexdigest()[:12] for text in named]


def random_batches(random: Random) -> list[list[FileRead]]:
    """A job and an opening, then batches of one file or of two kinds, sometimes of a content that came before."""
    batches = [[file_read("jobs", [{"job_id": "1"}]), file_read("openings", [{"opening_id": "1", "job_id": "1"}])]]
    for _ in range(5):
        before = [file for files in batches for file in files]
        earlier = {
            kind: [name for file in before if file.kind == kind for name in entry_names(file, file.bad)]
            for kind in CHAIN
        }
        first = random_file(random, earlier)
        second = random_file(random, earlier)
        batches.append([first, second] if second.kind != first.kind else [first])
    if random.random() < 0.5:
        batches.append(random.choice(batches))
    return batches


def _row(random: Random, kind: str, key: str) -> dict[str, Any]:
    some = random.choice(["1", "2"])
    if kind == "jobs":
        return {"job_id": key, "contract_price": random.choice([1.0, 2.0])}
    if kind == "openings":
        return {"opening_id": key, "job_id": some}
    if kind == "labour":
        hours = random.choice([8.0, 17.0])
        return {"entry_id": key, "job_id": some, "worker_id": "W", "worked_on": DAY, "hours": hours}
    return {"callback_id": key, "opening_id": some, "duplicate_of": random.choice([None, None, "1", "2"])}


def state(con: duckdb.DuckDBPyConnection) -> dict[str, list[tuple[Any, ...]]]:
    """What the book says, apart from the numbers that batches and files happen to have."""
    tables = {kind: _with_contents(con, kind) for kind in KINDS}
    older = {f"history.{kind}": _with_contents(con, f"history.{kind}", "_until_batch_id") for kind in KINDS}
    waits = all_of(
        con,
        "select q.quarantine_id, q.kind, q._key, q._line, q.column_name, q.value, q.reason, q.cause, "
        "f.content_hash from quarantine q join files f on f.file_id = q._file_id "
        "where q.state = 'waits' order by all",
    )
    return {**tables, **older, "quarantine": waits}


def _with_contents(con: duckdb.DuckDBPyConnection, table: str, *numbers: str) -> list[tuple[Any, ...]]:
    """The rows of a table, their file told by its content instead of its number."""
    files = con.table("files").select("file_id, content_hash")
    rows = con.table(table).join(files, "_file_id = file_id")
    left_out = ", ".join(("_batch_id", "_file_id", "file_id", *numbers))
    return rows.select(f"* exclude ({left_out})").order("all").fetchall()


def play(con: duckdb.DuckDBPyConnection, seed: int, *, without: int | None, to_drop: str | None = None) -> str | None:
    """Take in the batches of a seed but one, and drop an entry after the third; the entry that was dropped.

    in: to_drop: the entry; when left out, one of those that wait
    """
    random = Random(seed)
    batches = random_batches(random)
    anew = [random.random() < 0.3 for _ in batches]
    for at, files in enumerate(batches):
        if at != without:
            take(con, *files, again=anew[at])
        waiting = [row["quarantine_id"] for row in waiting_rows(con)] if at == DROP_AFTER else []
        if to_drop is None and waiting:
            to_drop = random.choice(waiting)
        if to_drop in waiting:
            drop(con, [to_drop], reason="not needed")
    return to_drop


def places_reached(con: duckdb.DuckDBPyConnection) -> set[str]:
    """The places in which rows of the book are."""
    states = {state for (state,) in all_of(con, "select distinct state from quarantine")}
    states |= {f"held for {cause}" for (cause,) in all_of(con, "select distinct cause from quarantine")}
    states |= {"older version" for kind in CHAIN for _ in all_of(con, f"from history.{kind} limit 1")}
    return states | {"seen again" for _ in all_of(con, "from sightings limit 1")}


def test_withdrawing_any_batch_gives_the_book_that_never_received_it(tmp_path: Path) -> None:
    """Random histories; they must reach every place a row can be in, or the law would say little."""
    reached: set[str] = set()
    for seed in SEEDS:
        leaving = Random(seed + 1000).randrange(5)
        with open_book(tmp_path / f"{seed}.duckdb", create=True) as con:
            dropped = play(con, seed, without=None)
            reached |= places_reached(con)
            with one_transaction(con):
                withdraw_batch(con, leaving + 1)
            left = state(con)
        with open_book(tmp_path / f"{seed} without.duckdb", create=True) as con:
            play(con, seed, without=leaving, to_drop=dropped or "nothing")
            assert left == state(con), f"seed {seed}"
    assert reached == PLACES
