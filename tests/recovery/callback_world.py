"""An invented firm whose callbacks obey planted truths: known-answer data for the callback methods.

Everything here is made up. Two-year callback probability of 4 to 9 %, twelve true pattern-cause pairs with hazard
ratios of 1.5 to 4, nulls that follow crews and walls, proxies, noise, cards with gaps (more of them on bad days and
from bad crews), wrong complaints, callers' own faults, double reports, rain and frailty.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

START = np.datetime64("2016-01-01")
DAYS = 6 * 365
AS_OF = START + DAYS
WARRANTY_MONTHS = 24
WALLS = ["poured_concrete", "concrete_block", "brick", "stone", "wood_foundation"]
AGE_EDGES = np.array([0, 90, 180, 365, 730, 1200, 4000])
AGE_SHAPE = np.array([1.6, 1.2, 1.0, 0.8, 0.7, 0.6])
EVENTS_PER_OPENING = 0.062
SHARE = {"leak": 0.45, "fit": 0.35, "drainage": 0.20, "finish": 0.08, "other": 0.04}
PAIRS = [
    ("gasket_gap", "leak"), ("squeeze_out_short", "leak"), ("high_spots_left", "leak"), ("set_wet", "leak"),
    ("set_cold", "leak"), ("over_torque", "fit"), ("reveal_uneven", "fit"), ("out_of_plumb", "fit"),
    ("head_open", "fit"), ("gravel_only_in_tight_soil", "drainage"), ("drain_slow", "drainage"),
    ("deep_dig", "drainage"),
]  # fmt: skip
RATIOS = [1.5, 1.6, 1.8, 2.0, 2.0, 2.2, 2.5, 2.5, 2.8, 3.5, 4.0]
TORQUE_RATIO = 3.0
Array = NDArray[np.float64]


@dataclass(frozen=True)
class World:
    """Records as the book would hand them out, and the truth behind them."""

    jobs: pl.DataFrame
    facts: pl.DataFrame
    callbacks: pl.DataFrame
    torque_limit_lbft: float
    ratios: dict[tuple[str, str], float]
    yearly_rate: dict[str, Array]
    two_years: dict[str, Array]

    @property
    def limits(self) -> dict[str, tuple[float | None, float | None]]:
        return {"anchor_torque_max_lbft": (None, self.torque_limit_lbft)}


def make_world(openings: int, seed: int, *, null: bool = False) -> World:
    """Draw a firm. null: every hazard ratio is 1, all else alike."""
    rng = np.random.default_rng([seed, openings, 7])
    weather = _weather(rng)
    jobs = _jobs(rng, openings)
    limit = float(rng.choice([36.0, 38.0, 40.0, 42.0]))
    truth = _readings(rng, jobs, weather, limit)
    others = [pair for pair in PAIRS if pair[0] != "over_torque"]
    ratios = dict(zip(others, rng.permutation(RATIOS).tolist(), strict=True))
    ratios["over_torque", "fit"] = TORQUE_RATIO  # the threshold's step; the rest are dealt out anew for every firm
    if null:
        ratios = dict.fromkeys(PAIRS, 1.0)
    risk = _risk(rng, jobs, truth, ratios)
    callbacks = _callbacks(rng, jobs, risk, weather)
    two = AGE_SHAPE[:4] @ (np.diff(AGE_EDGES)[:4] / 365.25)
    yearly = {cause: rate for cause, (rate, _) in risk.items()}
    return World(
        _job_frame(jobs), _fact_frame(rng, jobs, truth), callbacks, limit, ratios, yearly,
        {cause: 1 - np.exp(-rate * two) for cause, rate in yearly.items()},
    )  # fmt: skip


def _weather(rng: np.random.Generator) -> dict[str, Array]:
    days = np.arange(DAYS)
    season = -np.cos(2 * np.pi * (days - 15) / 365.25)
    level = 52 + 24 * season + np.convolve(rng.normal(0, 9, DAYS + 4), np.ones(5) / 5, "valid") * 1.6
    wet = rng.random(DAYS) < 0.28 + 0.06 * season
    rain = np.where(wet, rng.gamma(0.7, 0.45, DAYS), 0.0).round(2)
    last_three = np.max([np.roll(rain, lag) for lag in range(3)], axis=0)
    pull = np.select([last_three > 1.5, last_three > 0.75, last_three > 0.35], [9.0, 4.0, 2.0], 0.4)
    return {"low": level - 9, "high": level + 9, "rain": rain, "pull": pull / pull.mean()}


def _jobs(rng: np.random.Generator, openings: int) -> dict[str, NDArray]:
    sizes = rng.choice([1, 2, 3, 4], openings, p=[0.64, 0.23, 0.09, 0.04])
    job = np.repeat(np.arange(openings), sizes)[:openings]
    crews = 4 if openings < 2_000 else 8
    per_job = {
        "crew": rng.choice(crews, openings, p=rng.dirichlet(np.full(crews, 8.0))),
        "wall": rng.choice(5, openings, p=[0.55, 0.28, 0.08, 0.06, 0.03]),
        "day": rng.integers(20, DAYS - 5, openings),
        "frailty": rng.gamma(4.0, 0.25, openings),
    }
    sloppy = rng.normal(0, 0.7, crews)
    return {"job": job, **{name: values[job] for name, values in per_job.items()}, "sloppy": sloppy}


def _chance(rng: np.random.Generator, base: float, shift: Array) -> NDArray[np.bool_]:
    odds = base / (1 - base) * np.exp(shift)
    return rng.random(len(shift)) < odds / (1 + odds)


def _readings(rng: np.random.Generator, jobs: dict, weather: dict, limit: float) -> dict[str, NDArray]:
    n, crew, wall, day = len(jobs["job"]), jobs["crew"], jobs["wall"], jobs["day"] - 2
    sloppy = jobs["sloppy"][crew]
    rough_wall = np.isin(wall, [1, 3]).astype(float)
    torque = 34 + 3.0 * sloppy + rng.normal(0, 4.5, n) + (limit - 38)
    cold = 0.5 * (weather["low"][day] + weather["high"][day]) + rng.normal(0, 5, n) + 4
    plumb = rng.gamma(2.0, 0.042, n) * np.exp(0.2 * sloppy)
    soil = rng.choice(4, n, p=[0.25, 0.35, 0.3, 0.1])
    drain = np.where(rng.random(n) < 0.06, 0, rng.choice([1, 2, 3], n, p=[0.5, 0.35, 0.15]))
    reveal = rng.uniform(0.1, 0.25, n)
    return {
        "gap": np.where(_chance(rng, 0.18, 0.6 * sloppy), rng.exponential(1.5, n).round(2) + 0.1, 0.0),
        "squeeze": np.where(_chance(rng, 0.20, 0.4 * sloppy + 0.3 * rough_wall), 1 + (rng.random(n) < 0.3), 0),
        "spots": _chance(rng, 0.16, 0.6 * rough_wall + 0.3 * sloppy),
        "wet": _chance(rng, 0.13, np.where(weather["rain"][day] > 0.1, 1.6, -0.3)),
        "cold": cold,
        "low": weather["low"][day], "high": weather["high"][day], "rain": weather["rain"][day],
        "torque": torque.round(1),
        "least_torque": (torque - rng.gamma(2.0, 2.0, n) - np.maximum(torque - limit, 0)).round(1),
        "bow": (rng.normal(0.02, 0.015, n) + 0.012 * np.maximum(torque - limit + 2, 0)).round(3),
        "plumb": plumb.round(3),
        "diagonal": (0.08 + 0.8 * plumb + rng.gamma(2, 0.03, n)).round(3),
        "reveal": reveal.round(3),
        "reveal_gap": (rng.gamma(1.6, 0.046, n) * np.exp(0.25 * sloppy)).round(3),
        "head": np.where(_chance(rng, 0.14, 0.3 * sloppy), 2, rng.choice(2, n)),
        "foam": _chance(rng, 0.12, 1.2 * sloppy), "grout": _chance(rng, 0.15, 1.2 * rough_wall),
        "anchors": 12 - rng.binomial(4, 0.25, n) - (sloppy > 0.5),
        "soil": soil, "drain": drain,
        "slow": _chance(rng, 0.12, np.where(drain == 1, 0.5, 0.0)),
        "depth": (54 + rng.normal(0, 9, n)).round(1),
        "width": rng.choice([36.0, 48.0, 60.0, 72.0], n, p=[0.2, 0.5, 0.2, 0.1]),
        "well": np.where(np.isin(wall, [2, 3]) & (rng.random(n) < 0.5), 3, rng.choice([1, 2, 4], n, p=[0.6, 0.3, 0.1])),
        "limit": np.full(n, limit),
    }  # fmt: skip


def _present(truth: dict[str, NDArray]) -> dict[str, NDArray[np.bool_]]:
    return {
        "gasket_gap": truth["gap"] > 0, "squeeze_out_short": truth["squeeze"] > 0,
        "high_spots_left": truth["spots"], "set_wet": truth["wet"], "set_cold": truth["cold"] < 40,
        "over_torque": truth["torque"] > truth["limit"], "reveal_uneven": truth["reveal_gap"] > 0.125,
        "out_of_plumb": truth["plumb"] > 0.125, "head_open": truth["head"] == 2,
        "gravel_only_in_tight_soil": (truth["drain"] == 1) & (truth["soil"] >= 2),
        "drain_slow": truth["slow"], "deep_dig": truth["depth"] > 60,
    }  # fmt: skip


def _risk(rng: np.random.Generator, jobs: dict, truth: dict, ratios: dict) -> dict[str, tuple[Array, Array]]:
    """Yearly rate at age shape 1 per cause, without and with the job's frailty."""
    present, out = _present(truth), {}
    exposure = _expected_shape(jobs["day"])
    for cause, share in SHARE.items():
        crew = rng.normal(0, 0.25, 20)[jobs["crew"]]
        wall = rng.normal(0, 0.3, 5)[jobs["wall"]]
        log_rate = crew + wall
        for (pattern, of), ratio in ratios.items():
            log_rate = log_rate + (np.log(ratio) * present[pattern] if of == cause else 0.0)
        relative = np.exp(log_rate)
        scale = EVENTS_PER_OPENING * share * len(relative) / (relative @ exposure)
        out[cause] = (scale * relative, scale * relative * jobs["frailty"])
    return out


def _expected_shape(day: NDArray) -> Array:
    """Age shape times years each opening is watched inside its warranty."""
    watched = np.minimum(DAYS - day, WARRANTY_MONTHS * 30.4375)[:, None]
    years = np.clip(np.minimum(AGE_EDGES[1:], watched) - AGE_EDGES[:-1], 0, None) / 365.25
    return years @ AGE_SHAPE


def _callbacks(rng: np.random.Generator, jobs: dict, risk: dict, weather: dict) -> pl.DataFrame:
    rows = [_visits_of(rng, jobs, cause, rate, weather) for cause, (_, rate) in risk.items()]
    opening, day, complaint = (np.concatenate(parts) for parts in zip(*rows, strict=True))
    wrong = rng.random(len(day)) < 0.04
    complaint = np.where(wrong, rng.choice(["leak", "fit", "drainage"], len(day)), complaint)
    late = day - jobs["day"][opening] > WARRANTY_MONTHS * 30.4375
    keep = ~late | (rng.random(len(day)) < 0.4)
    opening, day, complaint = opening[keep], day[keep], complaint[keep]
    theirs = rng.random(len(day)) < 0.10 / 0.90
    extra = rng.integers(0, len(jobs["day"]), int(theirs.sum()))
    extra_day = jobs["day"][extra] + rng.integers(1, 730, len(extra))
    words = rng.choice(["customer left the window open", "sprinkler aimed at the well"], len(extra))
    twice = np.flatnonzero(rng.random(len(day)) < 0.06)
    all_openings = np.concatenate([opening, extra, opening[twice]])
    all_days = np.concatenate([day, extra_day, day[twice] + rng.integers(1, 11, len(twice))])
    all_complaints = np.concatenate([complaint, rng.choice(["leak", "fit"], len(extra)), complaint[twice]])
    causes = [None] * len(day) + words.tolist() + [None] * len(twice)
    return _callback_frame(rng, all_openings, all_days, all_complaints, causes)


def _visits_of(rng: np.random.Generator, jobs: dict, cause: str, rate: Array, weather: dict) -> tuple:
    """Visits of one cause, repeated ones too; leaks follow the rain."""
    pull = weather["pull"] if cause == "leak" else np.ones(DAYS)
    clock = np.concatenate([[0.0], np.cumsum(pull)])
    found_opening, found_day = [], []
    for b in range(len(AGE_SHAPE)):
        low = np.minimum(jobs["day"] + AGE_EDGES[b], DAYS)
        high = np.minimum(jobs["day"] + AGE_EDGES[b + 1], DAYS)
        count = rng.poisson(rate * AGE_SHAPE[b] * (clock[high] - clock[low]) / 365.25)
        opening = np.repeat(np.arange(len(rate)), count)
        at = rng.uniform(clock[low[opening]], clock[high[opening]])
        found_opening.append(opening)
        found_day.append(np.searchsorted(clock, at, side="right") - 1)
    opening = np.concatenate(found_opening)
    return opening, np.concatenate(found_day), np.full(len(opening), cause)


def _callback_frame(
    rng: np.random.Generator, opening: NDArray, day: NDArray, complaint: NDArray, causes: list
) -> pl.DataFrame:
    count = len(day)
    return pl.DataFrame(
        {
            "callback_id": [f"C{i:06d}" for i in range(count)],
            "opening_id": [f"O{i:06d}" for i in opening],
            "reported_on": START + day.astype(int),
            "complaint": complaint.tolist(),
            "cause_found": causes,
            "labour_cost": np.exp(rng.normal(5.2, 0.6, count)).round(2),
            "material_cost": np.exp(rng.normal(3.8, 0.8, count)).round(2),
            "recovered": np.where(rng.random(count) < 0.05, 60.0, 0.0),
        },
        schema_overrides={"cause_found": pl.String},
    ).filter(pl.col("reported_on") <= AS_OF)


def _job_frame(jobs: dict) -> pl.DataFrame:
    _, first = np.unique(jobs["job"], return_index=True)
    return pl.DataFrame(
        {
            "job_id": [f"J{i:06d}" for i in jobs["job"][first]],
            "crew": [f"crew {chr(65 + i)}" for i in jobs["crew"][first]],
            "completed_on": START + jobs["day"][first].astype(int),
            "warranty_months": pl.Series([WARRANTY_MONTHS] * len(first), dtype=pl.Int64),
        }
    )


def _fact_frame(rng: np.random.Generator, jobs: dict, truth: dict) -> pl.DataFrame:
    n = len(jobs["job"])
    bad = np.mean(list(_present(truth).values()), axis=0)
    sloppy = jobs["sloppy"][jobs["crew"]]
    no_card = _chance(rng, 0.09, 0.5 * sloppy + 2.5 * (bad - bad.mean()))

    def gaps(values: list, wrong: NDArray) -> list:
        blank = no_card | _chance(rng, 0.08, 0.4 * sloppy + 0.4 * wrong)
        return [None if hole else value for hole, value in zip(blank, values, strict=True)]

    present, words = _present(truth), np.array
    none = np.zeros(n)
    setting_day = START + jobs["day"].astype(int) - 2
    return pl.DataFrame(
        {
            "opening_id": [f"O{i:06d}" for i in range(n)],
            "job_id": [f"J{i:06d}" for i in jobs["job"]],
            "wall_type": words(WALLS)[jobs["wall"]].tolist(),
            "rough_width_in": truth["width"], "rough_height_in": np.full(n, 48.0),
            "depth_below_grade_in": truth["depth"],
            "soil": words(["sand_gravel", "loam", "clay", "hardpan"])[truth["soil"]].tolist(),
            "drain": words(["none", "gravel_pit", "footing_drain", "sump"])[truth["drain"]].tolist(),
            "well_type": words(["none", "steel", "composite", "masonry", "timber"])[truth["well"]].tolist(),
            "checked_on": [None if hole else day for hole, day in zip(no_card, setting_day.tolist(), strict=True)],
            "substrate_temp_f": gaps(truth["cold"].round(0).tolist(), present["set_cold"]),
            "substrate_wet": gaps(truth["wet"].tolist(), present["set_wet"]),
            "high_spots_removed": gaps((~truth["spots"]).tolist(), present["high_spots_left"]),
            "gasket_gap_in": gaps(truth["gap"].tolist(), present["gasket_gap"]),
            "squeeze_out": gaps(words(["full", "partial", "none"])[truth["squeeze"]].tolist(), none),
            "anchor_count": gaps(truth["anchors"].astype(float).tolist(), none),
            "anchor_torque_max_lbft": gaps(truth["torque"].tolist(), present["over_torque"]),
            "anchor_torque_min_lbft": gaps(np.maximum(truth["least_torque"], 1).tolist(), none),
            "frame_bow_in": gaps(truth["bow"].tolist(), none),
            "diagonal_difference_in": gaps(truth["diagonal"].tolist(), none),
            "plumb_error_in": gaps(truth["plumb"].tolist(), present["out_of_plumb"]),
            "reveal_min_in": gaps(truth["reveal"].tolist(), none),
            "reveal_max_in": gaps((truth["reveal"] + truth["reveal_gap"]).round(3).tolist(), none),
            "head_bearing": gaps(words(["direct", "shimmed", "open"])[truth["head"]].tolist(), none),
            "foam_complete": gaps((~truth["foam"]).tolist(), none),
            "grout_band": gaps((~truth["grout"]).tolist(), none),
            "drain_flow_ok": gaps((~truth["slow"]).tolist(), present["drain_slow"]),
            "setting_day": setting_day,
            "setting_month": setting_day.astype("datetime64[M]").astype(int) % 12 + 1.0,
            "temp_min_f": truth["low"].round(0), "temp_max_f": truth["high"].round(0),
            "precipitation_in": truth["rain"],
        }
    )  # fmt: skip


def counted_visits(world: World) -> pl.DataFrame:
    """The world's callbacks through the book's own list of callbacks that count."""
    from tests.recovery.visits_in_memory import visits_of

    return visits_of(world.jobs, world.facts, world.callbacks, as_of=AS_OF.astype(object))
