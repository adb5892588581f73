"""`areaway checks`: openings whose readings break the firm's own limits, from the first card on."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

from pipeline.runs.callback_records import limits_of
from pipeline.runs.standards import Standards, standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book
from schemas.results_callbacks import CheckRow, ChecksResult
from schemas.units import DAYS_PER_MONTH

if TYPE_CHECKING:
    import duckdb


def checks_(book: Path, settings: Settings, *, as_of: date | None = None) -> ChecksResult:
    """Readings beyond `[limits]`, of open and finished jobs alike. A reading exactly at its limit keeps it.

    A limit may stand on a reading of the card, on a size of the opening or on the weather of its setting day.
    errors: InputError for a limit on something that is no numeric reading
    """
    limits_of(settings)  # a wrong limit is told before the book is looked for
    with open_book(book) as con:
        return checks_of(con, settings, as_of or newest_date(con))


def checks_of(con: "duckdb.DuckDBPyConnection", settings: Settings, until: date) -> ChecksResult:
    """The same over a connection already open."""
    import polars as pl

    from pipeline.callbacks.own_limits import beyond_limits, crew_shares

    limits = limits_of(settings)
    given = standards(con, settings, until)
    facts = frame(con, "opening_facts", {"as_of": until}).join(
        frame(con, "opening_crews"), on="opening_id", how="left", validate="1:1"
    )
    cards = facts.drop_nulls("checked_on")
    facts = facts.with_columns(pl.coalesce("checked_on", "setting_day").alias("checked_on"))
    dated = {"as_of": until, "standard": given["standard"], "warranty": given["warranty"]}
    visits = frame(con, "counted_visits", dated)
    covered = pl.col("opening_id").is_in(_without_warranty(con, until, given)).not_()
    broken = beyond_limits(facts.drop_nulls("checked_on"), visits, limits).with_columns(under_warranty=covered)
    rows = [cast("CheckRow", row) for row in broken.to_dicts()]
    shares = crew_shares(cards, broken) if limits else []
    return ChecksResult(as_of=until, limits=len(limits), cards=cards.height, rows=rows, by_crew=shares)


def _without_warranty(con: "duckdb.DuckDBPyConnection", until: date, given: Standards) -> list[str]:
    """Finished openings whose warranty is over by the day."""
    import polars as pl

    finished = frame(con, "warranty_openings", {"as_of": until, "warranty": given["warranty"]})
    days = (pl.lit(until) - pl.col("completed_on")).dt.total_days()
    return finished.filter(days > pl.col("months_of_warranty") * DAYS_PER_MONTH)["opening_id"].to_list()
