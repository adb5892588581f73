"""An invented firm with known truths: its openings, hours and materials, drawn from the trade as we know it.

Nothing here is imported from the estimators: true hours follow the world's own formulas. Sizes of effects are
invented within what the trade makes plausible (common practice, no source).
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl

WALLS = ("poured_concrete", "concrete_block", "brick", "stone", "wood_foundation")
WALL_SHARES = (0.55, 0.28, 0.08, 0.06, 0.03)
WALL_RATE = {"poured_concrete": 0.55, "concrete_block": 0.36, "brick": 0.47, "stone": 0.85, "wood_foundation": 0.16}
WALL_SLOPE = {"poured_concrete": 1.0, "concrete_block": 0.95, "brick": 1.0, "stone": 1.08, "wood_foundation": 0.9}
WALL_NOISE = {"poured_concrete": 1.0, "concrete_block": 1.0, "brick": 1.5, "stone": 1.5, "wood_foundation": 1.0}
SOIL_FACTOR = {"sand_gravel": 0.85, "loam": 1.0, "clay": 1.3, "hardpan": 1.7}
WELL_RATE = {"steel": 0.085, "composite": 0.07, "masonry": 0.22, "timber": 0.15}
DRAIN_RATE = {"gravel_pit": 0.22, "footing_drain": 0.5, "sump": 0.6}
FRAME_WALL = {"poured_concrete": 1.0, "concrete_block": 1.1, "brick": 1.15, "stone": 1.45, "wood_foundation": 0.8}
PHASE_SD = {
    "setup": 0.25,
    "excavation": 0.25,
    "wall_cutting": 0.22,
    "frame_setting": 0.2,
    "window_setting": 0.2,
    "well_setting": 0.22,
    "drainage": 0.28,
    "backfill": 0.25,
    "cleanup": 0.25,
    "travel": 0.25,
}
PHASES = tuple(PHASE_SD)
JOB_PHASES = ("setup", "travel")
FIRST_DAY = date(2017, 1, 9)


@dataclass(frozen=True)
class World:
    """Knobs of the firm. physics 'rates' follows rate x (quantity + set-up); 'powers' is another physics."""

    jobs: int
    seed: int
    physics: str = "rates"
    crews: int = 4
    crew_sd: float = 0.08
    job_sd: float = 0.11
    noise: float = 1.0
    new_saw_share: float | None = None  # share of the jobs after which cutting takes 20 % less
    messy: bool = True
    per_year: int = 125
    years: float | None = None


@dataclass
class Firm:
    """Frames as a book would give them, and the truth per opening in the order of openings."""

    jobs: pl.DataFrame
    openings: pl.DataFrame
    labour: pl.DataFrame
    truth_median: np.ndarray
    truth_sd: np.ndarray
    truth_phase: dict[str, np.ndarray]
    clean_total: np.ndarray
    extra: dict[str, Any] = field(default_factory=dict)


def make_firm(world: World) -> Firm:
    """Draw a firm."""
    rng = np.random.default_rng(world.seed)
    o = _openings(world, rng)
    factors = _world_factors(world, rng)
    median = _median_hours(o, world, factors)
    hours = _noisy(median, o, world, rng)
    jobs = _jobs_frame(o, hours, rng)
    labour = _labour_frame(o, hours, world, rng)
    openings = _openings_frame(o, world, rng)
    sd = _total_sd(median, o, world)
    return Firm(
        jobs=jobs,
        openings=openings,
        labour=labour,
        truth_median=_median_of_sum(median, o, world),
        truth_sd=sd,
        truth_phase=median,
        clean_total=sum(hours.values()),
        extra={"world": o, "factors": factors, "hours": hours},
    )


def _median_hours(o: dict[str, Any], world: World, factors: dict[str, Any]) -> dict[str, np.ndarray]:
    median = {phase: _true_hours(phase, o, world, factors) for phase in PHASES}
    pace = np.array(
        [
            factors["crew"][crew] * factors["crew_wall"][crew, wall]
            for crew, wall in zip(o["crew"], o["wall_type"], strict=True)
        ]
    )
    return {phase: hours if phase in JOB_PHASES else hours * pace for phase, hours in median.items()}


THICKNESS_IN = {
    "poured_concrete": [8, 8, 8, 9, 10, 12],
    "concrete_block": [8, 8, 8, 10, 12],
    "brick": [8, 8, 12, 12],
    "stone": [14, 16, 18, 20, 24],
    "wood_foundation": [6, 7.5, 8],
}


def _openings(world: World, rng: np.random.Generator) -> dict[str, Any]:
    """Jobs in order of their start, one to four openings each, as columns of openings."""
    m = rng.choice([1, 2, 3, 4], world.jobs, p=[0.64, 0.23, 0.09, 0.04])
    job = np.repeat(np.arange(world.jobs), m)
    years = world.years or max(world.jobs / world.per_year, 1.0)
    start = np.sort(rng.integers(0, int(365 * years), world.jobs))
    day = np.array([FIRST_DAY + timedelta(days=int(s)) for s in start])
    crews = np.array([f"crew {c}" for c in "ABCDEFGH"[: world.crews]])
    soil = rng.choice(list(SOIL_FACTOR), world.jobs, p=[0.2, 0.35, 0.33, 0.12])
    hand = rng.random(world.jobs) < 0.38
    sizes = _sizes(rng, job, world.jobs)
    return {
        "job": job,
        "m": m[job].astype(float),
        "crew": rng.choice(crews, world.jobs)[job],
        "start": day[job],
        "winter": np.isin([d.month for d in day], (12, 1, 2, 3))[job],
        "after_saw": job >= (world.new_saw_share or 2.0) * world.jobs,
        "soil": soil[job],
        **sizes,
        **_outside(rng, sizes, hand[job]),
    }


def _sizes(rng: np.random.Generator, job: np.ndarray, jobs: int) -> dict[str, Any]:
    """The wall and the hole in it."""
    n = len(job)
    job_wall = rng.choice(WALLS, jobs, p=WALL_SHARES)
    wall = np.where(rng.random(n) < 0.93, job_wall[job], rng.choice(WALLS, n, p=WALL_SHARES))
    work = rng.choice(["new_cut", "enlarge", "replace"], n, p=[0.42, 0.43, 0.15])
    W = rng.choice([30, 36, 36, 40, 42, 48, 48, 54, 60], n) + np.round(rng.normal(0, 1, n) * 2) / 2
    H = rng.choice([36, 42, 48, 48, 48, 54, 60], n) + np.round(rng.normal(0, 1, n) * 2) / 2
    old_w = np.where(work == "enlarge", np.minimum(rng.choice([28, 30, 32, 32, 36], n), W), 0.0)
    old_h = np.where(work == "enlarge", np.minimum(rng.choice([14, 16, 18, 20, 24], n), H), 0.0)
    bars = np.where(wall == "poured_concrete", 0.4, np.where(wall == "concrete_block", 0.2, 0.0))
    return {
        "wall_type": wall,
        "t": np.array([rng.choice(THICKNESS_IN[w]) for w in wall], dtype=float),
        "work": work,
        "W": W,
        "H": H,
        "old_w": np.where(work == "replace", W, old_w),
        "old_h": np.where(work == "replace", H, old_h),
        "reinforced": rng.random(n) < bars,
    }


def _outside(rng: np.random.Generator, sizes: dict[str, Any], hand: np.ndarray) -> dict[str, Any]:
    """Dig, well and drain."""
    n, W, H = len(hand), sizes["W"], sizes["H"]
    no_dig = (sizes["work"] == "replace") & (rng.random(n) < 0.6)
    kinds = rng.choice(list(WELL_RATE), n, p=[0.5, 0.3, 0.08, 0.12])
    well = np.where(no_dig | (rng.random(n) < 0.05), "none", kinds)
    drains = rng.choice(["none", "gravel_pit", "footing_drain", "sump"], n, p=[0.15, 0.4, 0.33, 0.12])
    return {
        "depth": np.clip(H + rng.normal(14, 6, n), H + 2, 110).round(),
        "dig": np.where(no_dig, "none", np.where(hand, "hand", "machine")),
        "well": well,
        "well_w": np.where(well != "none", W + rng.choice([8, 12, 12, 18], n), np.nan),
        "well_p": np.where(well != "none", rng.choice([36, 36, 40, 44], n), np.nan),
        "drain": np.where(no_dig, "none", drains),
    }


def _world_factors(world: World, rng: np.random.Generator) -> dict[str, Any]:
    """Each firm's own pace: rates of its own, crews of its own."""
    rates = {phase: float(np.exp(rng.normal(0, 0.15))) for phase in PHASES}
    walls = {wall: WALL_RATE[wall] * float(np.exp(rng.normal(0, 0.12))) for wall in WALLS}
    names = [f"crew {c}" for c in "ABCDEFGH"]
    crew = {name: float(np.exp(rng.normal(0, world.crew_sd))) for name in names}
    sd = 0.05 if world.physics == "powers" else 0.0
    crew_wall = {(name, wall): float(np.exp(rng.normal(0, sd))) for name in names for wall in WALLS}
    return {"rates": rates, "walls": walls, "crew": crew, "crew_wall": crew_wall}


def _cut_sqft(o: dict[str, Any]) -> np.ndarray:
    whole = 2 * (o["W"] + o["H"])
    larger = 2 * (o["H"] - o["old_h"]) + o["W"] + np.where(o["W"] > o["old_w"], 2 * o["old_h"], 0.0)
    length = np.select([o["work"] == "new_cut", o["work"] == "enlarge"], [whole, larger], 0.0)
    return length * o["t"] / 144


def _dig_yd3(o: dict[str, Any]) -> np.ndarray:
    with_well = (np.nan_to_num(o["well_w"]) + 24) * (np.nan_to_num(o["well_p"]) + 18)
    plan = np.where(o["well"] == "none", (o["W"] + 36) * 36, with_well)
    return np.where(o["dig"] == "none", 0.0, plan * o["depth"] / 46656)


def _quantities(o: dict[str, Any]) -> dict[str, np.ndarray]:
    dig = _dig_yd3(o)
    well_box = np.nan_to_num(o["well_w"] * o["well_p"]) * (o["depth"] - 6) / 46656
    return {
        "setup": 1 / o["m"],
        "travel": 1 / o["m"],
        "excavation": dig,
        "wall_cutting": _cut_sqft(o),
        "frame_setting": 2 * (o["W"] + o["H"]) / 12,
        "window_setting": o["W"] * o["H"] / 144,
        "well_setting": np.nan_to_num(o["well_w"]) * (o["depth"] - 6) / 144,
        "drainage": o["depth"] / 12,
        "backfill": np.maximum(dig - 0.7 * well_box, 0.3),
        "cleanup": np.maximum(o["W"] * o["H"] - o["old_w"] * o["old_h"], 0) * o["t"] / 1728,
    }


def _level(o: dict[str, Any], factors: dict[str, Any], phase: str) -> np.ndarray:
    """Hours per unit of each opening before size enters."""
    pick = lambda table, key: np.array([table.get(str(v), 1.0) for v in o[key]])  # noqa: E731
    soil = pick(SOIL_FACTOR, "soil")
    hand = o["dig"] == "hand"
    winter = o["winter"]
    saw = np.where(o["after_saw"], 0.8, 1.0)
    levels = {
        "setup": 1.9,
        "travel": 1.6,
        "excavation": np.where(hand, 1.15, 0.38) * np.where(hand, soil, soil**0.7) * np.where(winter, 1.15, 1.0)
        * np.where(o["depth"] > 72, 1.1, 1.0),
        "wall_cutting": pick(factors["walls"], "wall_type") * np.where(o["reinforced"], 1.2, 1.0)
        * np.where(o["t"] > 12, 1.08, 1.0) * saw,
        "frame_setting": 0.07 * pick(FRAME_WALL, "wall_type"),
        "window_setting": 0.065,
        "well_setting": pick(WELL_RATE, "well"),
        "drainage": pick(DRAIN_RATE, "drain"),
        "backfill": np.where(hand, 0.7, 0.28) * soil**0.25 * np.where(winter, 1.08, 1.0),
        "cleanup": 0.14,
    }  # fmt: skip
    return levels[phase] * factors["rates"][phase] * np.ones(len(o["job"]))


SETUP_SHARE = {
    "setup": 0.3, "travel": 0.1, "excavation": 0.3, "wall_cutting": 0.5, "frame_setting": 0.8,
    "window_setting": 0.7, "well_setting": 0.5, "drainage": 0.8, "backfill": 0.4, "cleanup": 0.9,
}  # fmt: skip
TYPICAL = {
    "setup": 1.0, "travel": 1.0, "excavation": 7.0, "wall_cutting": 9.0, "frame_setting": 14.0,
    "window_setting": 14.0, "well_setting": 24.0, "drainage": 5.0, "backfill": 4.0, "cleanup": 10.0,
}  # fmt: skip
POWER = {
    "setup": 0.6, "travel": 0.8, "excavation": 0.82, "wall_cutting": 0.85, "frame_setting": 0.6,
    "window_setting": 0.55, "well_setting": 0.7, "drainage": 0.6, "backfill": 0.75, "cleanup": 0.6,
}  # fmt: skip


def _can(o: dict[str, Any], phase: str) -> np.ndarray:
    rules = {
        "wall_cutting": o["work"] != "replace",
        "excavation": o["dig"] != "none",
        "backfill": o["dig"] != "none",
        "well_setting": o["well"] != "none",
        "drainage": o["drain"] != "none",
    }
    return rules.get(phase, np.ones(len(o["job"]), dtype=bool))


def _true_hours(phase: str, o: dict[str, Any], world: World, factors: dict[str, Any]) -> np.ndarray:
    q = _quantities(o)[phase]
    level = _level(o, factors, phase)
    learning = np.where(np.isin(phase, JOB_PHASES), 1.0, o["m"] ** -0.05)
    if world.physics == "powers":
        hours = level * TYPICAL[phase] * (np.maximum(q, 0.02 * TYPICAL[phase]) / TYPICAL[phase]) ** POWER[phase] * 1.2
        hours = hours * _other_physics(phase, o)
    elif phase == "wall_cutting":
        slope = np.array([WALL_SLOPE[w] for w in o["wall_type"]])
        hours = level * TYPICAL[phase] * ((q / TYPICAL[phase] + 0.5) / 1.5) ** slope * 1.5
    else:
        hours = level * (q + SETUP_SHARE[phase] * TYPICAL[phase] * np.where(np.isin(phase, JOB_PHASES), q, 1.0))
    return np.where(_can(o, phase), hours * learning, 0.0)


def _other_physics(phase: str, o: dict[str, Any]) -> np.ndarray:
    """Interactions the model has no column for, or only a weak one."""
    if phase == "wall_cutting":
        return (o["t"] / 9) ** np.where(o["wall_type"] == "poured_concrete", 0.35, 0.15)
    if phase == "excavation":
        clay_deep = (o["soil"] == "clay") & (o["depth"] > 64)
        return np.where(clay_deep, 1.15, 1.0) * (o["depth"] / 60) ** 0.25
    return np.ones(len(o["job"]))


def _noise_parts(o: dict[str, Any], world: World) -> tuple[float, np.ndarray]:
    wall = np.array([WALL_NOISE[w] for w in o["wall_type"]])
    return world.job_sd * world.noise, wall * world.noise


def _noisy(
    median: dict[str, np.ndarray], o: dict[str, Any], world: World, rng: np.random.Generator
) -> dict[str, np.ndarray]:
    """Hours as worked: one luck per job, one per phase, noisier on some walls."""
    job_sd, wall = _noise_parts(o, world)
    luck = rng.normal(0, job_sd, world.jobs)[o["job"]] * wall
    hours = {}
    for phase, sd in PHASE_SD.items():
        if phase in JOB_PHASES:
            off = rng.normal(0, sd * world.noise, world.jobs)[o["job"]]
        else:
            off = luck + rng.normal(0, sd, len(o["job"])) * wall
        hours[phase] = median[phase] * np.exp(off)
    return hours


def _own_sd(phase: str, wall: np.ndarray, world: World) -> np.ndarray:
    """sd of a phase's own luck per opening, log scale."""
    return PHASE_SD[phase] * (np.full(len(wall), world.noise) if phase in JOB_PHASES else wall)


def _total_sd(median: dict[str, np.ndarray], o: dict[str, Any], world: World) -> np.ndarray:
    """sd of the log of the clean total, to first order."""
    job_sd, wall = _noise_parts(o, world)
    total = sum(median.values())
    luck_share = sum(median[phase] for phase in PHASES if phase not in JOB_PHASES) / total
    own = sum((median[phase] / total) ** 2 * np.expm1(_own_sd(phase, wall, world) ** 2) for phase in PHASES)
    return np.sqrt((job_sd * wall * luck_share) ** 2 + own)


def _median_of_sum(median: dict[str, np.ndarray], o: dict[str, Any], world: World) -> np.ndarray:
    """Median of a sum of lognormals, by moments: the sum's mean over exp(half its log variance)."""
    job_sd, wall = _noise_parts(o, world)
    mean = sum(median[phase] * np.exp(0.5 * _own_sd(phase, wall, world) ** 2) for phase in PHASES)
    own_only = np.maximum(_total_sd(median, o, world) ** 2 - (job_sd * wall) ** 2, 1e-6)
    return mean * np.exp(-0.5 * own_only)


def _ids(o: dict[str, Any]) -> tuple[list[str], list[str]]:
    jobs = [f"J{j:05d}" for j in o["job"]]
    seen: dict[str, int] = {}
    names = []
    for job in jobs:
        seen[job] = seen.get(job, 0) + 1
        names.append(f"{job}-{seen[job]}")
    return jobs, names


def _jobs_frame(o: dict[str, Any], hours: dict[str, np.ndarray], rng: np.random.Generator) -> pl.DataFrame:
    jobs, _ = _ids(o)
    total = np.bincount(o["job"], sum(hours.values()))
    first = np.unique(o["job"], return_index=True)[1]
    start = [o["start"][i] for i in first]
    days = np.maximum(1, np.ceil(total / 14)).astype(int)
    return pl.DataFrame(
        {
            "job_id": [jobs[i] for i in first],
            "crew": [str(o["crew"][i]) for i in first],
            "started_on": start,
            "completed_on": [s + timedelta(days=int(d)) for s, d in zip(start, days, strict=True)],
            "quoted_labour_hours": np.round(total * np.exp(rng.normal(-0.05, 0.22, len(total)))),
            "change_order_hours": pl.Series([None] * len(total), dtype=pl.Float64),
        }
    )


def _blank(values: list[Any], rng: np.random.Generator, share: float) -> list[Any]:
    return [None if rng.random() < share else v for v in values]


def _openings_frame(o: dict[str, Any], world: World, rng: np.random.Generator) -> pl.DataFrame:
    jobs, names = _ids(o)
    gap = 0.02 if world.messy else 0.0
    number = lambda key: [None if v != v else float(v) for v in o[key]]  # noqa: E731
    return pl.DataFrame(
        {
            "opening_id": names, "job_id": jobs, "wall_type": [str(w) for w in o["wall_type"]],
            "wall_thickness_in": _blank(number("t"), rng, gap), "opening_work": [str(w) for w in o["work"]],
            "rough_width_in": number("W"), "rough_height_in": number("H"),
            "existing_width_in": number("old_w"), "existing_height_in": number("old_h"),
            "depth_below_grade_in": _blank(number("depth"), rng, gap),
            "soil": _blank([str(s) for s in o["soil"]], rng, gap), "dig_method": [str(d) for d in o["dig"]],
            "reinforced": _blank([bool(r) for r in o["reinforced"]], rng, gap),
            "well_type": [str(w) for w in o["well"]], "well_width_in": number("well_w"),
            "well_projection_in": number("well_p"), "well_depth_in": pl.Series([None] * len(jobs), dtype=pl.Float64),
            "drain": [str(d) for d in o["drain"]],
        }
    )  # fmt: skip


def _labour_frame(
    o: dict[str, Any], hours: dict[str, np.ndarray], world: World, rng: np.random.Generator
) -> pl.DataFrame:
    """Entries: phases split over 2 workers and days; some shared, some mis-keyed, some under the wrong phase."""
    jobs, names = _ids(o)
    first = np.unique(o["job"], return_index=True)[1]
    rows: list[tuple[Any, ...]] = []
    for phase in JOB_PHASES:
        per_job = np.bincount(o["job"], hours[phase])
        for i, h in zip(first, per_job, strict=True):
            rows += [(jobs[i], None, o["start"][i], phase, float(h) / 2)] * 2
    shared = rng.random(world.jobs) < 0.15
    for i, name in enumerate(names):
        rows += _opening_entries(i, (jobs[i], name, o["start"][i]), hours, shared[o["job"][i]], world, rng)
    words = {"job_id": pl.String, "opening_id": pl.String}
    schema = {**words, "worked_on": pl.Date, "phase": pl.String, "hours": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _opening_entries(
    i: int, where: tuple[str, str, date], hours: dict[str, np.ndarray], shared: bool, world: World,
    rng: np.random.Generator,
) -> list[tuple[Any, ...]]:  # fmt: skip
    job, name, start = where
    possible = [phase for phase in PHASES if phase not in JOB_PHASES and hours[phase][i] > 0]
    odd = rng.choice(possible) if world.messy and rng.random() < 0.03 else ""
    rows = []
    for phase in possible:
        parts = rng.dirichlet([3.0] * int(rng.integers(2, 4))) * hours[phase][i]
        opening = None if shared and phase in ("excavation", "cleanup", "backfill") else name
        for k, part in enumerate(parts):
            slip = float(rng.choice([10.0, 2.0, 0.1])) if phase == odd and k == 0 else 1.0
            written = rng.choice(PHASES[:-1]) if world.messy and rng.random() < 0.01 else phase
            worked = max(round(float(part) * slip, 3), 0.001)
            rows.append((job, opening, start + timedelta(days=k), str(written), worked))
    return rows
