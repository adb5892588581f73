"""What the live quote form holds: the fitted parts of the book, the settings in force, and openings to compare with."""

from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.quote.page_data import FITTED, page_models
from pipeline.runs.quote import MOST_COMPARED, SIMILAR_SHOWN
from pipeline.runs.standards import standards
from pipeline.settings import FIRST_DAY, Settings
from pipeline.store.book import rows
from pipeline.store.models import load_model

if TYPE_CHECKING:
    import duckdb

HOURS_PLACES = 1


def models_for_page(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> dict[str, Any] | None:
    """Everything the page's quote form needs; None before `fit`.

    out: `page_models` with as_of and the newest finished openings; no site, no name of a person but crews'
    """
    fitted = {part: load_model(con, part) for part in FITTED}
    if fitted["labour"] is None or fitted["quote"] is None:
        return None
    models = page_models(
        fitted, _firm(con, settings, as_of), edition=settings.codes.edition, local=settings.codes.local
    )
    return {**models, "as_of": as_of.isoformat(), "similar": _openings(con, as_of)}


def _firm(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> dict[str, Any]:
    given = standards(con, settings, as_of)
    margin = [(FIRST_DAY, settings.value("target_margin", as_of) or 0)]
    steps = {
        "hourly_cost": [(step["valid_from"], step["value"]) for step in given["standard"]],
        "overhead": [(step["valid_from"], step["value"]) for step in given["overhead"]],
        "warranty": [(step["valid_from"], step["value"]) for step in given["warranty"]],
        "margin": margin,
    }
    told = {name: [[day.isoformat(), float(value)] for day, value in dated] for name, dated in steps.items()}
    return {**told, "overhead_set": settings.is_set("overhead_per_labour_hour")}


def _openings(con: "duckdb.DuckDBPyConnection", as_of: date) -> dict[str, Any]:
    """The openings as columns, which is half the weight of rows."""
    found = rows(con, "openings_to_compare", {"as_of": as_of, "most": MOST_COMPARED})
    columns: dict[str, list[Any]] = {name: [row[name] for row in found] for name in (found[0] if found else ())}
    if not found:
        columns = {"opening_id": []}
    columns["hours"] = [round(hours, HOURS_PLACES) for hours in columns.get("hours", [])]
    return {**columns, "shown": SIMILAR_SHOWN}
