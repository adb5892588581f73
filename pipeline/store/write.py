"""A batch into the book: all of it in one transaction, every source row in exactly one place."""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import TYPE_CHECKING

import polars as pl

from pipeline.store.book import question, rows
from pipeline.store.contents import Repeats
from pipeline.store.incoming import offer, offer_text, without_copies
from pipeline.store.steps import ArrowStream
from pipeline.store.take_in import Counts, take_in
from schemas.batch import FileRead, Notice
from schemas.kinds import KINDS

if TYPE_CHECKING:
    import duckdb

RELEASED = (None, "released")
PLACES = {"new": "accepted", "changed": "updated", "same": "unchanged", "quarantined": "quarantined"}


@dataclass(frozen=True)
class BatchWritten:
    """What a batch did to the book.

    files:          per file, in the order given: rows, accepted, updated, unchanged, quarantined
    doubts:         position of a file -> its rows that do not fit with other records, though they went in
    doubts_earlier: the same of rows of earlier batches that went in now, or that do not fit with what came now, each
                    with the name of its file
    """

    batch_id: int
    files: tuple[dict[str, int], ...]
    released: int
    doubts: Mapping[int, Sequence[Notice]]
    doubts_earlier: Sequence[tuple[str, Notice]]


@contextmanager
def one_transaction(con: "duckdb.DuckDBPyConnection") -> Iterator[None]:
    """All of what happens inside, or nothing."""
    con.execute("begin transaction")
    try:
        yield
    except BaseException:
        con.execute("rollback")
        raise
    con.execute("commit")


def write_batch(
    con: "duckdb.DuckDBPyConnection", files: Sequence[FileRead], *, received: date, repeats: Repeats
) -> BatchWritten:
    """Take the files of one ingest into the book; the caller holds the transaction.

    in:  files as intake read them, no key twice among the good rows of one kind;
         repeats: files that bring nothing new, kinds with identical copies, as `find_repeats` tells them
    out: the number of the batch and where each file's rows went
    """
    repeated = repeats.files
    numbers = rows(con, "next_numbers")[0]
    batch_id, first_id = numbers["batch_id"], numbers["file_id"]
    known_doubts = frozenset(_doubts(con))
    for place, file in enumerate(files):
        _add_file(
            con, file, {"file_id": first_id + place, "batch_id": batch_id, "same_content_as": repeated.get(place)}
        )
        if file.warnings and place not in repeated:
            _write_warnings(con, file, first_id + place)
    fresh = {first_id + place: file for place, file in enumerate(files) if place not in repeated}
    counts = _take_in_kinds(con, fresh, batch_id, repeats.kinds)
    placed = [
        _tally_of_repeated(con, file, repeated[place]) if place in repeated else _tally(file, first_id + place, counts)
        for place, file in enumerate(files)
    ]
    for place, tally in enumerate(placed):
        con.execute(question("place_file_rows"), {"file_id": first_id + place, **tally})
    _add_batch(con, batch_id, received=received, released=counts[RELEASED])
    doubts = [doubt for doubt in _doubts(con) if doubt not in known_doubts]
    of_files: dict[int, list[Notice]] = {}
    for file_id, _, notice in doubts:
        of_files.setdefault(file_id - first_id, []).append(notice)
    earlier = tuple((name, notice) for file_id, name, notice in doubts if file_id < first_id)
    own = {place: told for place, told in of_files.items() if place >= 0}
    return BatchWritten(batch_id, tuple(placed), counts[RELEASED], own, earlier)


def _doubts(con: "duckdb.DuckDBPyConnection") -> list[tuple[int, str, Notice]]:
    """The records in the book that do not fit with other records: file_id, name of the file, what is doubtful."""
    return [
        (row["file_id"], row["file"], Notice(row["line"], row["column_name"], row["value"], row["sentence"]))
        for row in rows(con, "doubts_of_the_book")
    ]


def _add_batch(con: "duckdb.DuckDBPyConnection", batch_id: int, *, received: date, released: int) -> None:
    now = datetime.now()
    numbers = {"batch_id": batch_id, "taken_in_at": now, "received_on": received, "released": released}
    con.execute(question("add_batch"), numbers)


def _add_file(con: "duckdb.DuckDBPyConnection", file: FileRead, numbers: Mapping[str, int | None]) -> None:
    about = {
        "path": file.path,
        "sheet": file.sheet,
        "kind": file.kind,
        "content_hash": file.content_hash,
        "not_used": file.not_used,
        "readings": json.dumps(file.readings, ensure_ascii=False),
    }
    con.execute(question("add_file"), {**about, **numbers})


def _take_in_kinds(
    con: "duckdb.DuckDBPyConnection", files: Mapping[int, FileRead], batch_id: int, with_copies: frozenset[str]
) -> Counts:
    """Every kind in turn, a record before those that name it; kinds without new rows may still release some."""
    counts: Counts = Counter()
    for kind in KINDS:
        of_kind = {file_id: file for file_id, file in files.items() if file.kind == kind}
        if of_kind or _waits_for_a_record(con, kind):
            if kind in with_copies:
                of_kind, copies = without_copies(of_kind)
                counts += _noted(con, kind, batch_id, copies)
            offer(con, kind, batch_id, of_kind)
            counts += take_in(con, kind, batch_id, text_of=partial(offer_text, con, of_kind))
    return counts


def _noted(con: "duckdb.DuckDBPyConnection", kind: str, batch_id: int, copies: pl.DataFrame) -> Counts:
    """Rows that repeat one of their own batch, noted with their place, in case the first is taken back."""
    con.register("new_copies", ArrowStream(copies))
    con.execute(question("note_copies"), {"kind": kind, "batch_id": batch_id})
    con.unregister("new_copies")
    return Counter((file_id, "same") for file_id in copies["_file_id"])


def _waits_for_a_record(con: "duckdb.DuckDBPyConnection", kind: str) -> bool:
    return bool(rows(con, "waits_for_a_record", {"kind": kind}))


def _tally(file: FileRead, file_id: int, counts: Counts) -> dict[str, int]:
    """Where the rows of a file that brought something went."""
    placed = {ours: counts[file_id, theirs] for theirs, ours in PLACES.items()}
    return {"rows": file.rows, **placed}


def _tally_of_repeated(con: "duckdb.DuckDBPyConnection", file: FileRead, same_as: int) -> dict[str, int]:
    """Where the rows of a file stand that the book had already: in it, or still in quarantine."""
    waiting = int(rows(con, "still_waiting", {"file_id": same_as})[0]["waiting"])
    return {"rows": file.rows, "accepted": 0, "updated": 0, "unchanged": file.rows - waiting, "quarantined": waiting}


def _write_warnings(con: "duckdb.DuckDBPyConnection", file: FileRead, file_id: int) -> None:
    fields = ("line", "column", "value", "text")
    columns = {name: [getattr(notice, name) for notice in file.warnings] for name in fields}
    schema = {"line": pl.Int64, "column": pl.String, "value": pl.String, "text": pl.String}
    con.register("new_warnings", ArrowStream(pl.DataFrame(columns, schema=schema)))
    con.execute(question("add_warnings"), {"file_id": file_id})
    con.unregister("new_warnings")
