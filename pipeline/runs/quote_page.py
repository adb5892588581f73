"""What the live quote form holds: the fitted parts of the book and the settings in force."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.quote.page_data import FITTED, page_models
from pipeline.runs.list_in_force import with_list_in_force
from pipeline.runs.standards import standards
from pipeline.settings import FIRST_DAY, Settings
from pipeline.store.firm_settings import Step
from pipeline.store.models import load_models

if TYPE_CHECKING:
    import duckdb


def models_for_page(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> dict[str, Any] | None:
    """Everything the page's quote form needs; None before `fit`.

    out: `page_models` with as_of; no site, no name of a person, crews only
    """
    fitted = {part: stored.body for part, stored in load_models(con, FITTED).items()}
    if "labour" not in fitted or "quote" not in fitted:
        return None
    if "materials" in fitted:
        fitted["materials"] = with_list_in_force(con, fitted["materials"], as_of)
    models = page_models(
        fitted, _firm(con, settings, as_of), edition=settings.codes.edition, local=settings.codes.local
    )
    return {**models, "as_of": as_of.isoformat()}


def _firm(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> dict[str, Any]:
    """Each setting as [[first day it holds, value], …]."""
    given = standards(con, settings, as_of)
    return {
        "hourly_cost": _told(given["standard"]),
        "overhead": _told(given["overhead"]),
        "warranty": _told(given["warranty"]),
        "margin": [[FIRST_DAY.isoformat(), float(settings.value("target_margin", as_of) or 0)]],
        "overhead_set": settings.is_set("overhead_per_labour_hour"),
    }


def _told(steps: Sequence[Step]) -> list[list[Any]]:
    return [[step["valid_from"].isoformat(), float(step["value"])] for step in steps]
