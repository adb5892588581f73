"""Hours by phase that the fitted model expects of jobs in the book, for comparing with what was worked."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from pipeline.store.book import frame
from pipeline.store.models import load_model

if TYPE_CHECKING:
    import duckdb

HOURS_PART = "labour"

HoursByPhase = dict[str, float]


def expected_hours(con: "duckdb.DuckDBPyConnection", job_ids: Sequence[str]) -> dict[str, HoursByPhase] | None:
    """Expected hours by phase of each job that has openings, None while the hours model is not fitted."""
    body = load_model(con, HOURS_PART)
    if body is None:
        return None
    from pipeline.estimators.hours import HoursModel, predict_hours
    from pipeline.estimators.records import arrays_of

    openings = frame(con, "openings_of_jobs", {"job_ids": list(job_ids)})
    if openings.is_empty():
        return {}
    prediction = predict_hours(
        HoursModel.from_json(body),
        arrays_of(openings),
        np.array(openings["crew"].fill_null("").to_list(), dtype=str),
        openings["month_of_start"].to_numpy().astype(float),
        openings["openings_in_job"].to_numpy().astype(float),
        explain=False,
    )
    return _by_job(openings["job_id"].to_list(), prediction.phase_mean)


def _by_job(job_of_opening: Sequence[str], phase_mean: "dict[str, np.ndarray]") -> dict[str, HoursByPhase]:
    found: dict[str, HoursByPhase] = {}
    for at, job in enumerate(job_of_opening):
        hours = found.setdefault(job, dict.fromkeys(phase_mean, 0.0))
        for phase, mean in phase_mean.items():
            hours[phase] += float(mean[at])
    return found
