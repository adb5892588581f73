"""Make the sample scenario: python -m sample_data.make --out DIR [--jobs N] [--seed S] [--clean]."""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from sample_data.callbacks import all_events, callback_records
from sample_data.columns import Array, Columns, number_ids, take, texts
from sample_data.hours import (
    expected_hours,
    labour_lines,
    labour_records,
    plan_days,
    slips_of_the_pen,
    worked_hours,
)
from sample_data.installs import card_records, findings, setting_days
from sample_data.mess import write_as_a_firm_does, write_clean
from sample_data.offers import branch_names, change_orders, other_costs, quote_jobs, quote_records
from sample_data.purchases import (
    material_lines,
    material_records,
    other_cost_records,
    price_records,
    well_specs,
    window_specs,
)
from sample_data.truth import CREWS, LAST_DAY, PHASES, SOILS, STATIONS, WALLS, WARRANTY_MONTHS
from sample_data.weather import all_days, daily_weather, leak_clock, weather_records
from sample_data.work import drain_words, new_jobs, new_openings, well_width_in, well_words

SEED = 2044
NOT_RECORDED_SHARE = 0.02
FEWEST_MESSY_JOBS = 40                             # fewer may have no callback to spoil
STALLED_JOBS = 3                                   # long since worked, waiting for an inspection
UNSIGNED_DAYS = 21                                 # newest jobs: most are not signed off yet
LANES = ("Mill", "Weir", "Ferry", "Tanner", "Quarry", "Spring", "Chapel", "Ropewalk")
UNSIGNED_SHARE = 0.75
OPENING_WORDS = ("new_cut", "enlarge", "replace")
DIG_WORDS = ("hand", "machine", "none")


def scenario(seed: int = SEED, jobs: int = 1000) -> dict[str, Columns]:
    """All ten kinds of record as typed columns; the same seed gives the same records."""
    return world(seed, jobs)["records"]


def world(seed: int, job_count: int) -> dict[str, dict[str, Columns]]:
    """The records, and beside them the truth they were drawn from (jobs, openings, findings, events, hours)."""
    rng = np.random.default_rng(seed)
    weather = daily_weather(rng)
    jobs = new_jobs(rng, job_count)
    opening = new_openings(rng, jobs)
    ids = _ids(jobs, opening)
    expected = expected_hours(jobs, opening)
    hours = worked_hours(rng, jobs, opening, expected)
    plan_days(rng, jobs, opening, hours)
    lines = labour_lines(rng, jobs, opening, hours)
    _dates(rng, jobs, lines)
    lines["true_frame"] = lines["phase"] == PHASES.index("frame_setting")
    lines = take(lines, lines["worked_on"] <= LAST_DAY)
    opening |= {"set_on": setting_days(lines, opening["job"].size), "expected": expected}
    found = findings(rng, jobs, opening, weather)
    events = all_events(rng, jobs, opening | found, leak_clock(weather["rain_in"]))
    bought, other = material_lines(rng, jobs, opening), other_costs(rng, jobs, opening)
    quote_jobs(rng, jobs, opening, {"materials": bought, "other": other})
    slips_of_the_pen(rng, lines)
    records = {
        "jobs": _job_records(rng, jobs, ids),
        "openings": _opening_records(rng, jobs, opening, ids),
        "labour": labour_records(rng, jobs, lines, ids),
        "materials": material_records(rng, jobs, bought, ids),
        "other_costs": other_cost_records(rng, jobs, other, ids),
        "install_checks": card_records(rng, found, ids["opening"]),
        "weather": weather_records(rng, weather),
        "callbacks": callback_records(rng, events, ids),
        "prices": price_records(),
        "quotes": quote_records(rng, jobs, ids),
    }
    truth = {"jobs": jobs, "openings": opening, "findings": found, "events": events, "hours": {"worked": hours}}
    return {"records": _until_the_last_day(records), "truth": truth}


def _ids(jobs: Columns, opening: Columns) -> Columns:
    job_ids = number_ids("", jobs["crew"].size, 4)
    letters = np.array(["-A", "-B", "-C", "-D"])[opening["letter"]]
    more = [f"Crew {i + 1:03d}" for i in range(len(CREWS), int(jobs["crew"].max()) + 1)]
    return {"job": job_ids, "opening": np.char.add(job_ids[opening["job"]], letters),
            "crew": np.array([*CREWS, *more]), "branch": branch_names(int(jobs["branch"].max()) + 1)}


def _dates(rng: np.random.Generator, jobs: Columns, lines: Columns) -> None:
    """Add first and last day on site; a job not done by the last day, or stalled, has no completion."""
    count = jobs["crew"].size
    first, last = np.full(count, LAST_DAY + 999), np.full(count, all_days()[0])
    np.minimum.at(first, lines["job"], lines["worked_on"])
    np.maximum.at(last, lines["job"], lines["worked_on"])
    stalled = rng.choice(np.arange(int(count * 0.93), int(count * 0.98)), min(STALLED_JOBS, count // 50), replace=False)
    jobs["started"], jobs["completed"] = first, last.copy()
    unsigned = (last > LAST_DAY - UNSIGNED_DAYS) & (rng.random(count) < UNSIGNED_SHARE)
    jobs["completed"][(last > LAST_DAY) | unsigned | np.isin(np.arange(count), stalled)] = np.datetime64("NaT")


def _job_records(rng: np.random.Generator, jobs: Columns, ids: Columns) -> Columns:
    street = rng.choice(LANES, jobs["crew"].size)
    number = rng.integers(1, 240, jobs["crew"].size).astype(str)
    site = np.char.add(np.char.add(number, " "), np.char.add(street, " Lane"))
    unknown = rng.random(jobs["crew"].size) < NOT_RECORDED_SHARE
    changes = change_orders(rng, jobs)
    return {"job_id": ids["job"], "branch": ids["branch"][jobs["branch"]], "site": site,
            "crew": ids["crew"][jobs["crew"]], "quoted_on": jobs["quoted"], "started_on": jobs["started"],
            "completed_on": jobs["completed"], "contract_price": jobs["price"]} | changes | {
            "quoted_labour_hours": np.where(unknown, np.nan, jobs["quoted_hours"]),
            "quoted_cost": np.where(unknown, np.nan, jobs["quoted_cost"]),
            "weather_station": np.array(STATIONS)[jobs["station"]],
            "warranty_months": np.full(jobs["crew"].size, WARRANTY_MONTHS)}


def _blank_some(rng: np.random.Generator, values: Array) -> Array:
    missing = rng.random(values.size) < NOT_RECORDED_SHARE
    return np.where(missing, "" if values.dtype.kind == "U" else np.nan, values)


def _opening_records(rng: np.random.Generator, jobs: Columns, opening: Columns, ids: Columns) -> Columns:
    new_cut, has_well = opening["work"] == 0, opening["well"] > 0
    well_depth = np.where(has_well & (rng.random(has_well.size) < 0.5), opening["depth"] - 6, np.nan)
    return {
        "opening_id": ids["opening"], "job_id": ids["job"][opening["job"]],
        "wall_type": np.array(WALLS)[opening["wall"]], "wall_thickness_in": _blank_some(rng, opening["thickness"]),
        "opening_work": np.array(OPENING_WORDS)[opening["work"]],
        "rough_width_in": opening["width"], "rough_height_in": opening["height"],
        "existing_width_in": np.where(new_cut, np.nan, opening["old_width"]),
        "existing_height_in": np.where(new_cut, np.nan, opening["old_height"]),
        "depth_below_grade_in": _blank_some(rng, opening["depth"]),
        "soil": _blank_some(rng, np.array(SOILS)[jobs["soil"][opening["job"]]]),
        "dig_method": np.array(DIG_WORDS)[opening["dig"]],
        "reinforced": _blank_some(rng, np.array(["no", "yes"])[opening["reinforced"]]),
        "well_type": well_words(opening), "well_width_in": np.where(has_well, well_width_in(opening), np.nan),
        "well_projection_in": np.where(has_well, opening["projection"], np.nan), "well_depth_in": well_depth,
        "drain": drain_words(opening), "clear_width_in": opening["clear_width"],
        "clear_height_in": opening["clear_height"], "sill_above_floor_in": _blank_some(rng, opening["sill"]),
        "sill_below_grade_in": opening["below"], "window_spec": window_specs()[opening["window"]],
        "well_spec": well_specs(opening["well"], well_width_in(opening)),
    }


def _until_the_last_day(records: dict[str, Columns]) -> dict[str, Columns]:
    """Leave out what had not happened by the last day: jobs not begun, and everything that hangs on them."""
    jobs = take(records["jobs"], records["jobs"]["started_on"] <= LAST_DAY)
    begun = records | {"jobs": jobs}
    for kind in ("openings", "labour", "materials", "other_costs"):
        begun[kind] = take(records[kind], np.isin(records[kind]["job_id"], jobs["job_id"]))
    known = np.isin(records["quotes"]["job_id"], jobs["job_id"]) | (records["quotes"]["job_id"] == "")
    begun["quotes"] = take(records["quotes"], known)
    for kind, day in (("materials", "bought_on"), ("other_costs", "incurred_on")):
        begun[kind] = take(begun[kind], begun[kind][day] <= LAST_DAY)
    return begun


def make(out: Path, seed: int = SEED, jobs: int = 1000, clean: bool = False) -> None:
    """Write the scenario into a folder: as a small firm keeps it, or (clean) one canonical CSV per kind."""
    if not clean and jobs < FEWEST_MESSY_JOBS:
        raise ValueError(f"the messy form needs at least {FEWEST_MESSY_JOBS} jobs; fewer can be had clean")
    out.mkdir(parents=True, exist_ok=True)
    typed = scenario(seed, jobs)
    records = {kind: texts(columns) for kind, columns in typed.items()}
    if clean:
        write_clean(out, records)
        return
    write_as_a_firm_does(np.random.default_rng([seed, 1]), out, records, typed["weather"])


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--clean", action="store_true", help="canonical text only")
    wanted = parser.parse_args()
    if not wanted.clean and wanted.jobs < FEWEST_MESSY_JOBS:
        parser.error(f"--jobs must be at least {FEWEST_MESSY_JOBS} without --clean")
    make(wanted.out, seed=wanted.seed, jobs=wanted.jobs, clean=wanted.clean)
    print(f"wrote the sample scenario to {wanted.out}")


if __name__ == "__main__":
    main()
