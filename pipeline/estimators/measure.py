"""How well hours are predicted: jobs held out by date, against plain averages and the firm's own quotes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.hours import FEWEST_OPENINGS, fit_finished
from pipeline.estimators.job_total import job_total
from pipeline.estimators.plain import rate_per_phase, wall_averages
from pipeline.estimators.predict import HoursPrediction, predict_hours
from pipeline.estimators.records import arrays_of, finished_openings
from pipeline.takeoff.openings import Numbers, Words

if TYPE_CHECKING:
    import polars as pl

    from pipeline.estimators.hours_model import HoursModel

HELD_OUT_SHARE = 0.2  # the last fifth of finished jobs by date; the product's own rule
FEWEST_FOR_COVERAGE = 20
POOLED_BELOW_JOBS = 6


@dataclass(frozen=True)
class Records:
    """The frames a labour model is made from."""

    jobs: pl.DataFrame
    openings: pl.DataFrame
    labour: pl.DataFrame

    def of_jobs(self, job_ids: list[str]) -> Records:
        """Only the rows of these jobs."""
        import polars as pl

        keep = pl.col("job_id").is_in(job_ids)
        return Records(self.jobs.filter(keep), self.openings.filter(keep), self.labour.filter(keep))


@dataclass(frozen=True)
class HeldOut:
    """Openings predicted by a model that never saw them, one value per opening.

    actual hours as recorded; mean, p50 and bounds of the model; wall_average and plain_rate the yardsticks;
    opening_ids; job number; walls; wall_jobs finished jobs of that wall type in training; quoted and job_mean per job;
    without_hours: openings of these jobs that no hour was booked to, which are left out.
    """

    actual: Numbers
    prediction: HoursPrediction
    wall_average: Numbers
    plain_rate: Numbers
    opening_ids: Words
    job: np.ndarray
    walls: Words
    wall_jobs: Numbers
    quoted: Numbers
    job_mean: Numbers
    job_actual: Numbers
    without_hours: int = 0


def hold_out(records: Records, rates: Mapping[str, float]) -> HeldOut | None:
    """The last fifth of finished jobs by completion, predicted from the earlier ones; None with too few jobs."""
    import polars as pl

    done = records.jobs.filter(pl.col("completed_on").is_not_null())
    order = done.join(records.labour.select("job_id").unique(), on="job_id", how="semi").sort("completed_on", "job_id")
    ids = order["job_id"].to_list()
    cut = len(ids) - round(HELD_OUT_SHARE * len(ids))
    return predict_unseen(records, ids[:cut], ids[cut:], rates=rates)


def predict_unseen(
    records: Records, train_ids: list[str], test_ids: list[str], *, rates: Mapping[str, float]
) -> HeldOut | None:
    """Fit on some jobs, predict others.

    out:    HeldOut, or None when the training jobs are too few for a model or nothing is left to predict; openings
            without an hour of their own are left out: against 0 h no estimate can be measured
    """
    past, unseen = records.of_jobs(train_ids), records.of_jobs(test_ids)
    train = finished_openings(past.jobs, past.openings, past.labour).worked()
    if not test_ids or not train_ids or (len(train.job) < FEWEST_OPENINGS and not rates):
        return None
    test = finished_openings(unseen.jobs, unseen.openings, unseen.labour)
    worked = test.total > 0
    if not worked.any():
        return None
    model = fit_finished(train, rates).model
    raw = arrays_of(_in_order(unseen.openings, test.opening_ids))
    prediction = predict_hours(model, raw, test.crew, test.month, test.openings_in_job, explain=False)
    jobs_of_wall = model.experience.jobs_with.get("wall_type", {})
    walls = np.asarray(test.openings["wall_type"])[worked]
    return HeldOut(
        actual=test.total[worked],
        prediction=_rows(prediction, worked),
        wall_average=wall_averages(train, prediction.filled)[worked],
        plain_rate=rate_per_phase(train, prediction.filled)[worked],
        opening_ids=test.opening_ids[worked],
        job=test.job[worked],
        walls=walls,
        without_hours=int((~worked).sum()),
        wall_jobs=np.array([jobs_of_wall.get(str(wall), 0) for wall in walls], dtype=float),
        **_per_job(model, prediction, test),
    )


def _rows(prediction: HoursPrediction, keep: NDArray[np.bool_]) -> HoursPrediction:
    """The prediction of some of its openings."""

    def kept(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: kept(column) for name, column in value.items()}
        if isinstance(value, list):
            return [one for one, wanted in zip(value, keep, strict=False) if wanted]  # what was not asked for is empty
        return value[keep]

    return HoursPrediction(**{each.name: kept(getattr(prediction, each.name)) for each in fields(prediction)})


def _in_order(openings: pl.DataFrame, ids: Words) -> pl.DataFrame:
    import polars as pl

    return pl.DataFrame({"opening_id": ids.tolist()}).join(
        openings, on="opening_id", how="left", validate="1:1", maintain_order="left"
    )


def _per_job(model: HoursModel, prediction: HoursPrediction, test: Any) -> dict[str, Numbers]:
    import polars as pl

    members = [np.flatnonzero(test.job == number) for number in range(len(test.jobs))]
    quoted = test.jobs.select(
        (pl.col("quoted_labour_hours") + pl.col("change_order_hours").fill_null(0.0)).cast(pl.Float64)
    ).to_series()
    return {
        "quoted": quoted.fill_null(float("nan")).to_numpy(),
        "job_mean": np.array([job_total(model, prediction, of_job.tolist()).mean for of_job in members]),
        "job_actual": np.bincount(test.job, test.total, len(test.jobs)),
    }


def absolute_percent_error(predicted: Numbers, actual: Numbers) -> Numbers:
    """|predicted / actual - 1| per row; rows without actual hours are left out."""
    some = actual > 0
    error: Numbers = np.abs(predicted[some] / actual[some] - 1)
    return error


def errors(predicted: Numbers, actual: Numbers) -> dict[str, float]:
    """median_ape, mape and bias (sum of predicted over sum of actual, less 1)."""
    ape = absolute_percent_error(predicted, actual)
    return {
        "median_ape": float(np.median(ape)),
        "mape": float(ape.mean()),
        "bias": float(predicted.sum() / actual.sum() - 1),
    }


def coverage(held: HeldOut) -> dict[str, float | None]:
    """Share of actual hours inside the 80 % and 90 % ranges; None under 20 openings."""
    p, actual = held.prediction, held.actual
    if len(actual) < FEWEST_FOR_COVERAGE:
        return {"coverage_80": None, "coverage_90": None}
    return {
        "coverage_80": float(np.mean((actual >= p.p10) & (actual <= p.p90))),
        "coverage_90": float(np.mean((actual >= p.p05) & (actual <= p.p95))),
    }


def by_wall(held: HeldOut) -> list[dict[str, Any]]:
    """Error per wall type; pooled = fewer than 6 finished jobs of it to learn from."""
    rows = []
    for wall in np.unique(held.walls):
        here = held.walls == wall
        ape = absolute_percent_error(held.prediction.p50[here], held.actual[here])
        rows.append(
            {
                "wall_type": str(wall),
                "openings": int(here.sum()),
                "median_ape": float(np.median(ape)),
                "pooled": bool(held.wall_jobs[here][0] < POOLED_BELOW_JOBS),
            }
        )
    return rows


def against_plain(held: HeldOut) -> list[dict[str, Any]]:
    """The yardsticks' own errors, and whether the model is shown to be better, job by job."""
    rows = []
    for name, rival in (("average hours of the wall type", held.wall_average), ("one rate per phase", held.plain_rate)):
        gain, doubt = _gain_per_job(held, rival)
        beaten = doubt is not None and gain > 2 * doubt
        found = errors(rival, held.actual)
        rows.append({"name": name, **found, "gain": gain, "standard_error": doubt, "beaten": beaten})
    return rows


def _gain_per_job(held: HeldOut, rival: Numbers) -> tuple[float, float | None]:
    """Mean over jobs of (rival's |log error| - ours), and its standard error; None of a single job."""
    ours = np.abs(np.log(held.prediction.p50 / held.actual))
    theirs = np.abs(np.log(np.maximum(rival, np.finfo(float).tiny) / held.actual))
    job = np.unique(held.job, return_inverse=True)[1]
    gains = np.bincount(job, theirs - ours) / np.bincount(job)
    if len(gains) == 1:
        return float(gains[0]), None
    return float(gains.mean()), float(gains.std(ddof=1) / np.sqrt(len(gains)))


def against_quotes(held: HeldOut) -> dict[str, Any] | None:
    """The firm's own quoted hours (change orders in) against the model's, on the jobs that have them."""
    some = np.isfinite(held.quoted) & (held.quoted > 0) & (held.job_actual > 0)
    if not some.any():
        return None
    ours, theirs = (errors(of[some], held.job_actual[some]) for of in (held.job_mean, held.quoted))
    return {"jobs": int(some.sum()), "ours": ours, "quoted": theirs}
