"""What a quote needs beside the models: other costs, cost of a visit, crew days, the draw table; fitted with them."""

from datetime import date
from typing import TYPE_CHECKING, cast

import numpy as np

from pipeline.callbacks.history import COMPLAINTS, History
from pipeline.callbacks.severity import fitted_severity
from pipeline.quote.draws import draw_table
from pipeline.quote.other_costs import fit_other_costs
from pipeline.quote.price_guidance import win_bands
from pipeline.quote.request import FirmRates
from pipeline.quote.similar import MOST_COMPARED, OpeningsDone
from pipeline.runs.reserve import read_history
from pipeline.settings import Settings
from pipeline.store.book import frame, rows

if TYPE_CHECKING:
    import duckdb

NEWEST_JOBS = 200  # fees and hire get dearer: what older jobs paid says little of the next one; house rule
HOURS_PLACES = 1  # decimals kept of what a past opening took
USUAL_CREW_HOURS = 16.0  # two people, eight hours: common practice, no source; used until the book knows


def fit_quote_rates(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> FirmRates:
    """Everything `quote` reads beside the hours, material and callback models."""
    history = read_history(con, settings, as_of)
    severity = fitted_severity(history)
    usd = [] if severity is None else severity.mean.tolist()
    asked = {"as_of": as_of}
    per_day = rows(con, "crew_hours_per_day", asked)[0]["crew_hours"]
    return FirmRates(
        draws=draw_table(),
        other_costs=fit_other_costs(frame(con, "other_costs_of_finished_jobs", {**asked, "most": NEWEST_JOBS})),
        visit_usd=dict(zip(COMPLAINTS, usd, strict=False)),
        visit_log_sd=0.0 if severity is None else float(np.sqrt(severity.log_variance)),
        visits_per_first=_visits_per_first(history),
        crew_hours_per_day=float(per_day) if per_day else USUAL_CREW_HOURS,
        price_guidance=win_bands(frame(con, "decided_quotes", asked)),
        openings_done=_openings_done(con, as_of),
    )


def _openings_done(con: "duckdb.DuckDBPyConnection", as_of: date) -> OpeningsDone:
    """The newest finished openings as columns: half the weight of rows."""
    found = frame(con, "openings_done", {"as_of": as_of, "most": MOST_COMPARED})
    columns = found.with_columns(hours=found["hours"].round(HOURS_PLACES)).to_dict(as_series=False)
    return cast(OpeningsDone, columns)


def _visits_per_first(history: History) -> float:
    """Counted visits under warranty for each first one of an opening and complaint; 1 while there are none."""
    counted = history.in_warranty
    first = {(int(o), int(c)) for o, c in zip(history.opening[counted], history.cause[counted], strict=True)}
    return float(counted.sum()) / len(first) if first else 1.0
