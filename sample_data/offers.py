"""What was quoted, what was won, and the costs beside labour and materials."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns, number_ids, stack, take
from sample_data.hours import standard_wage
from sample_data.purchases import price_index
from sample_data.truth import (
    BRANCHES,
    FIRST_DAY,
    HAGGLED,
    LAST_DAY,
    NEW_SAW_FACTOR,
    OVERHEAD,
    PHASES,
    QUOTE_BIAS,
    QUOTE_MARGIN,
    QUOTE_NOISE,
    SAW_IN_QUOTES_FROM,
)
from sample_data.weather import all_days, year_of
from sample_data.work import in_bad_month

PERMIT_USD, MACHINE_DAY_USD, TIP_USD, ENGINEER_USD, HILL_TRAVEL_USD = 110.0, 265.0, 85.0, 425.0, 35.0
PUMP_HIRE_USD, SAW_HIRE_USD = 450.0, 400.0
PRICE_NOISE = 0.06
LOST_PER_WON = 0.55
OPEN_QUOTES_PER_1000 = 14
CHANGE_ORDER_SHARE = 0.08


def overhead_rate(days: Array) -> Array:
    """The firm's overhead per labour hour on a date. [USD/h]"""
    by_year = np.array([OVERHEAD[y] for y in range(2018, 2027)])
    return np.asarray(by_year[(year_of(days) - 2018).clip(0, 8)])


def other_costs(rng: np.random.Generator, jobs: Columns, opening: Columns) -> Columns:
    """Rows (job, category, amount, planned): permits, hire, tip, engineer, travel; pumps in the bad month."""
    count = jobs["crew"].size
    level = price_index(all_days()[jobs["wished"]])
    cuts = np.bincount(opening["job"], weights=opening["work"] != 2, minlength=count)
    wider = (opening["work"] == 0) & (opening["width"] > 46) & np.isin(opening["wall"], (1, 2, 3))
    wider_in_job = np.bincount(opening["job"], weights=wider, minlength=count)
    machine = np.bincount(opening["job"], weights=opening["dig"] == 1, minlength=count)
    bad = in_bad_month(jobs["wished"])
    plan = [("permit", cuts > 0, PERMIT_USD, True), ("equipment", machine > 0, MACHINE_DAY_USD, True),
            ("disposal", cuts > 0, TIP_USD, True), ("subcontract", wider_in_job > 0, ENGINEER_USD, True),
            ("travel", jobs["station"] == 1, HILL_TRAVEL_USD, True),
            ("equipment", bad, PUMP_HIRE_USD, False), ("equipment", bad & (cuts > 0), SAW_HIRE_USD, False),
            ("other", rng.random(count) < 0.05, 90.0, False)]
    parts = []
    for category, where, usd, planned in plan:
        job = np.flatnonzero(where)
        amount = usd * level[job] * np.exp(rng.normal(0, 0.12, job.size))
        parts.append({"job": job, "category": np.full(job.size, category, dtype="U12"), "amount": amount,
                      "planned": np.full(job.size, planned)})
    return stack(parts)


def quote_jobs(rng: np.random.Generator, jobs: Columns, opening: Columns, costs: dict[str, Columns]) -> None:
    """Add quoted day, hours, cost and contract price to the jobs, in place; `opening` holds its expected hours."""
    count = jobs["crew"].size
    jobs["quoted"] = jobs["started"] - rng.integers(14, 60, count)
    saw = np.where(jobs["quoted"] >= SAW_IN_QUOTES_FROM, NEW_SAW_FACTOR, 1.0)[opening["job"]]
    hours = opening["expected"].copy()
    hours[:, PHASES.index("wall_cutting")] *= saw
    seen = hours.sum(axis=1) * np.array(QUOTE_BIAS)[opening["wall"]]
    total = np.bincount(opening["job"], weights=seen, minlength=count) * np.exp(rng.normal(0, QUOTE_NOISE, count))
    jobs["quoted_hours"] = np.round(total * 2) / 2
    lines, other = costs["materials"], costs["other"]
    at_list = lines["expected"] * lines["price"] * price_index(jobs["quoted"])[lines["job"]]
    material = np.bincount(lines["job"], weights=at_list, minlength=count)
    planned = np.bincount(other["job"], weights=other["amount"] * other["planned"], minlength=count)
    rate = standard_wage(jobs["quoted"]) + overhead_rate(jobs["quoted"])
    jobs["quoted_cost"] = np.round(jobs["quoted_hours"] * rate + material + planned, 2)
    jobs["ask"] = jobs["quoted_cost"] / (1 - QUOTE_MARGIN) * np.exp(rng.normal(-HAGGLED, PRICE_NOISE, count))
    jobs["price"] = np.round(jobs["ask"], -1)


def change_orders(rng: np.random.Generator, jobs: Columns) -> Columns:
    """Added price, hours and cost of the few jobs that changed; not recorded for the others."""
    count = jobs["crew"].size
    changed = rng.random(count) < CHANGE_ORDER_SHARE
    cost = np.round(rng.uniform(150, 700, count), 0)
    return {"change_orders": np.where(changed, np.round(cost * rng.uniform(1.2, 1.9, count), -1), np.nan),
            "change_order_hours": np.where(changed, np.round(cost / 130), np.nan),
            "change_order_cost": np.where(changed, cost, np.nan)}


def quote_records(rng: np.random.Generator, jobs: Columns, ids: Columns) -> Columns:
    """The quotes kind: every job's own quote, the lost ones (dearer for their size), and a few still open."""
    won = _quotes(jobs, np.arange(jobs["crew"].size), ids)
    won["outcome"] = np.full(won["price"].size, "won", dtype="U4")
    won["decided_on"] = won["quoted_on"] + rng.integers(1, 12, won["price"].size)
    like = rng.choice(jobs["crew"].size, round(LOST_PER_WON * jobs["crew"].size))
    lost = _others(rng, _quotes(jobs, like, ids), "lost", 1.10)
    shift = rng.integers(-300, 300, like.size)
    lost["quoted_on"] = np.clip(lost["quoted_on"] + shift, FIRST_DAY, LAST_DAY - 25)
    lost["decided_on"] = lost["quoted_on"] + rng.integers(3, 25, like.size)
    few = rng.choice(jobs["crew"].size, max(round(OPEN_QUOTES_PER_1000 * jobs["crew"].size / 1000), 1))
    waiting = _others(rng, _quotes(jobs, few, ids), "open", 1.03)
    waiting["quoted_on"] = LAST_DAY - rng.integers(0, 30, few.size)
    waiting["decided_on"] = np.full(few.size, np.datetime64("NaT", "D"))
    every = stack([won, lost, waiting])
    every = take(every, np.argsort(every["quoted_on"], kind="stable"))
    return {"quote_id": number_ids("Q", every["price"].size)} | every


def _quotes(jobs: Columns, rows: Array, ids: Columns) -> Columns:
    return {"quoted_on": jobs["quoted"][rows], "branch": ids["branch"][jobs["branch"][rows]],
            "job_id": ids["job"][rows], "openings": jobs["openings"][rows],
            "predicted_hours": jobs["quoted_hours"][rows], "quoted_cost": jobs["quoted_cost"][rows],
            "price": jobs["price"][rows]}


def _others(rng: np.random.Generator, quotes: Columns, outcome: str, dearer: float) -> Columns:
    """Quotes like the given ones that did not become a job (yet)."""
    count = quotes["price"].size
    size = np.exp(rng.normal(0, 0.15, count))
    quotes["job_id"] = np.full(count, "", dtype=quotes["job_id"].dtype)
    quotes["predicted_hours"] = np.round(quotes["predicted_hours"] * size * 2) / 2
    quotes["quoted_cost"] = np.round(quotes["quoted_cost"] * size, 2)
    quotes["price"] = np.round(quotes["price"] * size * dearer * np.exp(rng.normal(0, 0.06, count)), -1)
    quotes["outcome"] = np.full(count, outcome, dtype="U4")
    return quotes


def branch_names(count: int) -> Array:
    """The two branches of the scenario, and numbered ones for a larger firm."""
    more = [f"branch {i + 1:03d}" for i in range(len(BRANCHES), count)]
    return np.array([*BRANCHES, *more])
