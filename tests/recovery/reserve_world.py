"""An invented firm for the reserve and crew studies: openings, jobs, rain, and visits whose truth is known.

All numbers are invented. Physics: hazard of each complaint by age, job frailty of variance .25, findings that
raise it, rain that brings leaks, wet years, customer-caused and double reports, costs that are known late.
"""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl

COMPLAINTS = ("leak", "fit", "drainage", "finish", "other")
DAY_0 = dt.date(2020, 1, 1)
FIRST_VISITS_2_YEARS = np.array([0.035, 0.026, 0.012, 0.018, 0.010])
MEAN_COST = np.array([480.0, 290.0, 640.0, 150.0, 210.0])
YEAR_DAYS = 365.25
FAR_DAYS = 5 * 366
STEP_DAYS = 15


@dataclass(frozen=True)
class Physics:
    """How the invented firm behaves; the defaults are the first physics."""

    years: float = 4.0
    age_powers: tuple[float, ...] = (-0.25, -0.45, 0.0, -0.7, -0.2)  # hazard ~ (age + 30 days)^power
    hump_days: float | None = None  # second physics: hazard rises to this age, then falls
    crew_factors: tuple[float, ...] = (1.0, 1.0, 1.0, 1.0)
    crew_shares: tuple[float, ...] | None = None  # of the jobs; None = all alike
    wet_year_sd: float = 0.2
    inflation: float = 0.0
    log_sd: float = 0.75
    heavy_tail: bool = False
    fix_fails: float = 0.08
    warranties: tuple[tuple[int, float], ...] = ((24, 0.6), (36, 0.2), (60, 0.2))
    wall_factors: tuple[float, ...] = (1.0, 1.2, 1.4, 1.9, 0.8)


@dataclass
class World:
    """Frames as the product wants them, the expected cost to come, and what really came.

    learned_cost: what somebody would reserve who knows every opening's true risk, the weather and the cost of each
    complaint, and learns from the visits seen only how high the firm's level and its costs are
    """

    openings: pl.DataFrame
    visits: pl.DataFrame
    as_of: dt.date
    expected_cost: float
    learned_cost: float
    realised_cost: float
    expected_visits: float
    realised_visits: int
    first_events: int


def make_world(seed, openings, physics=Physics()):
    """One firm: `openings` openings set over the years, all visits until the last warranty ends."""
    rng = np.random.default_rng(seed)
    jobs = _jobs(rng, openings, physics)
    rain, long_run = _rain(rng, physics)
    risk = _risk(rng, jobs, physics)
    events = _events(rng, jobs, risk, rain, physics)
    visits = _recorded(rng, jobs, events, physics)
    as_of_day = int(physics.years * YEAR_DAYS)
    cost, due = _expected(jobs, risk, long_run, as_of_day, physics)
    learned = cost * _learned(jobs, risk, rain, visits, as_of_day, physics)
    return _world(jobs, visits, as_of_day, (cost, learned, due))


def _jobs(rng, count, physics):
    sizes = rng.choice([1, 2, 3, 4], count, p=[0.64, 0.23, 0.09, 0.04])
    job = np.repeat(np.arange(count), sizes)[:count]
    n_jobs = job.max() + 1
    months, shares = zip(*physics.warranties, strict=True)
    return {
        "job": job,
        "completed": np.floor(rng.uniform(0, physics.years * YEAR_DAYS, n_jobs))[job],
        "crew": rng.choice(len(physics.crew_factors), n_jobs, p=physics.crew_shares)[job],
        "months": rng.choice(months, n_jobs, p=shares)[job],
        "wall": rng.choice(5, count, p=[0.55, 0.28, 0.08, 0.06, 0.03]),
        "soil": rng.choice(4, count, p=[0.2, 0.35, 0.33, 0.12]),
        "drain": rng.choice(4, count, p=[0.2, 0.4, 0.25, 0.15]),
        "depth_in": rng.normal(50, 9, count),
        "frailty": rng.gamma(4, 0.25, n_jobs)[job],
    }


def _risk(rng, jobs, physics):
    """Hazard factor per opening and complaint, mean about one; findings 1.5–4 times as bad."""
    n = len(jobs["job"])
    factor = np.ones((n, 5))
    for cause in range(3):
        for ratio, share in ((3.5, 0.06), (2.5, 0.1), (1.7, 0.2)):
            has = rng.random(n) < share
            factor[:, cause] *= np.where(has, ratio, 1.0) / (1 + share * (ratio - 1))
    walls = np.array(physics.wall_factors)
    factor *= (walls / (walls @ [0.55, 0.28, 0.08, 0.06, 0.03]))[jobs["wall"], None]
    return factor * np.array(physics.crew_factors)[jobs["crew"], None] * jobs["frailty"][:, None]


def _rain(rng, physics):
    """Leak factor of each day: this firm's weather, and the long run by day of the year."""
    days = int(physics.years * YEAR_DAYS) + FAR_DAYS
    this = _wet_factor(rng, days, physics.wet_year_sd)
    many = _wet_factor(np.random.default_rng(7), 300 * 365, physics.wet_year_sd).reshape(300, 365).mean(axis=0)
    scale = many.mean()
    long_run = np.resize(np.convolve(np.r_[many[-15:], many, many[:15]], np.ones(31) / 31, "valid"), days)
    return this / scale, long_run / scale


def _wet_factor(rng, days, wet_year_sd):
    day = np.arange(days)
    wetness = rng.lognormal(-(wet_year_sd**2) / 2, wet_year_sd, days // 365 + 2)[day // 365]
    season = 1 + 0.35 * np.sin(2 * np.pi * (day - 60) / 365)
    wet = rng.random(days) < 0.30
    inches = np.where(wet, rng.gamma(0.8, 0.42, days), 0) * wetness * season
    worst = np.maximum(inches, np.maximum(np.roll(inches, 1), np.roll(inches, 2)))
    return np.array([1.0, 2.0, 5.0, 10.0])[np.searchsorted([0.35, 0.75, 1.5], worst)]


def _shape(age_days, cause, physics):
    """Cumulative hazard by age, 1 at two years."""
    grid = np.arange(0, FAR_DAYS + 1.0)
    if physics.hump_days:
        hazard = (grid + 20) / physics.hump_days * np.exp(-grid / physics.hump_days) + 0.15
    else:
        hazard = (grid + 30) ** physics.age_powers[cause]
    total = np.concatenate([[0], np.cumsum(hazard)])[:-1]
    return np.interp(age_days, grid, total / total[730])


def _events(rng, jobs, risk, rain, physics):
    """Opening, cause and day of every visit until 4 years of age, by thinning; then fixes that fail."""
    parts = []
    for cause in range(5):
        factor = rain if cause in (0, 2) else np.ones_like(rain)
        top = factor.max()
        far = float(_shape(np.array([FAR_DAYS - 5.0]), cause, physics)[0])
        number = rng.poisson(FIRST_VISITS_2_YEARS[cause] * risk[:, cause] * far * top)
        opening = np.repeat(np.arange(len(number)), number)
        grid = np.arange(0, FAR_DAYS - 4.0)
        age = np.interp(rng.uniform(0, far, len(opening)), _shape(grid, cause, physics), grid)
        day = np.floor(jobs["completed"][opening] + age).astype(int)
        kept = (day < len(rain)) & (rng.random(len(day)) < factor[np.minimum(day, len(rain) - 1)] / top)
        parts.append(np.column_stack([opening[kept], np.full(kept.sum(), cause), day[kept]]))
    events = np.concatenate(parts)
    again = events[rng.random(len(events)) < physics.fix_fails].copy()
    again[:, 2] += 20 + rng.exponential(60, len(again)).astype(int)
    return np.concatenate([events, again])


def _recorded(rng, jobs, events, physics):
    """Visits with cost, closing day and whose fault; customers' own faults come on top and are found late."""
    n_foreign = rng.binomial(len(events), 0.11)
    foreign = events[rng.choice(len(events), n_foreign)].copy() if len(events) else events[:0]
    foreign[:, 2] += rng.integers(30, 400, len(foreign))
    everything = np.concatenate([events, foreign])
    opening, cause, day = everything.T
    age = day - jobs["completed"][opening]
    inside = age <= jobs["months"][opening] * 30.4375
    n = len(everything)
    ours = np.arange(n) < len(events)
    kept = inside | (rng.random(n) < 0.4)
    log_cost = rng.normal(-(physics.log_sd**2) / 2, physics.log_sd, n)
    cost = MEAN_COST[cause] * np.exp(log_cost) * (1 + physics.inflation) ** (day / YEAR_DAYS - physics.years)
    if physics.heavy_tail:
        cost = np.where(rng.random(n) < 0.03, cost * 6, cost * 0.87)
    back = np.where(rng.random(n) < 0.08, rng.uniform(0.3, 1.0, n), 0.0)
    closed = day + 5 + rng.exponential(18, n).astype(int)
    filed = np.where(rng.random(n) < 0.04, rng.integers(0, 5, n), cause)
    return {
        "opening": opening[kept],
        "cause": filed[kept],
        "day": day[kept],
        "closed": closed[kept],
        "gross": cost[kept],
        "recovered": (cost * back)[kept],
        "ours": ours[kept],
        "inside": inside[kept],
    }


def _visits_due(jobs, risk, rain, span, physics):
    """Expected visits between two days given every opening's true risk: one row per 15 days, one column per cause."""
    edges = np.arange(*span, STEP_DAYS)
    weather = rain[np.maximum(edges[:-1, None] + np.arange(STEP_DAYS), 0)].mean(axis=1)
    ends = jobs["completed"] + jobs["months"] * 30.4375
    ages = np.clip(np.minimum(edges[:, None], ends) - jobs["completed"], 0, FAR_DAYS - 5)
    due = np.empty((len(edges) - 1, 5))
    for cause in range(5):
        grown = np.diff(_shape(ages, cause, physics), axis=0) @ risk[:, cause]
        due[:, cause] = grown * FIRST_VISITS_2_YEARS[cause] * (weather if cause in (0, 2) else 1.0)
    return due * (1 + physics.fix_fails)


def _expected(jobs, risk, long_run, as_of_day, physics):
    """Expected visits and net cost to come given every opening's true risk and ordinary weather."""
    span = (as_of_day, len(long_run) - STEP_DAYS)
    due = _visits_due(jobs, risk, long_run, span, physics)
    middle = as_of_day + STEP_DAYS * (np.arange(len(due)) + 0.5)
    return float((due * _cost_on(middle, physics)).sum()), float(due.sum())


def _cost_on(days, physics):
    """Mean net cost of a visit of each cause at the prices of each day: days x causes. [USD]"""
    prices = (1 + physics.inflation) ** (days / YEAR_DAYS - physics.years)
    return prices[:, None] * MEAN_COST * _mean_factor(physics)


def _learned(jobs, risk, rain, visits, as_of_day, physics):
    """Level and cost against the truth, as the visits up to the day show them: their product."""
    known = visits["ours"] & visits["inside"] & (visits["day"] <= as_of_day)
    due = _visits_due(jobs, risk, rain, (as_of_day % STEP_DAYS - STEP_DAYS, as_of_day + 1), physics).sum()
    costed = known & (visits["closed"] <= as_of_day)
    if not costed.any():
        return 0.0
    usual = _cost_on(visits["day"][costed], physics)[np.arange(costed.sum()), visits["cause"][costed]]
    paid = (visits["gross"] - visits["recovered"])[costed].sum()
    return float(known.sum() / due * paid / usual.sum())


def _mean_factor(physics):
    """Net cost over listed mean cost: 8 % of visits get back 65 % on average; the heavy tail where it is on."""
    tail = 0.03 * 6 + 0.97 * 0.87 if physics.heavy_tail else 1.0
    return tail * (1 - 0.08 * 0.65)


def _world(jobs, visits, as_of_day, expected):
    as_of = DAY_0 + dt.timedelta(days=as_of_day)
    openings = pl.DataFrame(
        {
            "opening_id": [f"O{i}" for i in range(len(jobs["job"]))],
            "job_id": [f"J{j}" for j in jobs["job"]],
            "crew": [f"crew {c}" for c in jobs["crew"]],
            "wall_type": [f"wall {w}" for w in jobs["wall"]],
            "soil": [f"soil {s}" for s in jobs["soil"]],
            "drain": [f"drain {d}" for d in jobs["drain"]],
            "weather_station": ["station"] * len(jobs["job"]),
            "depth_below_grade_in": jobs["depth_in"],
            "completed_on": [DAY_0 + dt.timedelta(days=int(d)) for d in jobs["completed"]],
            "months_of_warranty": jobs["months"].astype(float),
        }
    )
    known = visits["day"] <= as_of_day
    settled = visits["closed"] <= as_of_day
    frame = pl.DataFrame(
        {
            "opening_id": [f"O{i}" for i in visits["opening"]],
            "complaint": [COMPLAINTS[c] for c in visits["cause"]],
            "reported_on": [DAY_0 + dt.timedelta(days=int(d)) for d in visits["day"]],
            "costed_on": [
                DAY_0 + dt.timedelta(days=int(day)) if known else None
                for day, known in zip(visits["closed"], settled, strict=True)
            ],
            "gross_cost": np.where(settled, visits["gross"], np.nan),
            "recovered": np.where(settled, visits["recovered"], 0.0),
            "settled": settled,
            "counts": visits["ours"] | ~settled,
        }
    ).filter(pl.Series(known))
    later = ~known & visits["ours"] & visits["inside"] & (jobs["completed"][visits["opening"]] <= as_of_day)
    seen = known & visits["ours"] & visits["inside"] & (visits["cause"] < 3)
    first = len(set(zip(visits["opening"][seen].tolist(), visits["cause"][seen].tolist(), strict=True)))
    realised = float((visits["gross"] - visits["recovered"])[later].sum())
    cost, learned, due = expected
    return World(openings, frame, as_of, cost, learned, realised, due, int(later.sum()), first)
