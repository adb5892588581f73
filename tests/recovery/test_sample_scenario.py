"""Facts about the invented firm: what sample_data/README.md promises is in the records it makes.

All data here are invented; the numbers checked are the planted ones, or follow from them by hand.
"""

from __future__ import annotations

import ast
import csv
import math
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest

from sample_data.columns import Array, Columns
from sample_data.make import SEED, make, world
from schemas.kinds import KINDS as MODELS

FOLDER = Path(__file__).parents[2] / "sample_data"
KINDS = [
    "jobs",
    "openings",
    "labour",
    "materials",
    "other_costs",
    "install_checks",
    "weather",
    "callbacks",
    "prices",
    "quotes",
]
LAST_DAY = np.datetime64("2026-10-30")
WARRANTY_DAYS = 730
CUSTOMER = ("customer", "homeowner", "owner", "tenant")


@cache
def the_world() -> dict[str, dict[str, Columns]]:
    return world(SEED, 1000)


def records(kind: str) -> Columns:
    return the_world()["records"][kind]


def of_job(column: str, job_ids: Array) -> Array:
    """A column of jobs, looked up for the given job ids."""
    jobs = records("jobs")
    row = {job_id: i for i, job_id in enumerate(jobs["job_id"].tolist())}
    return jobs[column][[row[job_id] for job_id in job_ids.tolist()]]


def first_events(complaint: str) -> tuple[Array, Array]:
    """Days at risk inside warranty and first event of each opening; customer-caused ones and marked copies left out."""
    openings, callbacks = records("openings"), records("callbacks")
    done = of_job("completed_on", openings["job_id"])
    days = np.where(np.isnat(done), 0, np.clip((LAST_DAY - done).astype(int), 0, WARRANTY_DAYS)).astype(float)
    event = np.zeros(days.size, dtype=bool)
    row = {opening_id: i for i, opening_id in enumerate(openings["opening_id"].tolist())}
    for n in np.flatnonzero((callbacks["complaint"] == complaint) & (callbacks["duplicate_of"] == "")):
        i = row[callbacks["opening_id"][n]]
        age = int((callbacks["reported_on"][n] - done[i]).astype(int))
        if age <= days[i] and not any(word in callbacks["cause_found"][n] for word in CUSTOMER):
            days[i], event[i] = age, True
    return days, event


def reading(column: str) -> tuple[Array, Array]:
    """A check-card column per opening: the values, and True where one was written down."""
    cards, ids = records("install_checks"), records("openings")["opening_id"]
    row = {opening_id: i for i, opening_id in enumerate(cards["opening_id"].tolist())}
    at = np.array([row.get(opening_id, -1) for opening_id in ids.tolist()])
    values = cards[column][at]
    filled = values != "" if values.dtype.kind == "U" else ~np.isnan(values)
    return values, (at >= 0) & filled


def rate_ratio(found: Array, known: Array, complaint: str) -> tuple[float, float]:
    """Mantel-Haenszel ratio of rates over strata of crew and wall type, and its lower 95 % limit.

    Source: Greenland & Robins 1985, person-time form (from memory).
    """
    days, event = first_events(complaint)
    openings = records("openings")
    stratum = np.char.add(of_job("crew", openings["job_id"]), openings["wall_type"])
    top = bottom = spread = 0.0
    for name in np.unique(stratum):
        rows = known & (stratum == name)
        a, b = (event & found & rows).sum(), (event & ~found & rows).sum()
        t1, t0 = days[found & rows].sum(), days[~found & rows].sum()
        if t1 + t0 > 0:
            top, bottom = top + a * t0 / (t1 + t0), bottom + b * t1 / (t1 + t0)
            spread += (a + b) * t1 * t0 / (t1 + t0) ** 2
    ratio = top / bottom
    return ratio, ratio * math.exp(-1.96 * math.sqrt(spread / (top * bottom)))


def job_sums(kind: str, amount: Array) -> Array:
    """Sums per job, in the order of jobs."""
    row = {job_id: i for i, job_id in enumerate(records("jobs")["job_id"].tolist())}
    at = np.array([row[job_id] for job_id in records(kind)["job_id"].tolist()])
    return np.bincount(at, weights=amount, minlength=len(row))


def job_profits() -> tuple[Array, Array]:
    """Revenue, and profit after overhead, of each job; written out here from the definitions, not by our code."""
    jobs, labour, materials = records("jobs"), records("labour"), records("materials")
    year = labour["worked_on"].astype("datetime64[Y]").astype(int) + 1970
    standard = np.array([31, 31.5, 32.5, 34, 36.5, 38.5, 40, 41.5, 43])[year - 2018]
    overhead = np.where(year < 2022, 20.0, np.where(year < 2025, 23.0, 26.0))
    wage = np.where(np.isnan(labour["hourly_cost"]), standard, labour["hourly_cost"])
    revenue = jobs["contract_price"] + np.nan_to_num(jobs["change_orders"])
    cost = job_sums("labour", labour["hours"] * (wage + overhead))
    cost = cost + job_sums("materials", materials["quantity"] * materials["unit_cost"])
    return revenue, revenue - cost - job_sums("other_costs", records("other_costs")["amount"])


def completed_month() -> Array:
    return records("jobs")["completed_on"].astype("datetime64[M]")


def quoted_over_actual(wall: str) -> float:
    """Quoted hours over hours worked, on finished jobs of one wall type only."""
    openings, jobs = records("openings"), records("jobs")
    other = set(openings["job_id"][openings["wall_type"] != wall].tolist())
    hours = job_sums("labour", records("labour")["hours"])
    rows = np.array([job_id not in other for job_id in jobs["job_id"].tolist()])
    rows &= ~np.isnan(jobs["quoted_labour_hours"]) & ~np.isnat(jobs["completed_on"])
    rows &= completed_month() != np.datetime64("2025-06")
    return float(jobs["quoted_labour_hours"][rows].sum() / hours[rows].sum())


def test_all_ten_kinds_are_there_at_the_size_of_a_four_crew_firm():
    """About 1,000 jobs and 1,500 openings; mean openings per job .64 + 2 x .23 + 3 x .09 + 4 x .04 = 1.53."""
    assert list(the_world()["records"]) == KINDS
    assert 980 <= records("jobs")["job_id"].size <= 1000
    assert records("openings")["job_id"].size == pytest.approx(1530, rel=0.05)
    assert set(records("jobs")["crew"].tolist()) == {"Heron", "Otter", "Badger", "Kingfisher"}
    assert set(records("jobs")["branch"].tolist()) == {"riverside", "hill"}
    assert np.unique(records("weather")["station_id"]).size == 2


def test_weather_has_every_day_of_eight_years_for_both_stations():
    """2018-11-01 to 2026-10-30 is 8 x 365 + 2 leap days - 1 = 2,921 days."""
    assert records("weather")["observed_on"].size == 2 * 2921


def test_keys_are_unique_and_every_reference_is_in_the_records():
    keys = {
        "jobs": "job_id",
        "openings": "opening_id",
        "labour": "entry_id",
        "materials": "line_id",
        "other_costs": "line_id",
        "install_checks": "opening_id",
        "callbacks": "callback_id",
        "quotes": "quote_id",
    }
    for kind, key in keys.items():
        assert np.unique(records(kind)[key]).size == records(kind)[key].size, kind
    for kind in ("openings", "labour", "materials", "other_costs"):
        assert set(records(kind)["job_id"].tolist()) <= set(records("jobs")["job_id"].tolist()), kind
    for kind in ("labour", "materials", "install_checks", "callbacks"):
        named = set(records(kind)["opening_id"].tolist()) - {""}
        assert named <= set(records("openings")["opening_id"].tolist()), kind


def test_no_worker_has_more_than_24_hours_on_a_day():
    labour = records("labour")
    day = np.char.add(labour["worker_id"], np.datetime_as_string(labour["worked_on"]))
    _, where = np.unique(day, return_inverse=True)
    assert np.bincount(where, weights=labour["hours"]).max() <= 24


def test_nothing_is_dated_after_the_last_day():
    dates = [
        column
        for kind in KINDS
        for name, column in records(kind).items()
        if column.dtype.kind == "M" and name != "effective_on"
    ]
    assert len(dates) >= 10
    assert all(column[~np.isnat(column)].max() <= LAST_DAY for column in dates)


def test_some_jobs_are_still_open_and_some_of_those_are_recent():
    jobs = records("jobs")
    open_since = jobs["started_on"][np.isnat(jobs["completed_on"])]
    assert 3 <= open_since.size <= 20
    assert (open_since > LAST_DAY - 30).any()
    assert (open_since < LAST_DAY - 60).any()


def test_the_new_saw_cuts_poured_concrete_in_a_fifth_less_time():
    """Planted: x 0.80 from 2024-02-05. Hours per square foot of cut face, mis-keyed lines and all: within 0.07."""
    truth = the_world()["truth"]
    opening, worked = truth["openings"], truth["hours"]["worked"][:, 3]
    lengths = 2 * (opening["width"] + opening["height"])
    rows = (opening["work"] == 0) & (opening["wall"] == 0)
    per_sqft = (worked / (lengths * opening["thickness"] / 144 + 3.0))[rows]
    started = truth["jobs"]["started"][opening["job"]][rows]
    after = (started >= np.datetime64("2024-02-10")) & (started.astype("datetime64[M]") != np.datetime64("2025-06"))
    before = started < np.datetime64("2024-02-01")
    assert per_sqft[after].mean() / per_sqft[before].mean() == pytest.approx(0.80, abs=0.07)


def test_frame_and_window_take_about_one_labour_hour_on_poured_concrete():
    """Two people, half an hour, when the cut is true (common practice, no source)."""
    truth = the_world()["truth"]
    hours = truth["hours"]["worked"][truth["openings"]["wall"] == 0]
    assert hours[:, 4:6].sum(axis=1).mean() == pytest.approx(1.0, abs=0.2)


def test_quotes_are_low_on_block_and_lower_on_stone_but_near_on_poured_concrete():
    """Planted bias .81 and .67 against .97; crews, reinforcement and chance take a little more from each."""
    assert quoted_over_actual("poured_concrete") == pytest.approx(0.93, abs=0.08)
    assert quoted_over_actual("concrete_block") == pytest.approx(0.78, abs=0.08)
    assert quoted_over_actual("stone") == pytest.approx(0.62, abs=0.08)


def test_the_work_shifts_from_poured_concrete_to_stone():
    openings = records("openings")
    early = of_job("started_on", openings["job_id"]) < np.datetime64("2021-01-01")
    late = of_job("started_on", openings["job_id"]) >= np.datetime64("2024-11-01")
    stone, poured = openings["wall_type"] == "stone", openings["wall_type"] == "poured_concrete"
    assert stone[late].mean() > 1.5 * stone[early].mean()
    assert poured[late].mean() < poured[early].mean() - 0.08


def test_most_jobs_earn_money_and_a_few_lose_it():
    revenue, profit = job_profits()
    done = ~np.isnat(records("jobs")["completed_on"])
    margin = (profit / revenue)[done]
    assert 0.18 <= profit[done].sum() / revenue[done].sum() <= 0.28
    assert 0.02 <= (margin < 0).mean() <= 0.10
    assert ((margin > 0.05) & (margin < 0.40)).mean() > 0.75


def test_june_2025_is_the_one_month_that_lost_money():
    revenue, profit = job_profits()
    losing = [
        str(m)
        for m in np.unique(completed_month()[~np.isnat(completed_month())])
        if profit[completed_month() == m].sum() < 0
    ]
    assert losing == ["2025-06"]
    june = completed_month() == np.datetime64("2025-06")
    assert june.sum() >= 8
    assert profit[june].sum() / revenue[june].sum() < -0.03


def test_june_2025_was_the_wettest_month():
    weather = records("weather")
    month = weather["observed_on"].astype("datetime64[M]")
    months, where = np.unique(month, return_inverse=True)
    rain = np.bincount(where, weights=np.nan_to_num(weather["precipitation_in"]))
    assert months[rain.argmax()] == np.datetime64("2025-06")


@pytest.mark.parametrize("complaint", ["leak", "fit"])
def test_at_least_sixty_first_events_inside_warranty(complaint: str):
    assert first_events(complaint)[1].sum() >= 60


def test_anchors_are_over_tightened_in_every_crew_and_far_more_in_badger():
    """Planted: 9 % of openings, 38 % in Badger."""
    torque, known = reading("anchor_torque_max_lbft")
    crew = of_job("crew", records("openings")["job_id"])
    share = {name: (torque[known & (crew == name)] > 25).mean() for name in np.unique(crew).tolist()}
    assert all(value > 0.03 for value in share.values())
    assert all(share["Badger"] > 2.5 * value for name, value in share.items() if name != "Badger")


def test_frames_are_set_wet_in_every_crew_and_far_more_in_badger():
    """Planted on a dry day: 5 %, 22 % in Badger; more after rain."""
    wet, known = reading("substrate_wet")
    crew = of_job("crew", records("openings")["job_id"])
    share = {name: (wet[known & (crew == name)] == "yes").mean() for name in np.unique(crew).tolist()}
    assert all(value > 0.03 for value in share.values())
    assert all(share["Badger"] > 2.0 * value for name, value in share.items() if name != "Badger")


def test_over_tightened_anchors_bring_fit_callbacks_given_crew_and_wall():
    """Planted hazard ratio 5.5, thinned by misfiled complaints; frailty and chance leave it above 2.5."""
    torque, known = reading("anchor_torque_max_lbft")
    ratio, low = rate_ratio(torque > 25, known, "fit")
    assert ratio > 2.5
    assert low > 1.5


def test_wet_setting_brings_leaks_given_crew_and_wall():
    """Planted hazard ratio 5.5, thinned as above."""
    wet, known = reading("substrate_wet")
    ratio, low = rate_ratio(wet == "yes", known, "leak")
    assert ratio > 2.5
    assert low > 1.5


def test_a_missing_grout_band_is_a_planted_null():
    """Hazard ratio 1.0: the lower limit does not claim a doubling."""
    grout, known = reading("grout_band")
    assert rate_ratio(grout == "no", known, "leak")[1] < 1.5


def test_leaks_are_reported_far_more_often_on_and_after_heavy_rain():
    """Planted: x 14 with over 1.5 in on the day or the two before, against days with under 0.35 in."""
    weather, callbacks = records("weather"), records("callbacks")
    rain = np.nan_to_num(weather["precipitation_in"].reshape(2, -1)[0])
    recent = np.maximum(rain, np.maximum(np.roll(rain, 1), np.roll(rain, 2)))
    leaks = callbacks["reported_on"][(callbacks["complaint"] == "leak") & (callbacks["duplicate_of"] == "")]
    at = recent[(leaks - np.datetime64("2018-11-01")).astype(int)]
    heavy, dry = (at > 1.5).sum() / (recent > 1.5).sum(), (at < 0.35).sum() / (recent < 0.35).sum()
    assert heavy > 4 * dry


def test_cards_are_missing_more_often_in_the_hurried_crew():
    openings = records("openings")
    done = ~np.isnat(of_job("completed_on", openings["job_id"]))
    crew = of_job("crew", openings["job_id"])
    carded = np.isin(openings["opening_id"], records("install_checks")["opening_id"])
    assert carded[done & (crew == "Badger")].mean() < carded[done & (crew != "Badger")].mean() - 0.08


def test_quotes_were_lost_as_well_as_won():
    outcome = records("quotes")["outcome"]
    assert (outcome == "lost").sum() >= 60
    assert (outcome == "open").sum() >= 5
    won = records("quotes")["job_id"][outcome == "won"]
    assert set(won.tolist()) == set(records("jobs")["job_id"].tolist())


def test_the_newest_callbacks_have_no_cost_yet():
    callbacks = records("callbacks")
    newest = callbacks["reported_on"] > LAST_DAY - 40
    assert newest.sum() >= 3
    assert np.isnan(callbacks["material_cost"][newest]).all()


def test_the_same_seed_writes_the_same_bytes_and_another_seed_does_not(tmp_path: Path):
    for name, seed in (("one", 5), ("two", 5), ("three", 6)):
        make(tmp_path / name, seed=seed, jobs=40)
    files = sorted(p.name for p in (tmp_path / "one").iterdir())
    same = [(tmp_path / "one" / f).read_bytes() == (tmp_path / "two" / f).read_bytes() for f in files]
    assert all(same)
    assert (tmp_path / "one" / "Jobs.csv").read_bytes() != (tmp_path / "three" / "Jobs.csv").read_bytes()


def test_the_clean_form_is_one_file_per_kind(tmp_path: Path):
    make(tmp_path, jobs=40, clean=True)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([f"{k}.csv" for k in KINDS] + ["areaway.toml"])


def test_the_messy_form_of_a_handful_of_jobs_is_refused(tmp_path: Path):
    with pytest.raises(ValueError, match="at least 40 jobs"):
        make(tmp_path, jobs=12)


def typed(text: pl.DataFrame, model: Any) -> pl.DataFrame:
    """Text columns as the types of a record model; strict, so that unreadable text fails the test."""
    columns = []
    for name, column in model.to_schema().columns.items():
        value, kind = pl.col(name), column.dtype.type
        if kind == pl.Date:
            value = value.str.to_date("%Y-%m-%d")
        elif kind == pl.Boolean:
            value = value.replace_strict({"yes": True, "no": False}, return_dtype=pl.Boolean)
        elif kind != pl.String:
            value = value.cast(pl.Float64).cast(kind)
        columns.append(value)
    return text.select(columns)


def test_every_clean_row_obeys_the_rules_of_its_kind(tmp_path: Path):
    """Columns in the order of the models, all text readable, no rule broken."""
    make(tmp_path, clean=True)
    for kind, rules in MODELS.items():
        text = pl.read_csv(tmp_path / f"{kind}.csv", infer_schema=False, null_values=[""])
        assert text.columns == list(rules.columns()), kind
        rules.model.validate(typed(text, rules.model), lazy=True)


def test_the_firms_own_files_are_as_messy_as_described(tmp_path: Path):
    make(tmp_path)
    assert '5\' 0 1/4""' in (tmp_path / "openings.csv").read_text(encoding="utf-8")
    assert (tmp_path / "labour 2021.csv").read_text(encoding="utf-8").startswith("Ticket,Job No,Opening,Date")
    for year in (2019, 2022):
        assert (tmp_path / f"labour {year}.csv").read_text(encoding="utf-8").splitlines()[-1].startswith("TOTAL,")
    assert (tmp_path / "materials-2020.csv").read_text(encoding="utf-8").startswith("line_id;job_id")
    assert "€14.20" in (tmp_path / "materials-2023.csv").read_text(encoding="utf-8")
    assert ",$" in (tmp_path / "Jobs.csv").read_text(encoding="utf-8").replace('"', "")


def test_the_hill_station_file_is_fixed_width_as_published(tmp_path: Path):
    """GHCN-Daily readme, section III: 269 characters a line; value of day d from column 22 + 8(d - 1); tenths of mm."""
    make(tmp_path)
    lines = (tmp_path / "ZZQ00000002.dly").read_text(encoding="ascii").splitlines()
    assert {len(line) for line in lines} == {269}
    weather = records("weather")
    rows = (weather["station_id"] == "ZZQ00000002") & (weather["observed_on"] == np.datetime64("2025-06-10"))
    june = next(line for line in lines if line.startswith("ZZQ00000002202506PRCP"))
    assert int(june[21 + 8 * 9 : 26 + 8 * 9]) / 254 == pytest.approx(weather["precipitation_in"][rows][0], abs=0.003)


def test_the_maker_imports_numpy_the_standard_library_and_itself_only():
    allowed = set(sys.stdlib_module_names) | {"numpy", "sample_data"}
    for path in FOLDER.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [a.name for a in node.names] if isinstance(node, ast.Import) else []
            assert {name.split(".")[0] for name in names} <= allowed, path.name


def small(kind: str) -> list[dict[str, str]]:
    with (FOLDER / "small" / f"{kind}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize(
    ("job_id", "hours", "labour", "materials", "other"),
    [
        ("01", 20, 600, 1000, 200),
        ("02", 80, 2600, 2000, 300),
        ("03", 10, 300, 500, 0),
    ],
)
def test_the_three_small_jobs_add_up_as_their_readme_says(
    job_id: str, hours: float, labour: float, materials: float, other: float
):
    """An empty hourly cost is the standard, 30 USD."""
    sheet = [row for row in small("labour") if row["job_id"] == job_id]
    assert sum(float(row["hours"]) for row in sheet) == hours
    assert sum(float(row["hours"]) * float(row["hourly_cost"] or 30) for row in sheet) == labour
    bought = [row for row in small("materials") if row["job_id"] == job_id]
    assert sum(float(row["quantity"]) * float(row["unit_cost"]) for row in bought) == materials
    assert sum(float(row["amount"]) for row in small("other_costs") if row["job_id"] == job_id) == other


def test_every_broken_folder_says_what_to_expect():
    folders = sorted(p for p in (FOLDER / "broken").iterdir() if p.is_dir())
    assert len(folders) >= 16
    for folder in folders:
        expected = (folder / "expected.txt").read_text(encoding="utf-8").splitlines()
        assert expected[0] in ("exit: 0", "exit: 3"), folder.name
        assert len(list(folder.iterdir())) == 2, folder.name
        counts = (
            {key: int(value) for key, value in (line.split(": ") for line in expected[1:5]) if value.isdigit()}
            if expected[0] == "exit: 0"
            else {}
        )
        assert counts.get("rows") == (sum(counts.values()) - counts["rows"] if counts else None), folder.name
