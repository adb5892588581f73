"""Callbacks per crew against what its work would give."""

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

from pipeline.callbacks.crews import crew_lines
from pipeline.callbacks.history import history_of
from pipeline.errors import NotEnoughRecords
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book
from schemas.results_warranty import CrewRow, Crews

if TYPE_CHECKING:
    import duckdb


def crews_(book: Path, settings: Settings, *, as_of: date | None = None) -> Crews:
    """Every crew's callbacks, expectation, shrunk ratio and funnel level.

    errors: NotEnoughRecords without a finished opening
    """
    with open_book(book) as con:
        return crews_of(con, settings, as_of or newest_date(con))


def crews_of(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> Crews:
    """The same over a connection already open."""
    terms = standards(con, settings, on)
    openings = frame(con, "warranty_openings", {"as_of": on, "warranty": terms["warranty"]})
    asked = {"as_of": on, "warranty": terms["warranty"], "standard": terms["standard"]}
    visits = frame(con, "warranty_visits", asked)
    if openings.is_empty():
        raise NotEnoughRecords(f"no crews to compare: 0 finished openings on {on}, at least 1 is needed")
    lines = crew_lines(openings, history_of(openings, visits, on))
    return Crews(as_of=on, rows=[cast(CrewRow, asdict(line)) for line in lines])
