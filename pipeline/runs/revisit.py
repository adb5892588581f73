"""`areaway revisit`: finished openings most likely to call back before their warranty ends, with the reasons."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.errors import WrongUsage
from pipeline.runs.callback_records import CallbackRecords, callback_records, limits_of, patterns_of
from pipeline.runs.patterns import findings_of
from pipeline.runs.reserve import read_history, to_come_by_complaint
from pipeline.settings import Settings
from pipeline.store.book import open_book
from schemas.results_callbacks import RevisitResult, RevisitRow

if TYPE_CHECKING:
    from pipeline.callbacks.history import History
    from pipeline.callbacks.patterns import Findings
    from pipeline.callbacks.revisit import OpeningsAhead


def revisit_(book: Path, settings: Settings, *, as_of: date | None = None, top: int | None = 20) -> RevisitResult:
    """Every opening under warranty at the as-of date, worst first, `top` of them (None = all).

    errors: WrongUsage for fewer than one; NotEnoughRecords while no opening is finished
    """
    if top is not None and top < 1:
        raise WrongUsage(f"--top is {top}; it must be at least 1")
    with open_book(book) as con:
        records = callback_records(con, settings, as_of)
        history = read_history(con, settings, records.as_of)
    ahead, found = risk_ahead(records, history, settings), findings_of(records, settings)
    return openings_to_revisit(ahead, found, records.as_of, settings, top=top)


def risk_ahead(records: CallbackRecords, history: "History", settings: Settings) -> "OpeningsAhead":
    """Every opening under warranty with its chances; its visits and costs are parts of the reserve."""
    from pipeline.callbacks.revisit import remaining_risk

    patterns = patterns_of(settings, records.population)
    return remaining_risk(records.population, patterns, to_come_by_complaint(history))


def openings_to_revisit(
    ahead: "OpeningsAhead", found: "Findings", as_of: date, settings: Settings, *, top: int | None = 20
) -> RevisitResult:
    """The worst of them as an answer; found: the search over all patterns, which says what may be a reason."""
    rows = ahead.rows(limits_of(settings), top, found.findings)
    return RevisitResult(
        as_of=as_of,
        openings_under_warranty=ahead.under_warranty,
        base_rate=ahead.base_rate,
        rows=[RevisitRow(**row) for row in rows],  # type: ignore[typeddict-item]
    )
