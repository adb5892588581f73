"""The jobs that were sold and the openings they are made of."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns
from sample_data.truth import (
    BAD_MONTH_BUSY,
    BAD_MONTH_FIRST,
    BAD_MONTH_LAST,
    BAD_MONTH_STONE_SHARE,
    CREWS,
    DAYS,
    DRAINS,
    HOLIDAYS,
    JOBS_PER_CREW,
    OPENINGS_SHARE,
    SOIL_SHARE,
    SOILS,
    WALL_SHARE_FIRST,
    WALL_SHARE_LAST,
    WALLS,
    WELLS,
)
from sample_data.weather import all_days, month_of

STONE = WALLS.index("stone")
MONTH_WORK = (0.5, 0.5, 0.8, 1.1, 1.2, 1.25, 1.2, 1.2, 1.2, 1.15, 0.9, 0.6)
THICKNESS_IN = ((8.0, 8.0, 10.0, 7.5), (8.0, 8.0, 12.0, 10.0), (8.0, 12.0, 12.0, 13.0),
                (16.0, 18.0, 20.0, 24.0), (5.5, 7.25, 7.25, 5.5))
REINFORCED_SHARE = (0.30, 0.18, 0.02, 0.0, 0.0)
MIXED_JOB_SHARE = 0.08
# Invented window sizes: opening kind, width, height [in], share.
WINDOWS = (("casement", 32, 48, 0.10), ("casement", 36, 48, 0.26), ("casement", 36, 54, 0.10),
           ("casement", 36, 60, 0.05), ("casement", 40, 48, 0.11), ("slider", 48, 48, 0.16),
           ("slider", 54, 48, 0.08), ("slider", 60, 48, 0.07), ("slider", 72, 48, 0.03),
           ("hopper", 32, 24, 0.04))


def new_jobs(rng: np.random.Generator, count: int) -> Columns:
    """One row per job in order of the wished start: crew, branch, station, soil, openings, wall."""
    crews = max(len(CREWS), round(count / JOBS_PER_CREW))
    wished = _wished_starts(rng, count)
    crew = rng.integers(0, crews, count)
    soil = rng.choice(len(SOILS), count, p=SOIL_SHARE)
    return {"wished": wished, "crew": crew, "branch": crew // 2, "station": crew // 2 % 2, "soil": soil,
            "machine": (rng.random(count) < 0.45).astype(int), "wall": _main_walls(rng, wished),
            "openings": rng.choice(4, count, p=OPENINGS_SHARE) + 1}


def _wished_starts(rng: np.random.Generator, count: int) -> Array:
    days = all_days()
    weight = np.array(MONTH_WORK)[month_of(days) - 1] * np.linspace(0.85, 1.15, DAYS)
    weight = weight * np.is_busday(days, holidays=HOLIDAYS)
    weight = weight * np.where(in_bad_month(np.arange(DAYS)), BAD_MONTH_BUSY, 1.0)
    return np.sort(rng.choice(DAYS, count, p=weight / weight.sum()))


def in_bad_month(day_numbers: Array) -> Array:
    """True where a job wished to start in the bad month."""
    days = all_days()[day_numbers]
    return np.asarray((days >= BAD_MONTH_FIRST - 6) & (days <= BAD_MONTH_LAST - 8))


def _main_walls(rng: np.random.Generator, wished: Array) -> Array:
    late = (wished / DAYS)[:, None]
    shares = np.array(WALL_SHARE_FIRST) * (1 - late) + np.array(WALL_SHARE_LAST) * late
    walls = (rng.random((wished.size, 1)) > np.cumsum(shares, axis=1)).sum(axis=1).clip(0, len(WALLS) - 1)
    stone = in_bad_month(wished) & (rng.random(wished.size) < BAD_MONTH_STONE_SHARE)
    return np.where(stone, STONE, walls)


def new_openings(rng: np.random.Generator, jobs: Columns) -> Columns:
    """One row per opening: sizes [in] and kinds; `job` is the row of its job."""
    job = np.repeat(np.arange(jobs["openings"].size), jobs["openings"])
    count = job.size
    first = np.concatenate([[0], np.cumsum(jobs["openings"])[:-1]])
    other_wall = rng.choice(2, count, p=(0.6, 0.4))
    mixed = (np.arange(count) != first[job]) & (rng.random(count) < MIXED_JOB_SHARE)
    wall = np.where(mixed, other_wall, jobs["wall"][job])
    work = rng.choice(3, count, p=(0.52, 0.36, 0.12))
    opening = {"job": job, "letter": np.arange(count) - first[job], "wall": wall, "work": work,
               "thickness": np.array(THICKNESS_IN)[wall, rng.integers(0, 4, count)],
               "reinforced": (rng.random(count) < np.array(REINFORCED_SHARE)[wall]).astype(int)}
    return opening | _sizes(rng, opening) | _dig_and_well(rng, jobs, opening)


def _sizes(rng: np.random.Generator, opening: Columns) -> Columns:
    count = opening["job"].size
    kind, width, height, share = (np.array(c) for c in zip(*WINDOWS, strict=True))
    window = rng.choice(len(WINDOWS), count, p=share)
    rough_width = width[window] + rng.choice([0.5, 0.25, 0.75, 1.0], count)
    rough_height = height[window] + rng.choice([0.5, 0.25, 0.5, 1.0], count)
    old_width = np.minimum(rough_width, rng.choice([30.0, 32.0, 32.0, 36.0], count))
    old_height = np.minimum(rough_height, rng.choice([14.0, 16.0, 20.0, 22.0], count))
    enlarge, replace = opening["work"] == 1, opening["work"] == 2
    slider = kind[window] == "slider"
    return {"window": window, "width": rough_width, "height": rough_height,
            "old_width": np.where(replace, rough_width, np.where(enlarge, old_width, 0.0)),
            "old_height": np.where(replace, rough_height, np.where(enlarge, old_height, 0.0)),
            "clear_width": np.where(slider, width[window] / 2 - 2.5, width[window] - 6.0),
            "clear_height": height[window] - np.where(kind[window] == "hopper", 12.0, 5.0)}


def _dig_and_well(rng: np.random.Generator, jobs: Columns, opening: Columns) -> Columns:
    count, job = opening["job"].size, opening["job"]
    below_in = np.round(rng.uniform(18, 54, count) * 2) / 2
    no_dig = (opening["work"] == 2) & (rng.random(count) < 0.7)
    no_well = no_dig | ((below_in < 24) & (rng.random(count) < 0.6))
    well = np.where(no_well, 0, rng.choice(4, count, p=(0.42, 0.33, 0.14, 0.11)) + 1)
    drain_share = np.where(jobs["soil"][job] == 0, 0.45, 0.12)
    drain = np.where(well == 0, 0, np.where(rng.random(count) < drain_share, 0,
                                            rng.choice(3, count, p=(0.5, 0.38, 0.12)) + 1))
    below_in = np.where((well == 0) & ~no_dig, rng.integers(0, 7, count), below_in)
    depth = np.where(no_dig, np.nan, below_in + 12 + rng.integers(0, 9, count) / 2)
    return {"below": below_in, "sill": rng.integers(28, 47, count) + 0.0, "depth": depth, "well": well,
            "drain": drain, "dig": np.where(no_dig, 2, jobs["machine"][job]),
            "projection": rng.choice([36.0, 38.0, 40.0, 44.0], count)}


def well_width_in(opening: Columns) -> Array:
    """Well width: the opening and about a foot more, in steps of 2 in; 0 without a well. [in]"""
    return np.where(opening["well"] == 0, 0.0, 2 * np.ceil((opening["width"] + 11) / 2))


def take_off(opening: Columns, openings_in_job: Array) -> dict[str, Array]:
    """Quantities that drive the hours of each phase, in the units of the rates."""
    width, height, thick = opening["width"], opening["height"], opening["thickness"]
    wider = 2 * opening["old_height"] * (width > opening["old_width"])
    lengths = (2 * (width + height), 2 * (height - opening["old_height"]) + width + wider, 0 * width)
    cut_in = np.choose(opening["work"], lengths)
    removed = np.maximum(width * height - opening["old_width"] * opening["old_height"], 0) * thick / 1728
    well_in, deep_in, out_in = well_width_in(opening), np.nan_to_num(opening["depth"]), opening["projection"]
    no_well = opening["well"] == 0
    dig = np.where(no_well, (width + 36) * 36, (well_in + 24) * (out_in + 18)) * deep_in / 46656
    in_well = well_in * out_in * np.maximum(deep_in - 6, 0) / 46656
    return {"share": 1 / openings_in_job, "dig_yd3": dig, "cut_sqft": cut_in * thick / 144,
            "removed_cuft": removed, "frame_ft": 2 * (width + height) / 12, "window_sqft": width * height / 144,
            "well_sqft": well_in * np.maximum(deep_in - 6, 0) / 144, "drain_ft": deep_in / 12,
            "backfill_yd3": np.maximum(dig - 0.7 * in_well, 0.3)}


def drain_words(opening: Columns) -> Array:
    """The drain of each opening as the word of the records."""
    return np.array(DRAINS)[opening["drain"]]


def well_words(opening: Columns) -> Array:
    """The well of each opening as the word of the records."""
    return np.array(WELLS)[opening["well"]]
