"""Who is at risk of a callback, since when and until when: one row per finished opening."""

from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.history import COMPLAINTS, is_event
from schemas.units import DAYS_PER_MONTH

SHORTEST_DAYS = 0.5  # a call on the day of completion: half a day at risk, so that no event lacks exposure


def at_risk(jobs: pl.DataFrame, openings: pl.DataFrame, visits: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Openings of jobs completed by as_of, with their clock and the first visit of each complaint.

    in:     jobs: job_id, crew, completed_on, warranty_months; openings: opening_id, job_id, …;
            visits: the list of callbacks that count (opening_id, complaint, visit_reported_on, counts)
    out:    the openings' columns and crew, completed_on, warranty_days (length of the warranty), age_days (since
            completion), days_at_risk (the lesser of both), and for each complaint `COMPLAINT_day` (days from completion
            to its first counted visit inside that time; null = none) and `COMPLAINT_visits` (all of them).
            An open job's openings are not at risk; which reports are events: `is_event`.
    source: house rule; the warranty's end censors because reporting falls off after it
    """
    finished = jobs.filter(pl.col("completed_on") <= as_of).select(
        "job_id",
        "crew",
        "completed_on",
        warranty_days=pl.col("warranty_months").cast(pl.Float64) * DAYS_PER_MONTH,
        age_days=(pl.lit(as_of) - pl.col("completed_on")).dt.total_days().cast(pl.Float64),
    )
    dropped = [name for name in finished.columns if name in openings.columns and name != "job_id"]
    population = openings.drop(dropped).join(finished, on="job_id", how="inner", validate="m:1")
    population = population.with_columns(days_at_risk=pl.min_horizontal("age_days", "warranty_days"))
    return _with_visits(population, visits.filter(pl.col("counts")))


def _with_visits(population: pl.DataFrame, visits: pl.DataFrame) -> pl.DataFrame:
    """Add day of the first visit and number of visits per complaint, inside the time at risk."""
    days = visits.join(
        population.select("opening_id", "completed_on", "days_at_risk"), on="opening_id", how="inner"
    ).with_columns(day=(pl.col("visit_reported_on") - pl.col("completed_on")).dt.total_days().cast(pl.Float64))
    inside = days.filter(pl.Series(is_event(days["day"].to_numpy(), days["days_at_risk"].to_numpy()), dtype=pl.Boolean))
    for complaint in COMPLAINTS:
        counted = (
            inside.filter(pl.col("complaint") == complaint)
            .group_by("opening_id")
            .agg(pl.col("day").min().alias(f"{complaint}_day"), pl.len().alias(f"{complaint}_visits"))
        )
        population = population.join(counted, on="opening_id", how="left", validate="m:1").with_columns(
            pl.col(f"{complaint}_visits").fill_null(0).cast(pl.Int64)  # a count: none is 0
        )
    return population


def first_event(population: pl.DataFrame, complaint: str) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Days at risk of a first visit, and whether it came; one per opening. [days]"""
    day = population[f"{complaint}_day"].cast(pl.Float64).to_numpy().astype(float)
    until = population["days_at_risk"].to_numpy().astype(float)
    came = np.isfinite(day)
    return np.maximum(np.where(came, day, until), SHORTEST_DAYS), came


def first_of_any(population: pl.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Day of the first visit of any complaint or end of watching, and which: 0 none, else 1 + place in COMPLAINTS.

    Two complaints on one day: the earlier in the list. [days]
    """
    days = population.select(pl.col(f"{name}_day").cast(pl.Float64) for name in COMPLAINTS).to_numpy()
    earliest = np.nan_to_num(days, nan=np.inf)
    day, which = earliest.min(axis=1), earliest.argmin(axis=1)
    came = np.isfinite(day)
    until = np.where(came, day, population["days_at_risk"].to_numpy())
    return np.maximum(until, SHORTEST_DAYS), np.where(came, 1 + which, 0)
