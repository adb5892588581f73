"""Fitted models kept in the book as plain JSON, so that every reader computes the same numbers."""

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from pipeline.store.book import rows

if TYPE_CHECKING:
    import duckdb


def save_model(con: "duckdb.DuckDBPyConnection", part: str, as_of: date, body: Mapping[str, Any] | None) -> None:
    """Keep a fitted part beside the earlier ones; NaN and infinity are refused.

    None: the book holds too little for this part now, and nothing may be read from an earlier fit of it
    """
    text = json.dumps(body, allow_nan=False, separators=(",", ":"))
    con.execute("insert into models values (?, ?, ?, ?)", [part, as_of, datetime.now(), text])


def load_model(con: "duckdb.DuckDBPyConnection", part: str) -> dict[str, Any] | None:
    """The newest fitted part of that name, or None when it was never fitted, or could not be the last time."""
    found = rows(con, "newest_model", {"part": part})
    return json.loads(found[0]["body"]) if found else None


class Stored(NamedTuple):
    """One fitted part, when it was fitted, and the day up to which it knows the records."""

    body: dict[str, Any]
    fitted_at: datetime
    as_of: date


def load_models(con: "duckdb.DuckDBPyConnection", parts: Sequence[str]) -> dict[str, Stored]:
    """The newest fit of each of these parts that was fitted the last time, in one question."""
    found = rows(con, "newest_models", {"parts": list(parts)})
    read = {row["part"]: Stored(json.loads(row["body"]), row["fitted_at"], row["as_of"]) for row in found}
    return {part: stored for part, stored in read.items() if stored.body is not None}
