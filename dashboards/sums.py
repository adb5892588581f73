"""The small tables of sums behind the choices on a page: no job, no address, no person in them."""

import base64
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import polars as pl

from dashboards.html import Cell, Raw, data_block
from dashboards.words import esc, word

MEASURES = (
    "jobs",
    "revenue",
    "labour_cost",
    "material_cost",
    "other_cost",
    "overhead",
    "callback_cost",
    "actual_hours",
    "ratio_revenue",
    "ratio_gross_profit",
    "ratio_profit_after_callbacks",
)
DIMENSIONS = ("period", "branch", "crew", "wall_type")
MOST_CELLS = 7_000  # of 11 measures and 4 codes: at most 0.9 MB in the page, which may hold 1.5 MB
NOT_RECORDED = "not recorded"
SHOWN = (
    ("Jobs finished", "jobs", "count"),
    ("Revenue", "revenue", "usd"),
    ("Labour", "labour_cost", "usd"),
    ("Materials", "material_cost", "usd"),
    ("Other costs", "other_cost", "usd"),
    ("Gross profit", "gross_profit", "usd"),
    ("Gross margin", "gross_margin", "share"),
    ("Overhead", "overhead", "usd"),
    ("Profit of the jobs", "job_profit", "usd"),
    ("Callbacks since", "callback_cost", "usd"),
    ("Profit after callbacks", "profit_after_callbacks", "usd"),
    ("Margin after callbacks", "margin_after_callbacks", "share"),
    ("Labour hours", "actual_hours", "hours"),
    ("Profit after callbacks per labour hour", "profit_per_labour_hour", "usd_hour"),
)
CHOICE_SAID = '<p id="choice-said" class="alert-line" role="status" hidden></p>'  # the page's script fills it in
MOVES = (
    "Branch, crew and wall type move every list of jobs on this page and the totals.",
    "Dates of completion move the totals, their chart and the lists of finished jobs; open jobs have none.",
    "Nothing else moves: the large figures at the top, the month in words, the charts above and what is still to come "
    "are of the whole firm.",
)
FIELDS = (("branch", "Branch"), ("crew", "Crew"), ("wall_type", "Wall type"))


def sums(jobs: pl.DataFrame) -> pl.DataFrame:
    """Sums per period, branch, crew and wall type, by month when that stays small, else by quarter or year.

    in:     one row per finished job: completed_on, branch, crew, wall_type and the measures (USD, hours)
    out:    one row per cell, sorted; a group that is not recorded is named so; when even years make too many
            cells the crew is left out
    """
    named = _with_ratio_parts(jobs.with_columns(pl.col("branch", "crew", "wall_type").fill_null(NOT_RECORDED)))
    return coarsened(named, "completed_on", MEASURES, most_cells=MOST_CELLS)


def coarsened(rows: pl.DataFrame, day: str, measures: Sequence[str], *, most_cells: int) -> pl.DataFrame:
    """Sums of the measures per group and month, quarter or year, whichever is the first to stay small enough.

    in:     branch, crew, wall_type, a column of days (null = belongs to no period) and the measures
    out:    one row per cell, sorted, its period as text; when even years make too many the crew is left out
    """
    for period in _periods(day):
        cells = _cells(rows, period, DIMENSIONS, measures)
        if cells.height <= most_cells:
            return cells
    return _cells(rows, _periods(day)[-1], tuple(name for name in DIMENSIONS if name != "crew"), measures)


def _periods(day: str) -> tuple[pl.Expr, ...]:
    on = pl.col(day).dt
    return on.strftime("%Y-%m"), pl.format("{}-Q{}", on.year(), on.quarter()), on.strftime("%Y")


def marks(job: Mapping[str, Any], cells: pl.DataFrame) -> Mapping[str, str]:
    """By what a choice finds the row of a job: its groups, and the period of its completion as these cells name it."""
    groups = {name: str(job.get(name) or NOT_RECORDED) for name in DIMENSIONS if name != "period"}
    if job.get("completed_on") is None:
        return groups
    return groups | {"period": _period_name(str(job["completed_on"]), str(cells["period"][0]))}


def _period_name(day: str, like: str) -> str:
    year, number = day[:4], int(day[5:7])
    if "Q" in like:
        return f"{year}-Q{(number + 2) // 3}"
    return day[:7] if "-" in like else year


def _with_ratio_parts(jobs: pl.DataFrame) -> pl.DataFrame:
    """Adds what ratios are made of: only jobs with labour on record count in them."""
    gross = pl.col("revenue") - pl.col("labour_cost") - pl.col("material_cost") - pl.col("other_cost")
    counted = pl.col("has_labour").cast(pl.Float64)
    return jobs.with_columns(
        jobs=pl.lit(1.0),
        ratio_revenue=pl.col("revenue") * counted,
        ratio_gross_profit=gross * counted,
        ratio_profit_after_callbacks=(gross - pl.col("overhead") - pl.col("callback_cost")) * counted,
    )


def _cells(rows: pl.DataFrame, period: pl.Expr, dimensions: Sequence[str], measures: Sequence[str]) -> pl.DataFrame:
    by = rows.with_columns(period.alias("period")).group_by(dimensions)
    return by.agg(pl.col(measures).cast(pl.Float64).sum()).sort(dimensions)


def as_block(cells: pl.DataFrame, measures: Sequence[str] = MEASURES) -> str:
    """The sums as data for the page's script: codes and amounts as base64 arrays; code -1 belongs to no period.

    An array of whole numbers that fit is told in two bytes each, any other in eight; its length says which.
    """
    levels = {name: _levels(cells, name) for name in DIMENSIONS if name in cells.columns}
    codes = {name: _base64(_codes(cells[name], known)) for name, known in levels.items()}
    amounts = {name: _base64(cells[name].to_numpy()) for name in measures}
    return data_block("sums", {"rows": cells.height, "levels": levels, "codes": codes, "measures": amounts})


def _levels(cells: pl.DataFrame, name: str) -> list[str]:
    return sorted(cells[name].drop_nulls().unique().to_list())


def _codes(values: pl.Series, known: Sequence[str]) -> np.ndarray[Any, Any]:
    place = {value: at for at, value in enumerate(known)}
    return np.array([place.get(value, -1) for value in values], dtype=np.int64)


def _base64(values: np.ndarray[Any, Any]) -> str:
    small = bool(np.all((values == np.rint(values)) & (np.abs(values) <= np.iinfo(np.int16).max)))
    return base64.b64encode(values.astype("<i2" if small else "<f8").tobytes()).decode()


def form(cells: pl.DataFrame, *, kind: str, dated: tuple[str, str]) -> str:
    """The choices: one list per dimension, first and last period, and a way back to everything.

    kind: which figures the page's script makes of the sums; dated: what the two lists of periods are called
    """
    periods = {period: period for period in _levels(cells, "period")}
    fields = [_choice(name, label, _named(cells, name)) for name, label in FIELDS]
    fields += [_choice(name, label, periods) for name, label in zip(("from", "to"), dated, strict=True)]
    button = '<div class="field"><button class="act" type="reset">Show everything</button></div>'
    return (
        f'<form id="filters" class="filters" data-kind="{kind}" aria-label="Choose {kind}"><div class="fields">'
        f"{''.join(fields)}{button}</div></form>"
    )


def _named(cells: pl.DataFrame, name: str) -> Mapping[str, str]:
    return {value: word(value) for value in _levels(cells, name)} if name in cells.columns else {}


def _choice(name: str, label: str, values: Mapping[str, str]) -> str:
    if not values:
        return ""
    options = "".join(f'<option value="{esc(value)}">{esc(shown)}</option>' for value, shown in values.items())
    return (
        f'<div class="field"><label for="filter-{name}">{label}</label>'
        f'<select id="filter-{name}" name="{name}"><option value="">all</option>{options}</select></div>'
    )


def answer_rows(shown: Sequence[tuple[str, str, str]] = SHOWN) -> list[list[Cell]]:
    """The lines of the answer; the page's script fills in the figures."""
    return [
        [label, Raw(f'<output data-measure="{measure}" data-as="{unit}" form="filters">–</output>', figures=True)]
        for label, measure, unit in shown
    ]
