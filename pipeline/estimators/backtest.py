"""Each quarter predicted from the quarters before it: how the model would have done."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from pipeline.estimators.measure import (
    HeldOut,
    Records,
    absolute_percent_error,
    against_quotes,
    coverage,
    errors,
    predict_unseen,
)

MOST_QUARTERS, FEWEST_QUARTERS = 12, 4  # three years; one year where each quarter alone has much to say
QUARTERS_TOLD = 4  # quarters to a word of progress
JOBS_REFITTED = 24_000  # jobs in all the fits together, so that a long book stays quick; house rule


def backtest(
    records: Records, rates: Mapping[str, float], *, progress: Callable[[str], None] = lambda _: None
) -> dict[str, Any]:
    """Quarters of completion, each predicted by a model of the jobs completed before it began.

    in:     records; starter rates; who is told which quarters are next
    out:    {"quarters": [one row per quarter], "by_wall_type": [...], "overall": {...}}; empty when too thin
    source: rolling-origin evaluation, no job is ever predicted from itself or its future
    """
    done = _finished_ids(records)
    quarters = sorted({quarter for _, quarter in done})[-quarters_tested(len(done)) :]
    rows: list[dict[str, Any]] = []
    every: list[HeldOut] = []
    for at, quarter in enumerate(quarters):
        if at % QUARTERS_TOLD == 0:
            progress(_next_quarters(quarters[at : at + QUARTERS_TOLD]))
        before = [job for job, at in done if at < quarter]
        held = predict_unseen(records, before, [job for job, at in done if at == quarter], rates=rates)
        if held is not None:
            rows.append(_row(quarter, len(before), held))
            every.append(held)
    return {"quarters": rows, "by_wall_type": _walls(every), "overall": _overall(every)}


def _next_quarters(quarters: Sequence[str]) -> str:
    span = quarters[0] if len(quarters) == 1 else f"{quarters[0]} to {quarters[-1]}"
    return f"predicting {span}, each quarter from those before it"


def _finished_ids(records: Records) -> list[tuple[str, str]]:
    import polars as pl

    done = records.jobs.filter(pl.col("completed_on").is_not_null())
    done = done.join(records.labour.select("job_id").unique(), on="job_id", how="semi").sort("completed_on", "job_id")
    return [(job, quarter_of(on)) for job, on in done.select("job_id", "completed_on").iter_rows()]


def quarters_tested(jobs: int) -> int:
    """How many of the latest quarters are predicted: twelve up to 2,000 finished jobs, four at the least."""
    return min(MOST_QUARTERS, max(FEWEST_QUARTERS, JOBS_REFITTED // max(jobs, 1)))


def quarter_of(day: date) -> str:
    """Such as 2025Q3."""
    return f"{day.year}Q{(day.month + 2) // 3}"


def _row(quarter: str, jobs_before: int, held: HeldOut) -> dict[str, Any]:
    return {
        "quarter": quarter,
        "jobs_before": jobs_before,
        "openings": len(held.actual),
        **errors(held.prediction.mean, held.actual),
        **coverage(held),
        "median_ape_wall_average": float(np.median(absolute_percent_error(held.wall_average, held.actual))),
        "median_ape_plain_rate": float(np.median(absolute_percent_error(held.plain_rate, held.actual))),
        "quotes": against_quotes(held),
    }


def _stack(every: list[HeldOut], name: str) -> np.ndarray:
    return np.concatenate([getattr(held, name) for held in every])


def _bounds(every: list[HeldOut], name: str) -> np.ndarray:
    return np.concatenate([getattr(held.prediction, name) for held in every])


def _walls(every: list[HeldOut]) -> list[dict[str, Any]]:
    if not every:
        return []
    walls, actual, p50 = _stack(every, "walls"), _stack(every, "actual"), _bounds(every, "p50")
    low, high = _bounds(every, "p10"), _bounds(every, "p90")
    rows = []
    for wall in np.unique(walls):
        here = walls == wall
        inside = (actual[here] >= low[here]) & (actual[here] <= high[here])
        rows.append(
            {
                "wall_type": str(wall),
                "openings": int(here.sum()),
                "median_ape": float(np.median(absolute_percent_error(p50[here], actual[here]))),
                "coverage_80": float(inside.mean()) if here.sum() >= 20 else None,
            }
        )
    return rows


def _overall(every: list[HeldOut]) -> dict[str, Any] | None:
    if not every:
        return None
    actual = _stack(every, "actual")
    inside_80 = (actual >= _bounds(every, "p10")) & (actual <= _bounds(every, "p90"))
    inside_90 = (actual >= _bounds(every, "p05")) & (actual <= _bounds(every, "p95"))
    return {
        "openings": len(actual),
        **errors(_bounds(every, "mean"), actual),
        "coverage_80": float(inside_80.mean()),
        "coverage_90": float(inside_90.mean()),
    }
