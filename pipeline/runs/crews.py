"""Callbacks per crew against what its work would give."""

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

from pipeline.callbacks.crews import crew_lines
from pipeline.errors import NotEnoughRecords
from pipeline.runs.reserve import read_history
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book
from schemas.results_warranty import CrewRow, Crews

if TYPE_CHECKING:
    import duckdb

    from pipeline.callbacks.history import History


def crews_(book: Path, settings: Settings, *, as_of: date | None = None) -> Crews:
    """Every crew's callbacks, expectation, shrunk ratio and funnel level.

    errors: NotEnoughRecords without a finished opening
    """
    with open_book(book) as con:
        return crews_of(con, settings, as_of or newest_date(con))


def crews_of(
    con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, *, history: "History | None" = None
) -> Crews:
    """The same over a connection already open; history: of `read_history`, when it was read already."""
    terms = standards(con, settings, on)
    openings = frame(con, "warranty_openings", {"as_of": on, "warranty": terms["warranty"]})
    if openings.is_empty():
        raise NotEnoughRecords(f"no crews to compare: 0 finished openings on {on}, at least 1 is needed")
    lines = crew_lines(openings, read_history(con, settings, on) if history is None else history)
    return Crews(as_of=on, rows=[cast(CrewRow, asdict(line)) for line in lines])
