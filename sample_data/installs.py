"""What was found at each install, and the check cards on which some of it was written down."""

from __future__ import annotations

import numpy as np

from sample_data.columns import Array, Columns, take
from sample_data.truth import (
    FIRST_DAY,
    HURRIED_CREW,
    OVER_TORQUE_SHARE,
    OVER_TORQUE_SHARE_HURRIED,
    TORQUE_LIMIT_LBFT,
    WET_SHARE,
    WET_SHARE_HURRIED,
)
from sample_data.weather import month_of, recent_rain_in

WET_DAY_IN = 0.1
COLD_F = 40.0
DEEP_IN = 60.0
UNEVEN_IN = 0.125
BOWED_IN = 1 / 16
BOW_IN, BOWS_FROM_LBFT = (0.015, 0.011), 23.0      # bow of a good frame, and per lbft from there
CARD_SHARE, CARD_LESS_HURRIED, CARD_LESS_BAD = 0.92, 0.14, 0.10
READING_MISSING, READING_MISSING_WHEN_BAD = 0.07, 0.10
TIGHT_LBFT = (20.5, 1.8)                           # mean and sd of an ordinary largest torque
OVER_TIGHT_LBFT = (25.3, 6.5)                      # over-tightened: from, and how much further at most


def setting_days(lines: Columns, openings: int) -> Array:
    """The first frame-setting day of each opening; NaT while none has been worked."""
    days = np.full(openings, np.datetime64("NaT", "D"))
    frame = lines["true_frame"]
    order = np.argsort(lines["worked_on"][frame], kind="stable")[::-1]
    days[lines["row"][frame][order]] = lines["worked_on"][frame][order]
    return days


def findings(rng: np.random.Generator, jobs: Columns, opening: Columns, weather: dict[str, Array]) -> Columns:
    """The true readings of every opening, recorded or not; `opening` holds its setting day."""
    set_on = opening["set_on"]
    crew = jobs["crew"][opening["job"]]
    hurried = crew == HURRIED_CREW
    station, day = jobs["station"][opening["job"]], (set_on - FIRST_DAY).astype(int)
    day = np.clip(day, 0, weather["rain_in"].shape[1] - 1)
    sky = {"rain": weather["rain_in"][station, day], "recent": recent_rain_in(weather["rain_in"])[station, day],
           "temp": (weather["temp_min_f"] + weather["temp_max_f"])[station, day] / 2}
    found: Columns = {"crew": crew, "winter": np.isin(month_of(set_on), (12, 1, 2)),
                      "rain_day": sky["rain"] > WET_DAY_IN}
    found |= _wall_and_seal(rng, opening, hurried, sky)
    found |= _torque(rng, opening, hurried)
    found |= _frame(rng, jobs, opening)
    return found | {"head_open": found["head"] == 2, "set_on": set_on}


def _chosen(rng: np.random.Generator, share: Array | float, count: int) -> Array:
    return np.asarray(rng.random(count) < share)


def _wall_and_seal(rng: np.random.Generator, opening: Columns, hurried: Array, sky: Columns) -> Columns:
    count = hurried.size
    weather = np.select([sky["rain"] > WET_DAY_IN, sky["recent"] > WET_DAY_IN], ["rain", "rain_before"], "dry")
    share = np.select([weather == w for w in WET_SHARE],
                      [np.where(hurried, WET_SHARE_HURRIED[w], WET_SHARE[w]) for w in WET_SHARE])
    temp = np.round(sky["temp"] + rng.normal(0, 3, count))
    gap = _chosen(rng, 0.10, count)
    stone = opening["wall"] == 3
    cold = temp < COLD_F
    squeeze_bad = _chosen(rng, 0.06 + 0.40 * gap + 0.12 * cold, count)
    needs_grout = (opening["wall"] == 2) | stone
    return {"wet": _chosen(rng, share, count), "temp_f": temp, "cold": cold, "gasket_gap": gap,
            "gap_in": np.where(gap, rng.integers(1, 25, count) / 4, 0.0),
            "high_spots": _chosen(rng, np.where(stone, 0.20, 0.07), count),
            "partial_squeeze": squeeze_bad, "no_squeeze": squeeze_bad & _chosen(rng, 0.15, count),
            "no_grout": needs_grout & _chosen(rng, 0.25, count), "grout_asked": needs_grout,
            "deep": np.nan_to_num(opening["depth"]) > DEEP_IN}


def _torque(rng: np.random.Generator, opening: Columns, hurried: Array) -> Columns:
    count = hurried.size
    share = np.where(hurried, OVER_TORQUE_SHARE_HURRIED, OVER_TORQUE_SHARE)
    tight = np.minimum(rng.normal(*TIGHT_LBFT, count), TORQUE_LIMIT_LBFT - 0.1)
    over = OVER_TIGHT_LBFT[0] + OVER_TIGHT_LBFT[1] * rng.beta(1.3, 2, count)
    tight = np.where(_chosen(rng, share, count), over, tight)
    largest = np.round(tight * 2) / 2
    bow = BOW_IN[0] + BOW_IN[1] * np.maximum(largest - BOWS_FROM_LBFT, 0) + rng.normal(0, 0.012, count)
    least = np.round(largest * rng.uniform(0.64, 0.97, count) * 2) / 2
    wanted = 2 * np.ceil((opening["width"] + opening["height"]) / 18)
    few = _chosen(rng, 0.05, count)
    return {"torque_max": largest, "torque_min": least, "over_torque": largest > TORQUE_LIMIT_LBFT,
            "bow_in": np.round(bow * 64) / 64, "bowed": bow > BOWED_IN,
            "anchors": (wanted - 2 * few).astype(int), "few_anchors": few}


def _frame(rng: np.random.Generator, jobs: Columns, opening: Columns) -> Columns:
    count = opening["job"].size
    diagonal = np.round(np.abs(rng.normal(0, 0.115, count)) * 32) / 32
    plumb = np.round(np.abs(rng.normal(0, 0.072, count)) * 32) / 32
    uneven = _chosen(rng, 0.08, count)
    spread = np.where(uneven, rng.integers(5, 10, count), rng.integers(0, 5, count)) / 32
    clay = jobs["soil"][opening["job"]] == 2
    well, drained = opening["well"] > 0, opening["drain"] > 0
    return {"diagonal_in": diagonal, "diagonals": diagonal > 0.25, "plumb_in": plumb, "out_of_plumb": plumb > UNEVEN_IN,
            "reveal_min": rng.integers(5, 9, count) / 32, "spread_in": spread, "reveal_uneven": spread > UNEVEN_IN,
            "head": rng.choice(3, count, p=(0.70, 0.24, 0.06)), "no_foam": _chosen(rng, 0.07, count),
            "drain_blocked": drained & _chosen(rng, np.where(clay, 0.12, 0.05), count),
            "clay_no_drain": clay & well & ~drained} | {"drain_asked": drained}


def _yes_no(values: Array) -> Array:
    return np.where(values, "yes", "no")


def _card_columns(found: Columns) -> dict[str, tuple[Array, Array]]:
    """Reading -> (text or number as measured, True where it is a bad one)."""
    squeeze = np.select([found["no_squeeze"], found["partial_squeeze"]], ["none", "partial"], "full")
    nothing = np.zeros(squeeze.size, dtype=bool)
    return {
        "substrate_temp_f": (found["temp_f"], found["cold"]),
        "substrate_wet": (_yes_no(found["wet"]), found["wet"]),
        "high_spots_removed": (_yes_no(~found["high_spots"]), found["high_spots"]),
        "gasket_gap_in": (found["gap_in"], found["gasket_gap"]),
        "squeeze_out": (squeeze, found["partial_squeeze"]),
        "anchor_count": (found["anchors"] + 0.0, found["few_anchors"]),
        "anchor_torque_max_lbft": (found["torque_max"], found["over_torque"]),
        "anchor_torque_min_lbft": (found["torque_min"], nothing),
        "frame_bow_in": (found["bow_in"], found["bowed"]),
        "diagonal_difference_in": (found["diagonal_in"], found["diagonals"]),
        "plumb_error_in": (found["plumb_in"], found["out_of_plumb"]),
        "reveal_min_in": (found["reveal_min"], nothing),
        "reveal_max_in": (found["reveal_min"] + found["spread_in"], found["reveal_uneven"]),
        "head_bearing": (np.array(["direct", "shimmed", "open"])[found["head"]], found["head_open"]),
        "foam_complete": (_yes_no(~found["no_foam"]), found["no_foam"]),
        "grout_band": (np.where(found["grout_asked"], _yes_no(~found["no_grout"]), ""), nothing),
        "drain_flow_ok": (np.where(found["drain_asked"], _yes_no(~found["drain_blocked"]), ""),
                          found["drain_blocked"]),
    }


def card_records(rng: np.random.Generator, found: Columns, ids: Array) -> Columns:
    """The install_checks kind: cards and readings are missing more often when the day went badly."""
    crew, set_on = found["crew"], found["set_on"]
    bad_day = found["wet"] | found["over_torque"] | found["rain_day"]
    share = CARD_SHARE - CARD_LESS_HURRIED * (crew == HURRIED_CREW) - CARD_LESS_BAD * bad_day
    rows = np.flatnonzero(~np.isnat(set_on) & _chosen(rng, share, crew.size))
    fitter = np.array([f"W{c + 1:02d}{'abc'[k]}" for c in range(crew.max() + 1) for k in range(3)])
    installer = fitter[crew * 3 + rng.integers(0, 2, crew.size)]
    card = {"opening_id": ids, "checked_on": set_on, "installer": installer}
    for name, (value, bad) in _card_columns(found).items():
        lost = _chosen(rng, READING_MISSING + READING_MISSING_WHEN_BAD * bad, crew.size)
        card[name] = np.where(lost, "", value) if value.dtype.kind == "U" else np.where(lost, np.nan, value)
    return take(card, rows)
