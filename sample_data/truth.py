"""Every planted truth of the scenario, as numbers (all invented)."""

from __future__ import annotations

import numpy as np

FIRST_DAY = np.datetime64("2018-11-01")
LAST_DAY = np.datetime64("2026-10-30")
DAYS = int((LAST_DAY - FIRST_DAY).astype(int)) + 1
HOLIDAYS = np.array([f"{y}-{day}" for y in range(2018, 2028) for day in ("01-01", "07-04", "12-25")],
                    dtype="datetime64[D]")
WARRANTY_MONTHS = 24
WARRANTY_DAYS = 730
JOBS_PER_CREW = 250

CREWS = ("Heron", "Otter", "Badger", "Kingfisher")
BRANCHES = ("riverside", "hill")
STATIONS = ("ZZQ00000001", "ZZQ00000002")
HURRIED_CREW = 2                                   # Badger: fastest, and far more often over-tight and wet
CREW_HOURS = (1.03, 1.08, 0.90, 1.00)              # hours against an ordinary crew
CREW_HOURS_SD = 0.08                               # for the crews of a larger firm
CREW_LEAK = (1.00, 0.95, 1.00, 1.10)               # beyond what the findings explain
CREW_FIT = (1.00, 1.05, 1.00, 0.95)

WALLS = ("poured_concrete", "concrete_block", "brick", "stone", "wood_foundation")
WALL_SHARE_FIRST = (0.58, 0.26, 0.07, 0.06, 0.03)
WALL_SHARE_LAST = (0.38, 0.32, 0.07, 0.20, 0.03)   # more old houses year by year
OPENINGS_SHARE = (0.64, 0.23, 0.09, 0.04)

# Hours = rate x (quantity + allowance) x factors; quantities are those of the take-off.
PHASES = ("travel", "setup", "excavation", "wall_cutting", "frame_setting", "window_setting",
          "well_setting", "drainage", "backfill", "cleanup")
PHASE_NOISE = (0.25, 0.25, 0.22, 0.18, 0.20, 0.20, 0.20, 0.24, 0.22, 0.24)
JOB_NOISE = 0.11
ROUGH_WALL_NOISE = 1.5                             # brick and stone: noisier by this factor
TRAVEL_HOURS, SETUP_HOURS = 2.2, 3.2
CUT_RATE = (0.46, 0.36, 0.44, 0.60, 0.20)          # h per sq ft of cut face, by wall
CUT_ALLOWANCE_SQFT = 3.0
REINFORCED_FACTOR = 1.22
FRAME_FACTOR = (1.0, 1.1, 1.15, 1.8, 0.9)
FRAME_RATE, FRAME_ALLOWANCE_FT = 0.030, 6.0        # h per ft of frame
WINDOW_RATE, WINDOW_ALLOWANCE_SQFT = 0.020, 8.0
SOILS = ("sand_gravel", "loam", "clay", "hardpan")
SOIL_SHARE = (0.20, 0.35, 0.33, 0.12)
SOIL_FACTOR = (0.85, 1.0, 1.35, 1.65)
HAND_RATE, HAND_ALLOWANCE_YD3 = 1.15, 0.8
MACHINE_RATE, MACHINE_ALLOWANCE_YD3 = 0.30, 5.0
WINTER_DIG_FACTOR = 1.12                           # December to March
WELLS = ("none", "steel", "composite", "masonry", "timber")
WELL_RATE = (0.0, 0.055, 0.050, 0.28, 0.16)        # h per sq ft of well wall
WELL_ALLOWANCE_SQFT = 12.0
DRAINS = ("none", "gravel_pit", "footing_drain", "sump")
DRAIN_RATE = (0.0, 0.25, 0.55, 0.95)               # h per ft of depth
DRAIN_ALLOWANCE_FT = 2.0
BACKFILL_HAND_RATE, BACKFILL_MACHINE_RATE, BACKFILL_ALLOWANCE_YD3 = 0.50, 0.20, 1.0
CLEANUP_RATE, CLEANUP_ALLOWANCE_CUFT = 0.12, 10.0

NEW_SAW_ON = np.datetime64("2024-02-05")           # in the sixth year
NEW_SAW_FACTOR = 0.80                              # wall cutting hours from then on
SAW_IN_QUOTES_FROM = np.datetime64("2024-11-01")   # the estimator allows for it only from here
QUOTE_BIAS = (0.97, 0.81, 0.95, 0.67, 1.00)        # quoted hours over expected hours, by wall
QUOTE_NOISE = 0.13
QUOTE_MARGIN = 0.35
HAGGLED = 0.075                                    # mean log discount given on the asked price

# The bad month: rain, mud, pumps, overtime and a run of stone walls quoted low.
BAD_MONTH_FIRST, BAD_MONTH_LAST = np.datetime64("2025-05-28"), np.datetime64("2025-06-30")
BAD_MONTH_DIG_FACTOR = 2.1
BAD_MONTH_CUT_FACTOR = 1.40                        # the saw was out for repair; an older one was hired
BAD_MONTH_WAGE_FACTOR = 1.30
BAD_MONTH_STONE_SHARE = 0.55
BAD_MONTH_BUSY = 1.6                               # work sold for that month, against an ordinary June

MISKEYED_SHARE = 0.01                              # of openings: one entry x10, x2 or /10
WRONG_PHASE_SHARE = 0.01
NO_PHASE_SHARE = 0.02

STANDARD_WAGE = {2018: 31.0, 2019: 31.5, 2020: 32.5, 2021: 34.0, 2022: 36.5,
                 2023: 38.5, 2024: 40.0, 2025: 41.5, 2026: 43.0}
OVERHEAD = {2018: 20.0, 2019: 20.0, 2020: 20.0, 2021: 20.0, 2022: 23.0,
            2023: 23.0, 2024: 23.0, 2025: 26.0, 2026: 26.0}
PRICE_INDEX = {2018: 1.00, 2019: 1.02, 2020: 1.05, 2021: 1.18, 2022: 1.30,
               2023: 1.33, 2024: 1.36, 2025: 1.42, 2026: 1.46}

# What brings a crew back. Hazard ratio of each finding on each complaint; 1.0 = planted null.
TORQUE_LIMIT_LBFT = 25.0                           # the anchor maker's sheet of the invented firm
OVER_TORQUE_SHARE, OVER_TORQUE_SHARE_HURRIED = 0.09, 0.38
WET_SHARE = {"dry": 0.05, "rain_before": 0.13, "rain": 0.22}
WET_SHARE_HURRIED = {"dry": 0.22, "rain_before": 0.42, "rain": 0.55}
HAZARD_RATIOS: dict[str, dict[str, float]] = {
    "leak": {"wet": 5.5, "gasket_gap": 2.4, "high_spots": 1.8, "cold": 1.6,
             "no_grout": 1.0, "partial_squeeze": 1.0, "winter": 1.0, "rain_day": 1.0},
    "fit": {"over_torque": 5.5, "reveal_uneven": 2.0, "out_of_plumb": 1.9, "head_open": 1.8,
            "bowed": 1.0, "few_anchors": 1.0, "diagonals": 1.0},
    "drainage": {"drain_blocked": 3.5, "clay_no_drain": 2.5, "deep": 1.5},
    "finish": {"no_foam": 2.0},
    "other": {},
}
WALL_HAZARD = {"leak": (1.0, 1.3, 1.3, 1.9, 0.8), "fit": (1.0, 1.1, 1.2, 1.3, 1.1),
               "drainage": (1.0, 1.0, 1.0, 1.2, 1.0), "finish": (1.0,) * 5, "other": (1.0,) * 5}
FIRST_EVENTS_PER_1000 = {"leak": 76.0, "fit": 70.0, "drainage": 28.0, "finish": 20.0, "other": 12.0}
FRAILTY_VARIANCE = 0.25                            # shared by the openings of a job
RAIN_STEPS_IN = (0.35, 0.75, 1.5)                  # rain on the day or the two before
RAIN_FACTORS = (1.0, 2.0, 5.0, 14.0)               # leaks become so many times as likely
EARLY_FACTORS = ((0, 1.6), (90, 1.2), (180, 0.9))  # other complaints: from day, times the later rate
AFTER_WARRANTY_REPORTED = 0.40
WRONG_COMPLAINT_SHARE = 0.04
CUSTOMER_CAUSED_SHARE = 0.10
REPORTED_TWICE_SHARE = 0.06
