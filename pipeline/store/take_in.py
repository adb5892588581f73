"""One kind of one batch into the book: what waits, what is new, what changed, what is already so."""

from collections import Counter
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from pipeline.store.book import rows
from pipeline.store.steps import fill_in, run_step, words_of
from schemas.kinds import KINDS
from schemas.links import LINKS, Link

if TYPE_CHECKING:
    import duckdb

HOURS_IN_A_DAY = 24
WORD_OF_PARENT = {"jobs": "job", "openings": "opening", "callbacks": "callback"}

Counts = Counter[tuple[int | None, str]]  # (file_id, place) -> rows; released rows belong to no file of the batch
Words = Mapping[str, str]


def take_in(con: "duckdb.DuckDBPyConnection", kind: str, batch_id: int, *, text_of: Callable[[], None]) -> Counts:
    """Take the relations `incoming` and `incoming_bad` of one kind into the book; the caller holds the transaction.

    in:  incoming      typed columns of the kind, _key (once each), _batch_id, _file_id, _line, _quarantine_id
         incoming_bad  _key, _batch_id, _file_id, _line, column_name, value, reason, raw, _quarantine_id
         text_of       makes `incoming_text` readable: _key and raw, the cells as read, of the rows in `held`
    out: rows per file and place (new, changed, same, quarantined), and how many waiting rows were released
    """
    words = words_of(con, kind)
    batch = {"batch_id": batch_id}
    if rows(con, "waits", {"kind": kind}):
        run_step(con, "close_replaced", words, batch)
    if _any_row(con, "incoming where _quarantine_id is not null") or _any_row(con, "incoming_bad"):
        run_step(con, "keep_corrections", words)
    run_step(con, "candidates", words)
    _hold(con, words)
    counts = _let_in(con, words, batch_id)
    if _any_row(con, "held"):
        text_of()
        run_step(con, "set_aside", words)
    if _any_row(con, "incoming_bad"):
        run_step(con, "set_aside_bad", words)
    return counts + _counted(con, "count_held")


def _hold(con: "duckdb.DuckDBPyConnection", words: Words) -> None:
    """Mark the candidates that have to wait: for a record they name, or because a day has only 24 hours."""
    links = [link for link in LINKS if link.kind == words["KIND"]]
    for place, link in enumerate(link for link in links if link.parent != link.kind):
        run_step(con, "hold_by_link", {**words, **_link_words(link)}, {"place": place})
    for link in (link for link in links if link.parent == link.kind):
        _hold_until_settled(con, {**words, **_link_words(link)}, place=len(links))
    if words["KIND"] == "labour":
        _hold_long_days(con, words, {"place": len(links), "hours_in_a_day": HOURS_IN_A_DAY})


def _hold_long_days(con: "duckdb.DuckDBPyConnection", words: Words, limit: Mapping[str, int]) -> None:
    """Few days are in doubt, so the exact sums are asked of those alone."""
    run_step(con, "days_in_doubt", words, limit)
    if _any_row(con, "days_in_doubt"):
        run_step(con, "hold_by_hours", words, limit)


def _hold_until_settled(con: "duckdb.DuckDBPyConnection", words: Words, *, place: int) -> None:
    """A row that names a row of its own kind waits while that one waits; so ask again until nothing is added."""
    before = -1
    while (held := _count(con, "held")) != before:
        before = held
        run_step(con, "hold_by_own_kind", words, {"place": place})


def _link_words(link: Link) -> dict[str, str]:
    return {
        "COLUMN": link.column,
        "PARENT": link.parent,
        "PARENT_KEY": KINDS[link.parent].key[0],
        "WORD": WORD_OF_PARENT[link.parent],
    }


def _let_in(con: "duckdb.DuckDBPyConnection", words: Words, batch_id: int) -> Counts:
    """Put what need not wait into the book, comparing with what is there."""
    first_of_its_kind = not _any_row(con, words["KIND"])
    waits = bool(rows(con, "waits_for_a_record", {"kind": words["KIND"]}))
    if first_of_its_kind and not waits and not _any_row(con, "held"):
        run_step(con, "apply_all_new", words)
        return _counted(con, "count_new")
    run_step(con, "judge_all_new" if first_of_its_kind else "judge", words)
    run_step(con, "apply", words, {"batch_id": batch_id})
    if waits:
        run_step(con, "release", words, {"batch_id": batch_id})
    return _counted(con, "count_judged")


def _any_row(con: "duckdb.DuckDBPyConnection", relation: str) -> bool:
    return bool(con.execute(fill_in("select 1 from RELATION limit 1", {"RELATION": relation})).fetchall())


def _count(con: "duckdb.DuckDBPyConnection", table: str) -> int:
    return int(con.execute(fill_in("select count(*) from TABLE", {"TABLE": table})).fetchall()[0][0])


def _counted(con: "duckdb.DuckDBPyConnection", name: str) -> Counts:
    return Counter({(row["_file_id"], row["place"]): row["row_count"] for row in rows(con, name)})
