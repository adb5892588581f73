"""The callbacks: first and repeated visits drawn from the planted hazards."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns, number_ids, stack, take
from sample_data.hours import standard_wage
from sample_data.truth import (
    AFTER_WARRANTY_REPORTED,
    CREW_FIT,
    CREW_LEAK,
    CREWS,
    CUSTOMER_CAUSED_SHARE,
    DAYS,
    EARLY_FACTORS,
    FIRST_DAY,
    FIRST_EVENTS_PER_1000,
    FRAILTY_VARIANCE,
    HAZARD_RATIOS,
    LAST_DAY,
    REPORTED_TWICE_SHARE,
    WALL_HAZARD,
    WARRANTY_DAYS,
    WRONG_COMPLAINT_SHARE,
)

COMPLAINTS = tuple(HAZARD_RATIOS)
VISITS_AT_MOST = 4
NOT_YET_COSTED_DAYS = 40
NET_COST = {"leak": (5.9, 0.55), "fit": (5.4, 0.5), "drainage": (6.1, 0.6), "finish": (4.5, 0.5), "other": (4.7, 0.6)}
CAUSES = {"leak": ("seal broken", "wall was damp when the frame was set", "gap behind the frame", "no break found"),
          "fit": ("frame bowed inward at the anchors", "frame out of square", "reveal uneven", "strap pulled tight"),
          "drainage": ("drain clogged", "silt in the gravel", "no drain in clay"),
          "finish": ("foam missing at the head", "trim split"), "other": ("lock replaced", "screen bent")}
CUSTOMER_CAUSES = ("customer: sprinkler aimed at the well", "homeowner left the sash open", "tenant broke the latch",
                   "customer: gutter runs over into the well")
WORK_DONE = {"leak": "frame resealed", "fit": "anchors eased and frame reset", "drainage": "drain cleared",
             "finish": "foamed and trimmed", "other": "part replaced"}


def hazards(complaint: str, opening: Columns, crew: Array) -> Array:
    """Hazard of each opening, given its findings, against a clean one on poured concrete."""
    ratio = np.array(WALL_HAZARD[complaint])[opening["wall"]]
    own = {"leak": CREW_LEAK, "fit": CREW_FIT}.get(complaint, (1.0,) * len(CREWS))
    ratio = ratio * np.concatenate([own, np.ones(max(crew.max() + 1 - len(CREWS), 0))])[crew]
    for finding, factor in HAZARD_RATIOS[complaint].items():
        ratio = ratio * np.where(opening[finding], factor, 1.0)
    return np.asarray(ratio)


def _age_clock() -> tuple[Array, Array]:
    """Age in days, and the days of ordinary risk passed by then."""
    age = np.arange(DAYS + 1)
    starts = [start for start, _ in EARLY_FACTORS]
    factor = np.array([f for _, f in EARLY_FACTORS])[np.searchsorted(starts, age, side="right") - 1]
    return age, np.concatenate([[0.0], np.cumsum(factor)[:-1]])


def _next_day(rng: np.random.Generator, risk: Columns, now: Array, clock: Array | None) -> Array:
    """Day number of the next event after `now`; DAYS when none comes in the scenario."""
    start, wait = risk["start"], rng.exponential(1.0, now.size) / np.maximum(risk["daily"], 1e-12)
    if clock is None:
        age, passed = _age_clock()
        at = np.interp(now - start, age, passed) + wait
        return np.asarray(np.ceil(start + np.interp(at, passed, age, right=DAYS)).astype(int))
    day = np.full(now.size, DAYS)
    for which in (0, 1):
        rows = risk["station"] == which
        day[rows] = np.searchsorted(clock[which], clock[which][now[rows]] + wait[rows])
    return day


def complaint_events(rng: np.random.Generator, complaint: str, risk: Columns, clock: Array | None) -> Columns:
    """Rows (opening, complaint, day) of one complaint; `risk` holds start, ratio, frailty, station."""
    start = risk["start"]
    exposure = np.minimum(DAYS - start, WARRANTY_DAYS)
    wanted = FIRST_EVENTS_PER_1000[complaint] * start.size / 1000
    daily = risk["ratio"] * risk["frailty"] * wanted / (risk["ratio"] * exposure).sum()
    risk = risk | {"daily": daily}
    now, parts = start.copy(), []
    for _ in range(VISITS_AT_MOST):
        day = _next_day(rng, risk, np.minimum(now, DAYS - 1), clock)
        told = (day - start <= WARRANTY_DAYS) | (rng.random(day.size) < AFTER_WARRANTY_REPORTED)
        rows = np.flatnonzero((day < DAYS) & (day > start) & told)
        parts.append({"opening": risk["opening"][rows], "day": day[rows]})
        now = day
    events = stack(parts)
    return events | {"complaint": np.full(events["day"].size, COMPLAINTS.index(complaint))}


def all_events(rng: np.random.Generator, jobs: Columns, opening: Columns, clock: Array) -> Columns:
    """Every event of every complaint in order of its day, from openings with their findings.

    Openings of open jobs are not at risk.
    """
    frailty = rng.gamma(1 / FRAILTY_VARIANCE, FRAILTY_VARIANCE, jobs["crew"].size)
    done = jobs["completed"][opening["job"]]
    rows = np.flatnonzero(~np.isnat(done) & (done < LAST_DAY))
    job = opening["job"][rows]
    base = {"opening": rows, "start": (done[rows] - FIRST_DAY).astype(int), "frailty": frailty[job],
            "station": jobs["station"][job]}
    parts = []
    for complaint in COMPLAINTS:
        ratio = hazards(complaint, take(opening, rows), jobs["crew"][job])
        wet = clock if complaint == "leak" else None
        parts.append(complaint_events(rng, complaint, base | {"ratio": ratio}, wet))
    events = stack(parts)
    events["crew"] = jobs["crew"][opening["job"][events["opening"]]]
    return take(events, np.argsort(events["day"], kind="stable"))


def _causes(rng: np.random.Generator, complaint: Array) -> Array:
    cause = np.full(complaint.size, "", dtype="U60")
    for number, name in enumerate(COMPLAINTS):
        rows = np.flatnonzero(complaint == number)
        cause[rows] = rng.choice(CAUSES[name], rows.size)
    cause[rng.random(cause.size) < 0.3] = ""
    customer = np.flatnonzero(rng.random(cause.size) < CUSTOMER_CAUSED_SHARE)
    cause[customer] = rng.choice(CUSTOMER_CAUSES, customer.size)
    return cause


def _costs(rng: np.random.Generator, complaint: Array, day: Array) -> Columns:
    count = complaint.size
    middle, spread = np.array([NET_COST[c] for c in COMPLAINTS])[complaint].T
    total = np.exp(middle + spread * rng.normal(size=count))
    wage = standard_wage(FIRST_DAY + day)
    hours = np.maximum(np.round(0.65 * total / wage * 4) / 4, 0.5)
    no_cost = rng.random(count) < 0.15
    recovered = np.where((complaint == 1) & (rng.random(count) < 0.12), np.round(0.3 * total, 2), np.nan)
    return {"labour_hours": hours, "labour_cost": np.where(no_cost, np.nan, np.round(hours * wage, 2)),
            "material_cost": np.round(0.35 * total, 2), "recovered": recovered}


def callback_records(rng: np.random.Generator, events: Columns, ids: Columns) -> Columns:
    """The callbacks kind: visits, costs, misfiled complaints, some reported twice, the newest not costed yet."""
    count = events["day"].size
    reported = FIRST_DAY + events["day"]
    visited = reported + rng.integers(1, 12, count)
    filed = np.where(rng.random(count) < WRONG_COMPLAINT_SHARE, rng.integers(0, 5, count), events["complaint"])
    crew = np.where(rng.random(count) < 0.7, events["crew"], rng.integers(0, ids["crew"].size, count))
    fixed = np.where(rng.random(count) < 0.88, "yes", "no")
    record = {"callback_id": number_ids("CB", count), "opening_id": ids["opening"][events["opening"]],
              "reported_on": reported, "complaint": np.array(COMPLAINTS)[filed],
              "cause_found": _causes(rng, events["complaint"]), "visited_on": visited,
              "visited_by_crew": ids["crew"][crew],
              "work_done": np.array([WORK_DONE[c] for c in COMPLAINTS])[events["complaint"]],
              "fixed": fixed, "closed_on": visited + rng.integers(0, 6, count)}
    record |= _costs(rng, events["complaint"], events["day"])
    record |= {"duplicate_of": np.full(count, "", dtype="U12"), "warranty": np.full(count, "", dtype="U3")}
    return _not_yet_known(_reported_twice(rng, record))


def _reported_twice(rng: np.random.Generator, record: Columns) -> Columns:
    count = record["callback_id"].size
    again = take(record, np.flatnonzero(rng.random(count) < REPORTED_TWICE_SHARE))
    marked = rng.random(again["callback_id"].size) < 0.5
    again["duplicate_of"] = np.where(marked, again["callback_id"], "").astype("U12")
    again["reported_on"] = np.minimum(again["reported_on"] + rng.integers(0, 9, marked.size), LAST_DAY)
    again["visited_on"] = np.maximum(again["visited_on"], again["reported_on"])
    again["closed_on"] = np.maximum(again["closed_on"], again["visited_on"])
    again["callback_id"] = np.char.add(again["callback_id"], "B")
    both = stack([record, again])
    return take(both, np.argsort(both["reported_on"], kind="stable"))


def _not_yet_known(record: Columns) -> Columns:
    """Blank what the last day of the records cannot know: later visits, and costs not filled in yet."""
    not_visited = record["visited_on"] > LAST_DAY
    not_costed = not_visited | (record["reported_on"] > LAST_DAY - NOT_YET_COSTED_DAYS)
    for name in ("cause_found", "visited_by_crew", "work_done", "fixed"):
        record[name] = np.where(not_visited, "", record[name])
    record["visited_on"] = np.where(not_visited, np.datetime64("NaT"), record["visited_on"])
    open_still = not_visited | (record["closed_on"] > LAST_DAY)
    record["closed_on"] = np.where(open_still, np.datetime64("NaT"), record["closed_on"])
    for name in ("labour_hours", "labour_cost", "material_cost", "recovered"):
        record[name] = np.where(not_costed, np.nan, record[name])
    return record
