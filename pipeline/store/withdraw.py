"""A batch taken back: the book becomes the one that never received it, by bringing in again all that others brought."""

from collections.abc import Callable
from datetime import datetime
from time import monotonic
from typing import TYPE_CHECKING

from pipeline.errors import InputError
from pipeline.store.book import question, rows
from pipeline.store.steps import fill_in, run_step, words_of
from pipeline.store.take_in import take_in
from schemas.kinds import KINDS

if TYPE_CHECKING:
    import duckdb

SECONDS_OF_SILENCE = 1.0  # house rule: work that takes longer says how far it is


def withdraw_batch(
    con: "duckdb.DuckDBPyConnection", batch_id: int, *, progress: Callable[[str], None] | None = None
) -> None:
    """Take a batch back; the caller holds the transaction.

    Every row that any other batch brought is kept somewhere in the book (current, history, waiting, sightings,
    quarantine). They are brought in again in their old order by the steps that ingest uses, so that waiting,
    release and correction come out as if the withdrawn batch had never been. A file that a later batch brought
    again without effect now has its effect there.
    errors: InputError when there is no such batch or it is withdrawn already
    """
    _refuse_unless_standing(con, batch_id)
    con.execute("create or replace temp table heirs as " + question("heirs"), {"batch_id": batch_id})
    for kind in KINDS:
        words = words_of(con, kind)
        run_step(con, "collect_events", words, {"withdrawn": batch_id})
        run_step(con, "settle_twins", words)
        run_step(con, "clear", words)
    run_step(con, "mark_withdrawn", {}, {"batch_id": batch_id, "now": datetime.now()})
    brought = _brought(con)
    numbers = rows(con, "batch_numbers")
    said = monotonic()
    for at, row in enumerate(numbers, start=1):
        if progress and monotonic() - said > SECONDS_OF_SILENCE:
            progress(f"bringing in again batch {row['batch_id']}, {at:,} of {len(numbers):,}")
            said = monotonic()
        _bring_in_again(con, row["batch_id"], brought)
        con.execute(question("drop_again"), {"batch_id": row["batch_id"]})
    for kind in KINDS:
        run_step(con, "forget_events", words_of(con, kind))


def _refuse_unless_standing(con: "duckdb.DuckDBPyConnection", batch_id: int) -> None:
    found = con.execute("select withdrawn_at from batches where batch_id = ?", [batch_id]).fetchall()
    if not found:
        raise InputError(f"there is no batch {batch_id}; the batches are listed by: areaway info --batches")
    if found[0][0] is not None:
        raise InputError(f"batch {batch_id} was withdrawn already on {found[0][0]:%Y-%m-%d}")


def _brought(con: "duckdb.DuckDBPyConnection") -> set[tuple[str, int]]:
    """Kinds and batches that have any row."""
    text = "select distinct _batch_id from EVENTS union select distinct _batch_id from UNUSABLE"
    return {
        (kind, batch_id) for kind in KINDS for (batch_id,) in con.execute(fill_in(text, words_of(con, kind))).fetchall()
    }


def _bring_in_again(con: "duckdb.DuckDBPyConnection", batch_id: int, brought: set[tuple[str, int]]) -> None:
    for kind in KINDS:
        if (kind, batch_id) in brought:
            run_step(con, "offer_events", {**words_of(con, kind), "BATCH": str(batch_id)})
        elif rows(con, "waits_for_a_record", {"kind": kind}):
            run_step(con, "nothing_incoming", words_of(con, kind))
        else:
            continue
        take_in(con, kind, batch_id, text_of=_text_is_there)


def _text_is_there() -> None:
    """The text of rows that wait was laid out with the rows themselves."""
