"""Fitted models kept in the book as plain JSON, so that every reader computes the same numbers."""

import json
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from pipeline.store.book import rows

if TYPE_CHECKING:
    import duckdb


def save_model(con: "duckdb.DuckDBPyConnection", part: str, as_of: date, body: dict[str, Any]) -> None:
    """Keep a fitted part beside the earlier ones; NaN and infinity are refused."""
    text = json.dumps(body, allow_nan=False, separators=(",", ":"))
    con.execute("insert into models values (?, ?, ?, ?)", [part, as_of, datetime.now(), text])


def load_model(con: "duckdb.DuckDBPyConnection", part: str) -> dict[str, Any] | None:
    """The newest fitted part of that name, or None when it was never fitted."""
    found = rows(con, "newest_model", {"part": part})
    return json.loads(found[0]["body"]) if found else None
