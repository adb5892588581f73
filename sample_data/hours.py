"""The hours each opening took, and the time-sheet lines that say so."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns, number_ids
from sample_data.truth import (
    BACKFILL_ALLOWANCE_YD3,
    BACKFILL_HAND_RATE,
    BACKFILL_MACHINE_RATE,
    BAD_MONTH_CUT_FACTOR,
    BAD_MONTH_DIG_FACTOR,
    BAD_MONTH_WAGE_FACTOR,
    CLEANUP_ALLOWANCE_CUFT,
    CLEANUP_RATE,
    CREW_HOURS,
    CREW_HOURS_SD,
    CUT_ALLOWANCE_SQFT,
    CUT_RATE,
    DRAIN_ALLOWANCE_FT,
    DRAIN_RATE,
    FIRST_DAY,
    FRAME_ALLOWANCE_FT,
    FRAME_FACTOR,
    FRAME_RATE,
    HAND_ALLOWANCE_YD3,
    HAND_RATE,
    HOLIDAYS,
    JOB_NOISE,
    MACHINE_ALLOWANCE_YD3,
    MACHINE_RATE,
    MISKEYED_SHARE,
    NEW_SAW_FACTOR,
    NEW_SAW_ON,
    NO_PHASE_SHARE,
    PHASE_NOISE,
    PHASES,
    REINFORCED_FACTOR,
    ROUGH_WALL_NOISE,
    SETUP_HOURS,
    SOIL_FACTOR,
    STANDARD_WAGE,
    TRAVEL_HOURS,
    WELL_ALLOWANCE_SQFT,
    WELL_RATE,
    WINDOW_ALLOWANCE_SQFT,
    WINDOW_RATE,
    WINTER_DIG_FACTOR,
    WRONG_PHASE_SHARE,
)
from sample_data.weather import all_days, month_of, year_of
from sample_data.work import in_bad_month, take_off

DAY_HOURS = 7.5
SHARED_WORK_SHARE = 0.30
LONGEST_MISKEYED_H = 1.25
ROUGH_WALLS = (2, 3)
SKILL_WAGE = (1.12, 1.0, 0.9)


def expected_hours(jobs: Columns, opening: Columns) -> Array:
    """Hours per opening and phase of an ordinary crew with the old saw. [h]"""
    q = take_off(opening, jobs["openings"][opening["job"]])
    soil = np.array(SOIL_FACTOR)[jobs["soil"][opening["job"]]]
    winter = np.where(np.isin(month_of(all_days()[jobs["wished"]]), (12, 1, 2, 3)), WINTER_DIG_FACTOR, 1.0)
    hand = opening["dig"] == 0
    dig = np.where(hand, HAND_RATE * soil * (q["dig_yd3"] + HAND_ALLOWANCE_YD3),
                   MACHINE_RATE * np.sqrt(soil) * (q["dig_yd3"] + MACHINE_ALLOWANCE_YD3))
    backfill = np.where(hand, BACKFILL_HAND_RATE, BACKFILL_MACHINE_RATE)
    backfill = backfill * (q["backfill_yd3"] + BACKFILL_ALLOWANCE_YD3)
    season = winter[opening["job"]] * (opening["dig"] != 2)
    cut = np.array(CUT_RATE)[opening["wall"]] * (q["cut_sqft"] + CUT_ALLOWANCE_SQFT)
    cut = cut * REINFORCED_FACTOR ** opening["reinforced"] * (opening["work"] != 2)
    frame = np.array(FRAME_FACTOR)[opening["wall"]] * FRAME_RATE * (q["frame_ft"] + FRAME_ALLOWANCE_FT)
    window = WINDOW_RATE * (q["window_sqft"] + WINDOW_ALLOWANCE_SQFT)
    well = np.array(WELL_RATE)[opening["well"]] * (q["well_sqft"] + WELL_ALLOWANCE_SQFT)
    drain = np.array(DRAIN_RATE)[opening["drain"]] * (q["drain_ft"] + DRAIN_ALLOWANCE_FT)
    cleanup = CLEANUP_RATE * (q["removed_cuft"] + CLEANUP_ALLOWANCE_CUFT)
    return np.stack([TRAVEL_HOURS * q["share"], SETUP_HOURS * q["share"], dig * season, cut, frame, window,
                     well, drain, backfill * season, cleanup], axis=1)


def crew_factors(rng: np.random.Generator, crews: int) -> Array:
    """Hours of each crew against an ordinary one."""
    more = np.exp(rng.normal(0, CREW_HOURS_SD, max(crews - len(CREW_HOURS), 0)))
    return np.concatenate([CREW_HOURS, more])


def worked_hours(rng: np.random.Generator, jobs: Columns, opening: Columns, expected: Array) -> Array:
    """What the work really took: crew, new saw, bad month and chance. [h per opening and phase]"""
    job = opening["job"]
    rough = np.where(np.isin(opening["wall"], ROUGH_WALLS), ROUGH_WALL_NOISE, 1.0)[:, None]
    noise = rng.normal(size=expected.shape) * np.array(PHASE_NOISE)
    noise[:, :2] = (rng.normal(size=(jobs["crew"].size, 2)) * np.array(PHASE_NOISE[:2]))[job]
    job_noise = rng.normal(0, JOB_NOISE, jobs["crew"].size)[job][:, None]
    crew = crew_factors(rng, int(jobs["crew"].max()) + 1)[jobs["crew"]][job][:, None]
    hours = expected * crew * np.exp(rough * (noise + job_noise))
    cut, dig = PHASES.index("wall_cutting"), [PHASES.index("excavation"), PHASES.index("backfill")]
    hours[:, cut] *= np.where(all_days()[jobs["wished"]] >= NEW_SAW_ON, NEW_SAW_FACTOR, 1.0)[job]
    bad = in_bad_month(jobs["wished"])[job]
    hours[:, cut] *= np.where(bad, BAD_MONTH_CUT_FACTOR, 1.0)
    hours[:, dig] *= np.where(bad, BAD_MONTH_DIG_FACTOR, 1.0)[:, None]
    return np.asarray(hours)


def plan_days(rng: np.random.Generator, jobs: Columns, opening: Columns, hours: Array) -> None:
    """Add workers, crew hours of a day, first working day and days needed to the jobs, crew by crew."""
    count = jobs["crew"].size
    jobs["workers"] = rng.choice([2, 3], count, p=(0.55, 0.45))
    jobs["day_hours"] = DAY_HOURS * jobs["workers"]
    total = np.bincount(opening["job"], weights=hours.sum(axis=1), minlength=count)
    jobs["days"] = np.ceil(total / jobs["day_hours"] + 1e-9).astype(int)
    wished = np.busday_count(FIRST_DAY, all_days()[jobs["wished"]], holidays=HOLIDAYS)
    jobs["first_workday"] = wished.copy()
    for crew in np.unique(jobs["crew"]):
        rows = np.flatnonzero(jobs["crew"] == crew)
        before = np.concatenate([[0], np.cumsum(jobs["days"][rows])[:-1]])
        jobs["first_workday"][rows] = np.maximum.accumulate(wished[rows] - before) + before


def _work_units(rng: np.random.Generator, opening: Columns, hours: Array) -> Columns:
    """One row per job, phase and opening that took time, in the order of the work."""
    row, phase = np.nonzero(hours > 0)
    job, amount = opening["job"][row], hours[row, phase]
    own = np.ones(row.size, dtype=bool)
    own[np.isin(phase, (0, 1))] = False
    shared = rng.random((int(opening["job"].max()) + 1, len(PHASES))) < SHARED_WORK_SHARE
    mates = np.bincount(opening["job"])[job]
    own &= ~(shared[job, phase] & (mates > 1) & np.isin(phase, (2, 8, 9)))
    order = np.lexsort((row, phase, job))
    units = {"job": job, "phase": phase, "row": row, "own": own, "hours": amount}
    return {name: values[order] for name, values in units.items()}


def _cut_into_days(jobs: Columns, unit: Columns) -> Columns:
    """The units split where a crew's day ends; `day` counts from the job's first day."""
    ends = np.cumsum(unit["hours"])
    starts_of_jobs = np.searchsorted(unit["job"], np.arange(jobs["crew"].size))
    begun = np.concatenate([[0.0], ends])[starts_of_jobs][unit["job"]]
    limit = jobs["day_hours"][unit["job"]]
    start, end = ends - unit["hours"] - begun, ends - begun
    first = np.floor(start / limit + 1e-9).astype(int)
    last = np.maximum(np.floor(end / limit - 1e-9).astype(int), first)
    pieces = last - first + 1
    again = np.repeat(np.arange(pieces.size), pieces)
    day = first[again] + np.arange(again.size) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    inside = np.minimum(end[again], (day + 1) * limit[again]) - np.maximum(start[again], day * limit[again])
    keep = (inside >= 0.15) | (pieces[again] == 1)
    piece = {name: values[again][keep] for name, values in unit.items()}
    return piece | {"hours": inside[keep], "day": day[keep]}


def labour_lines(rng: np.random.Generator, jobs: Columns, opening: Columns, hours: Array) -> Columns:
    """Time-sheet lines before the slips of the pen: job, row, own, phase, day number, worker, hours."""
    piece = _cut_into_days(jobs, _work_units(rng, opening, hours))
    crew_size = jobs["workers"][piece["job"]]
    few = np.where((piece["hours"] >= 1.5) & (rng.random(piece["hours"].size) < 0.35), 2, 1)
    people = np.where(piece["hours"] >= 4, crew_size, few)
    again = np.repeat(np.arange(people.size), people)
    turn = np.arange(again.size) - np.repeat(np.cumsum(people) - people, people)
    first = rng.integers(0, 3, people.size)
    lines = {name: values[again] for name, values in piece.items()}
    quarter = np.floor(lines["hours"] / people[again] * 4 + rng.random(again.size)) / 4
    lines["hours"] = np.maximum(quarter, 0.25)
    lines["worker"] = (first[again] + turn) % crew_size[again]
    numbers = np.arange(jobs["first_workday"].max() + jobs["days"].max() + 9)
    workdays = np.busday_offset(FIRST_DAY, numbers, roll="forward", holidays=HOLIDAYS)
    lines["worked_on"] = workdays[jobs["first_workday"][lines["job"]] + lines["day"]]
    return lines


def slips_of_the_pen(rng: np.random.Generator, lines: Columns) -> None:
    """Mis-keyed hours, wrong phases and lines without a phase, in place."""
    count = lines["hours"].size
    short = lines["hours"] <= LONGEST_MISKEYED_H
    share = MISKEYED_SHARE * (int(lines["row"].max()) + 1) / short.sum()
    chosen = short & (rng.random(count) < share)
    factor = rng.choice([10.0, 2.0, 0.1], count, p=(0.4, 0.4, 0.2))
    lines["hours"] = np.where(chosen, lines["hours"] * factor, lines["hours"])
    wrong = (rng.random(count) < WRONG_PHASE_SHARE) & (lines["phase"] > 1)
    lines["phase"] = np.where(wrong, rng.integers(2, len(PHASES), count), lines["phase"])
    lines["phase_known"] = rng.random(count) >= NO_PHASE_SHARE


def standard_wage(days: Array) -> Array:
    """The firm's standard hourly cost on a date. [USD/h]"""
    by_year = np.array([STANDARD_WAGE[y] for y in range(2018, 2027)])
    return np.asarray(by_year[(year_of(days) - 2018).clip(0, 8)])


def labour_records(rng: np.random.Generator, jobs: Columns, lines: Columns, ids: Columns) -> Columns:
    """The labour kind, in the order in which the work was done."""
    order = np.argsort(lines["worked_on"], kind="stable")
    line = {name: values[order] for name, values in lines.items()}
    crew = jobs["crew"][line["job"]]
    wage = standard_wage(line["worked_on"]) * np.array(SKILL_WAGE)[line["worker"]]
    wage = np.round(wage * np.where(in_bad_month(jobs["wished"])[line["job"]], BAD_MONTH_WAGE_FACTOR, 1.0), 2)
    unknown_wage = rng.random(crew.size) < 0.2
    worker = np.array([f"W{c + 1:02d}{'abc'[k]}" for c in range(crew.max() + 1) for k in range(3)])
    return {"entry_id": number_ids("L", crew.size, 6), "job_id": ids["job"][line["job"]],
            "opening_id": np.where(line["own"], ids["opening"][line["row"]], ""),
            "worked_on": line["worked_on"], "worker_id": worker[crew * 3 + line["worker"]],
            "phase": np.where(line["phase_known"], np.array(PHASES)[line["phase"]], ""),
            "hours": line["hours"], "hourly_cost": np.where(unknown_wage, np.nan, wage)}
