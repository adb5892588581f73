"""A few finished jobs as frames, with what a test wants to change."""

from datetime import date, timedelta

import polars as pl

OPENING = {
    "wall_type": "poured_concrete",
    "wall_thickness_in": 8.0,
    "opening_work": "new_cut",
    "rough_width_in": 48.0,
    "rough_height_in": 36.0,
    "existing_width_in": 0.0,
    "existing_height_in": 0.0,
    "depth_below_grade_in": 54.0,
    "soil": "clay",
    "dig_method": "hand",
    "reinforced": False,
    "well_type": "steel",
    "well_width_in": 60.0,
    "well_projection_in": 36.0,
    "well_depth_in": None,
    "drain": "gravel_pit",
    "window_spec": None,
    "well_spec": None,
}
WORDS = ("wall_type", "opening_work", "soil", "dig_method", "well_type", "drain", "window_spec", "well_spec")
TYPES = {name: pl.String if name in WORDS else pl.Float64 for name in OPENING} | {"reinforced": pl.Boolean}
LABOUR = {"job_id": pl.String, "opening_id": pl.String, "phase": pl.String, "hours": pl.Float64}
BOUGHT = {
    "job_id": pl.String,
    "opening_id": pl.String,
    "item": pl.String,
    "spec": pl.String,
    "unit": pl.String,
    "bought_on": pl.Date,
    "quantity": pl.Float64,
    "unit_cost": pl.Float64,
}
PRICED = {"item": pl.String, "spec": pl.String, "effective_on": pl.Date, "unit": pl.String, "unit_cost": pl.Float64}


def jobs(*names, finished=True, crew="Otter"):
    """Jobs a week apart, each done in three days."""
    starts = [date(2025, 3, 3) + timedelta(days=7 * at) for at in range(len(names))]
    ends = [start + timedelta(days=3) if finished else None for start in starts]
    quoted = pl.Series([None] * len(names), dtype=pl.Float64)
    return pl.DataFrame(
        {
            "job_id": pl.Series(names, dtype=pl.String),
            "crew": pl.Series([crew] * len(names), dtype=pl.String),
            "started_on": pl.Series(starts, dtype=pl.Date),
            "completed_on": pl.Series(ends, dtype=pl.Date),
            "quoted_labour_hours": quoted,
            "change_order_hours": quoted,
        }
    )


def openings(*rows):
    """Rows of (opening_id, job_id, changes)."""
    found = [{"opening_id": name, "job_id": job, **OPENING, **changes} for name, job, changes in rows]
    return pl.DataFrame(found, schema={"opening_id": pl.String, "job_id": pl.String, **TYPES})


def labour(*rows):
    """Rows of (job_id, opening_id or None, phase or None, hours)."""
    return pl.DataFrame(list(rows), schema=LABOUR, orient="row")


def bought(*rows):
    """Rows of (job_id, opening_id or None, item, spec or None, unit, day, quantity, unit_cost)."""
    return pl.DataFrame(list(rows), schema=BOUGHT, orient="row")


def listed(*rows):
    """Rows of (item, spec, effective_on, unit, unit_cost)."""
    return pl.DataFrame(list(rows), schema=PRICED, orient="row")
