"""`areaway revisit`: finished openings most likely to call back before their warranty ends, with the reasons."""

from datetime import date
from pathlib import Path

from pipeline.errors import WrongUsage
from pipeline.runs.callback_records import CallbackRecords, callback_records, limits_of, patterns_of
from pipeline.settings import Settings
from pipeline.store.book import open_book
from schemas.results_callbacks import RevisitResult, RevisitRow


def revisit_(book: Path, settings: Settings, *, as_of: date | None = None, top: int | None = 20) -> RevisitResult:
    """Every opening under warranty at the as-of date, worst first, `top` of them (None = all).

    errors: WrongUsage for fewer than one; NotEnoughRecords while no opening is finished
    """
    if top is not None and top < 1:
        raise WrongUsage(f"--top is {top}; it must be at least 1")
    with open_book(book) as con:
        records = callback_records(con, settings, as_of)
    return openings_to_revisit(records, settings, top=top)


def openings_to_revisit(records: CallbackRecords, settings: Settings, *, top: int | None = 20) -> RevisitResult:
    """The same from records already read."""
    from pipeline.callbacks.revisit import remaining_risk

    found = remaining_risk(records.population, patterns_of(settings, records.population), records.visits)
    rows = found.rows(limits_of(settings), top)
    return RevisitResult(
        as_of=records.as_of,
        openings_under_warranty=found.under_warranty,
        base_rate=found.base_rate,
        rows=[RevisitRow(**row) for row in rows],  # type: ignore[typeddict-item]
    )
