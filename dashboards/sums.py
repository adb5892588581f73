"""The small table of sums behind the owner's filters: no job, no address, no person in it."""

import base64
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import polars as pl

from dashboards.html import Raw, data_block
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
MOST_CELLS = 7_000  # of 11 measures and 4 codes: about 1 MB in the page, which may hold 1.5 MB
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
PERIODS = (
    pl.col("completed_on").dt.strftime("%Y-%m"),
    pl.format("{}-Q{}", pl.col("completed_on").dt.year(), pl.col("completed_on").dt.quarter()),
    pl.col("completed_on").dt.strftime("%Y"),
)


def sums(jobs: pl.DataFrame) -> pl.DataFrame:
    """Sums per period, branch, crew and wall type, by month when that stays small, else by quarter or year.

    in:     one row per finished job: completed_on, branch, crew, wall_type and the measures (USD, hours)
    out:    one row per cell, sorted; a group that is not recorded is named so; when even years make too many
            cells the crew is left out
    """
    named = _with_ratio_parts(jobs.with_columns(pl.col("branch", "crew", "wall_type").fill_null(NOT_RECORDED)))
    for period in PERIODS:
        cells = _cells(named, period, DIMENSIONS)
        if cells.height <= MOST_CELLS:
            return cells
    return _cells(named, PERIODS[-1], tuple(name for name in DIMENSIONS if name != "crew"))


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


def _cells(jobs: pl.DataFrame, period: pl.Expr, dimensions: Sequence[str]) -> pl.DataFrame:
    by = jobs.with_columns(period.alias("period")).group_by(dimensions)
    return by.agg(pl.col(MEASURES).cast(pl.Float64).sum()).sort(dimensions)


def as_block(cells: pl.DataFrame) -> str:
    """The sums as data for the page's script: codes and amounts as base64 arrays."""
    levels = {name: sorted(cells[name].unique().to_list()) for name in DIMENSIONS if name in cells.columns}
    codes = {
        name: _base64(np.searchsorted(np.array(known), cells[name].to_numpy()).astype("<i4"))
        for name, known in levels.items()
    }
    measures = {name: _base64(cells[name].to_numpy().astype("<f8")) for name in MEASURES}
    return data_block("sums", {"rows": cells.height, "levels": levels, "codes": codes, "measures": measures})


def _base64(values: np.ndarray[Any, Any]) -> str:
    return base64.b64encode(values.tobytes()).decode()


def form(cells: pl.DataFrame) -> str:
    """The choices: one list per dimension, first and last period, and a way back to everything."""
    periods = sorted(cells["period"].unique().to_list())
    fields = [
        _choice("branch", "Branch", _named(cells, "branch")),
        _choice("crew", "Crew", _named(cells, "crew")),
        _choice("wall_type", "Wall type", _named(cells, "wall_type")),
        _choice("from", "Finished from", {period: period for period in periods}),
        _choice("to", "Finished up to", {period: period for period in periods}),
    ]
    button = '<div class="field"><button class="act" type="reset">Show everything</button></div>'
    return (
        f'<form id="filters" class="filters" aria-label="Choose jobs"><div class="fields">'
        f"{''.join(fields)}{button}</div></form>"
    )


def _named(cells: pl.DataFrame, name: str) -> Mapping[str, str]:
    if name not in cells.columns:
        return {}
    return {value: word(value) for value in sorted(cells[name].unique().to_list())}


def _choice(name: str, label: str, values: Mapping[str, str]) -> str:
    if not values:
        return ""
    options = "".join(f'<option value="{esc(value)}">{esc(shown)}</option>' for value, shown in values.items())
    return (
        f'<div class="field"><label for="filter-{name}">{label}</label>'
        f'<select id="filter-{name}" name="{name}"><option value="">all</option>{options}</select></div>'
    )


def answer_rows() -> list[list[str | Raw]]:
    """The lines of the answer; the page's script fills in the figures."""
    return [
        [label, Raw(f'<output data-measure="{measure}" data-as="{unit}" form="filters">–</output>')]
        for label, measure, unit in SHOWN
    ]
