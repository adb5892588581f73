"""Records of finished jobs as arrays: hours per opening and phase, shared entries spread over the job."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.known import SIZE_COLUMNS, WORD_COLUMNS, Defaults, fill_gaps, learn_defaults
from pipeline.estimators.starter import ROUGH_RATES
from pipeline.takeoff.openings import Numbers, Words
from pipeline.takeoff.phases import (
    JOB_LEVEL_PHASES,
    MEASURED_PHASES,
    phase_quantities,
    possible_phases,
)

if TYPE_CHECKING:
    import polars as pl

SPREAD_FLOOR = 0.4  # of the median quantity: a small opening still takes its turn; simulation study, fresh seeds
UNSPLIT_SHARE = 0.1  # a job with more of its hours under no phase is left out of the phase models; house rule
FEWEST_SPLIT = 12  # openings split by phase below which the split of the others is presumed; house rule
LEAST_PLACED = 0.5  # share of all hours that must stand under a phase, else the split is presumed; house rule
FOLDS = 10
NOT_SPLIT = "not_split"
ELSE = "other"
OF_THE_BOOK = ("defaults", "jobs", "presumed_split")  # what of Finished is not one value per opening


@dataclass(frozen=True)
class Finished:
    """Openings of finished jobs with their hours, in order of their job's start.

    hours: phase -> hours per opening, nan where the phase can be but nothing was recorded, 0 where it cannot be;
    elsewhere: hours under "other", under a phase that cannot be, or under none; total: all hours of the opening.
    job: number of its job in order of start, from 0; day: days of the start since 1970-01-01.
    """

    openings: dict[str, Any]
    opening_ids: Words
    defaults: Defaults
    job: NDArray[np.int64]
    jobs: pl.DataFrame
    crew: Words
    month: Numbers
    day: Numbers
    possible: dict[str, NDArray[np.bool_]]
    quantity: dict[str, Numbers]
    hours: dict[str, Numbers]
    elsewhere: Numbers
    split: NDArray[np.bool_]
    total: Numbers
    presumed_split: bool

    def recorded_share(self, phase: str) -> float:
        """Share of the openings that can have the phase, in jobs split by phase, with hours under it; 1 when few."""
        can = self.possible[phase] & self.split
        if can.sum() < FEWEST_SPLIT:
            return 1.0
        return float(np.mean(self.hours[phase][can] > 0))

    def worked(self) -> Finished:
        """Only the openings that hours were booked to: where all stand under a neighbour, 0 h teach nothing."""
        keep = self.total > 0
        if keep.all():
            return self

        def kept(value: Any) -> Any:
            if isinstance(value, dict):
                return {name: kept(column) for name, column in value.items()}
            return value[keep]

        names = [each.name for each in fields(self) if each.name not in OF_THE_BOOK]
        by_opening = {name: kept(getattr(self, name)) for name in names}
        return replace(self, **by_opening)

    @property
    def folds(self) -> NDArray[np.int64]:
        """Number of the left-out group of each opening: whole jobs, spread evenly over time."""
        return self.job % min(FOLDS, max(len(self.jobs), 1))

    @property
    def openings_in_job(self) -> Numbers:
        """Openings of the same job."""
        counts: Numbers = self.openings["openings_in_job"]
        return counts


def arrays_of(frame: pl.DataFrame) -> dict[str, Any]:
    """The columns of an openings frame as arrays: nan for a missing number, the empty text for a missing word."""
    import polars as pl

    found: dict[str, Any] = {}
    for column in (*WORD_COLUMNS, "opening_id", "job_id", "window_spec", "well_spec"):
        if column in frame.columns:
            found[column] = np.array(frame[column].cast(pl.String).fill_null("").to_list(), dtype=str)
    for column in (*SIZE_COLUMNS, "reinforced"):
        if column in frame.columns:
            found[column] = frame[column].cast(pl.Float64).fill_null(float("nan")).to_numpy()
    if "wall_type" not in found or not len(frame):
        found["wall_type"] = np.full(len(frame), "", dtype=str)
    return found


def finished_openings(jobs: pl.DataFrame, openings: pl.DataFrame, labour: pl.DataFrame) -> Finished:
    """Arrays of every opening of a finished job that has labour on record.

    in:     frames with the columns of jobs, openings, labour (see schemas)
    out:    Finished; jobs still open are left out (part of their hours is still to come), and so are
            jobs without one labour line
    source: house rule
    """
    import polars as pl

    done = jobs.filter(pl.col("completed_on").is_not_null())
    done = done.join(labour.select("job_id").unique(), on="job_id", how="semi")
    done = done.join(openings.select("job_id").unique(), on="job_id", how="semi").sort("started_on", "job_id")
    done = done.with_row_index("job_number")
    keys = done.select("job_id", "job_number", "crew", "started_on")
    rows = openings.join(keys, on="job_id", how="inner", validate="m:1").sort("job_number", "opening_id")
    return _assemble(done, rows, labour)


def _assemble(done: pl.DataFrame, rows: pl.DataFrame, labour: pl.DataFrame) -> Finished:
    import polars as pl

    job = rows["job_number"].cast(pl.Int64).to_numpy()
    columns = arrays_of(rows)
    defaults = learn_defaults(columns)
    filled, _ = fill_gaps(columns, defaults)
    filled["openings_in_job"] = np.bincount(job, minlength=len(done))[job].astype(float)
    possible, quantity = possible_phases(filled), phase_quantities(filled)
    sheet = _Sheet(done, rows, labour)
    recorded = sheet.spread(_spread_weights(possible, quantity), job)
    total = sum(recorded.values(), start=np.zeros(len(job)))
    unsplit = np.bincount(job, recorded[NOT_SPLIT], len(done)) > UNSPLIT_SHARE * np.bincount(job, total, len(done))
    presumed = _must_presume(recorded, ~unsplit[job])
    if presumed:
        recorded, unsplit = _presumed_split(recorded, possible, quantity), np.zeros(len(done), dtype=bool)
    hours = {phase: _phase_hours(recorded[phase], possible[phase]) for phase in MEASURED_PHASES}
    stray = sum(
        (np.where(possible[phase], 0.0, recorded[phase]) for phase in MEASURED_PHASES), start=np.zeros(len(job))
    )
    return Finished(
        openings=filled,
        opening_ids=columns["opening_id"],
        defaults=defaults,
        job=job,
        jobs=done,
        crew=np.array(rows["crew"].fill_null("").to_list(), dtype=str),
        month=rows["started_on"].dt.month().cast(pl.Float64).to_numpy(),
        day=rows["started_on"].cast(pl.Int32).cast(pl.Float64).to_numpy(),
        possible=possible,
        quantity=quantity,
        hours=hours,
        elsewhere=recorded[ELSE] + stray + recorded[NOT_SPLIT],
        split=~unsplit[job],
        total=total,
        presumed_split=presumed,
    )


def _must_presume(recorded: dict[str, Numbers], split: NDArray[np.bool_]) -> bool:
    """Whether too few hours stand under a phase to learn phases from."""
    total = sum(float(hours.sum()) for hours in recorded.values())
    placed = sum(float(recorded[phase].sum()) for phase in MEASURED_PHASES)
    return total > 0 and (placed < LEAST_PLACED * total or int(split.sum()) < min(FEWEST_SPLIT, len(split)))


def _presumed_split(
    recorded: dict[str, Numbers], possible: dict[str, NDArray[np.bool_]], quantity: dict[str, Numbers]
) -> dict[str, Numbers]:
    """Hours under no phase placed by rough rates: on phases with nothing recorded, else on all."""
    loose = recorded[NOT_SPLIT] + recorded[ELSE]
    rough = {phase: np.where(possible[phase], ROUGH_RATES[phase] * quantity[phase], 0.0) for phase in MEASURED_PHASES}
    empty = {phase: np.where(recorded[phase] > 0, 0.0, rough[phase]) for phase in MEASURED_PHASES}
    nothing = np.zeros(len(loose))
    to_empty, to_all = sum(empty.values(), start=nothing), sum(rough.values(), start=nothing)
    placed = {
        phase: recorded[phase]
        + loose * np.where(to_empty > 0, empty[phase] / np.where(to_empty > 0, to_empty, 1.0), rough[phase] / to_all)
        for phase in MEASURED_PHASES
    }
    return {**placed, NOT_SPLIT: nothing, ELSE: nothing}


def _phase_hours(recorded: Numbers, possible: NDArray[np.bool_]) -> Numbers:
    return np.where(possible, np.where(recorded > 0, recorded, np.nan), 0.0)


def _spread_weights(
    possible: dict[str, NDArray[np.bool_]], quantity: dict[str, Numbers]
) -> dict[str, Numbers]:
    """How a shared entry is divided: by the phase's quantity plus an allowance, where the phase can be."""
    weights = {}
    for phase in MEASURED_PHASES:
        can = possible[phase]
        middle = float(np.median(quantity[phase][can])) if can.any() else 1.0
        weights[phase] = np.where(can, quantity[phase] + SPREAD_FLOOR * middle, 0.0)
    whole = sum(
        (ROUGH_RATES[phase] * weights[phase] for phase in MEASURED_PHASES), start=np.zeros(len(can))
    )
    return {**weights, ELSE: whole, NOT_SPLIT: whole}


def _sums(place: pl.Series, hours: pl.Series, places: int) -> Numbers:
    """Hours summed per place; 0 where a place has none."""
    found = np.bincount(place.to_numpy().astype(np.int64), hours.to_numpy(), places)
    return np.asarray(found, dtype=float)


class _Sheet:
    """The labour rows of the finished jobs, numbered by job, opening and phase."""

    def __init__(self, done: pl.DataFrame, rows: pl.DataFrame, labour: pl.DataFrame) -> None:
        import polars as pl

        self.openings, self.jobs = len(rows), len(done)
        phase = pl.col("phase").fill_null(NOT_SPLIT) if "phase" in labour.columns else pl.lit(NOT_SPLIT)
        places = rows.select("opening_id", "job_id").with_row_index("place")
        given = pl.col("opening_id") if "opening_id" in labour.columns else pl.lit(None, dtype=pl.String)
        self.entries = (
            labour.with_columns(phase=phase, opening_id=given)
            .group_by("job_id", "opening_id", "phase")
            .agg(pl.col("hours").cast(pl.Float64).sum())
            .join(done.select("job_id", "job_number"), on="job_id", how="inner", validate="m:1")
            .join(places, on=("job_id", "opening_id"), how="left", validate="m:1")
            .sort("job_number", "place", "phase")
        )

    def spread(self, weights: dict[str, Numbers], job: NDArray[np.int64]) -> dict[str, Numbers]:
        """Hours per opening of every phase, "other" and not split."""
        return {phase: self._of_phase(phase, weights[phase], job) for phase in weights}

    def _of_phase(self, phase: str, weight: Numbers, job: NDArray[np.int64]) -> Numbers:
        import polars as pl

        rows = self.entries.filter(pl.col("phase") == phase)
        shared = pl.col("place").is_null() | pl.lit(phase in JOB_LEVEL_PHASES)
        own, pool = rows.filter(~shared), rows.filter(shared)
        direct = _sums(own["place"], own["hours"], self.openings)
        of_job = _sums(pool["job_number"], pool["hours"], self.jobs)
        whole = np.bincount(job, weight, self.jobs)[job]
        even = 1.0 / np.bincount(job, minlength=self.jobs)[job]
        share = np.where(whole > 0, weight / np.where(whole > 0, whole, 1.0), even)
        hours: Numbers = direct + of_job[job] * share
        return hours
