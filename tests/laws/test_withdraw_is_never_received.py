"""Whatever was taken in: a book that gives a batch back equals one that never received it."""

from pathlib import Path
from random import Random
from typing import Any

import duckdb
import pytest

from pipeline.store.book import open_book
from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from schemas.batch import FileRead
from schemas.kinds import KINDS
from tests.unit.store.made import DAY, all_of, file_read, take

CHAIN = ("jobs", "openings", "labour", "callbacks")


def random_file(random: Random) -> FileRead:
    """A file of one kind over very few keys, so that batches repeat, correct and miss each other's rows."""
    kind = random.choice(CHAIN)
    keys = random.sample(["1", "2", "3"], random.randint(1, 3))
    bad = [{"key": key} for key in keys if random.random() < 0.25]
    good_keys = [key for key in keys if {"key": key} not in bad]
    return file_read(kind, [_row(random, kind, key) for key in good_keys], bad, path=f"{kind}.csv")


def _row(random: Random, kind: str, key: str) -> dict[str, Any]:
    some = random.choice(["1", "2"])
    if kind == "jobs":
        return {"job_id": key, "contract_price": random.choice([1.0, 2.0])}
    if kind == "openings":
        return {"opening_id": key, "job_id": some}
    if kind == "labour":
        hours = random.choice([8.0, 10.0])
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


@pytest.mark.parametrize("seed", range(10))
def test_withdrawing_any_batch_gives_the_book_that_never_received_it(tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    batches = [[random_file(random)] for _ in range(5)]
    if seed % 2:
        batches.append(random.choice(batches))  # the same content once more
    again = [random.random() < 0.3 for _ in batches]
    leaving = random.randrange(len(batches))
    with open_book(tmp_path / "all.duckdb", create=True) as con:
        for files, anew in zip(batches, again, strict=True):
            take(con, *files, again=anew)
        with one_transaction(con):
            withdraw_batch(con, leaving + 1)
        left = state(con)
    with open_book(tmp_path / "without.duckdb", create=True) as con:
        for at, (files, anew) in enumerate(zip(batches, again, strict=True)):
            if at != leaving:
                take(con, *files, again=anew)
        assert left == state(con)
