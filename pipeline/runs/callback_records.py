"""The records behind every callback question: finished openings with clock and facts, and the visits that count."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from pipeline.callbacks.catalogue import Limits, Ready, own_pattern, ready_patterns
from pipeline.callbacks.facts import CHECK_FACTS, OPENING_FACTS, WEATHER_FACTS
from pipeline.errors import InputError, NotEnoughRecords
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date

if TYPE_CHECKING:
    import duckdb
    import polars as pl


@dataclass(frozen=True)
class CallbackRecords:
    """facts: every opening with card and weather; population: the finished ones at risk; visits: the one list."""

    as_of: date
    facts: "pl.DataFrame"
    population: "pl.DataFrame"
    visits: "pl.DataFrame"


def callback_records(
    con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date | None
) -> CallbackRecords:
    """Read what callback questions need.

    errors: NotEnoughRecords while no opening is finished
    """
    from pipeline.callbacks.exposure import at_risk

    until = as_of or newest_date(con)
    given = standards(con, settings, until)
    facts = frame(con, "opening_facts", {"as_of": until})
    jobs = frame(con, "finished_jobs", {"as_of": until, "warranty": given["warranty"]})
    dated = {"as_of": until, "standard": given["standard"], "warranty": given["warranty"]}
    visits = frame(con, "counted_visits", dated)
    population = at_risk(jobs, facts, visits, until)
    if population.is_empty():
        raise NotEnoughRecords(
            f"no callbacks can be judged yet: 0 finished openings by {until}, at least 1 is needed; "
            "ingest jobs with completed_on and their openings"
        )
    return CallbackRecords(until, facts, population, visits)


def limits_of(settings: Settings) -> Limits:
    """The firm's own limits as least and most per reading.

    errors: InputError for a limit on something that is no numeric reading
    """
    numeric = {
        name
        for name, kind in {**CHECK_FACTS, **OPENING_FACTS, **WEATHER_FACTS}.items()
        if kind == "number" and name != "setting_month"
    }
    for reading in settings.limits:
        if reading not in numeric:
            known = ", ".join(name for name, kind in CHECK_FACTS.items() if kind == "number")
            raise InputError(f"[limits] {reading} is no reading with a number; there are {known}")
    return {reading: (limit.least, limit.most) for reading, limit in settings.limits.items()}


def patterns_of(settings: Settings, population: "pl.DataFrame") -> list[Ready]:
    """The catalogue and the firm's own patterns, limits put in."""
    from pipeline.callbacks.design import facts_of

    own = [
        own_pattern(name, pattern.text, pattern.causes, pattern.when)
        for name, pattern in settings.patterns.items()
    ]
    return ready_patterns(limits_of(settings), facts_of(population), population.height, own=own)
