"""Contract-shaped answers of an invented firm, small enough to check by hand, for the page tests."""

import math
from datetime import date, timedelta
from typing import Any

import polars as pl

AS_OF = "2026-03-31"
WALLS = ("poured_concrete", "concrete_block", "stone", "mixed")
CREWS = ("Crew Alder", "Crew Birch", "Crew Cedar")
SHARE_KEPT = {"poured_concrete": 0.28, "concrete_block": 0.21, "stone": 0.08, "mixed": 0.15}
HOSTILE = '<img src=x onerror="document.title=\'owned\'"></script><script>document.title="owned"</script>'


def job_rows(jobs: int = 240) -> pl.DataFrame:
    """One row per finished job, five a month; every figure follows from the row's number."""
    return pl.DataFrame([_job(at) for at in range(jobs)]).with_columns(pl.col("completed_on").cast(pl.Date))


def _job(at: int) -> dict[str, Any]:
    wall = WALLS[(at * 7) % 4]
    revenue = 4000.0 + 37 * (at % 50)
    kept = SHARE_KEPT[wall] + 0.06 * math.sin(at)
    callback = 180.0 if at % 11 == 0 else 0.0
    hours = 22.0 + at % 9
    overhead = 12.0 * hours
    cost = revenue * (1 - kept) - overhead - callback
    return {
        "job_id": f"J{at:04d}",
        "completed_on": date(2026, 3, 28) - timedelta(days=6 * at),
        "branch": ("north", "south")[at % 2],
        "crew": CREWS[at % 3],
        "wall_type": wall,
        "revenue": revenue,
        "labour_cost": 0.6 * cost,
        "material_cost": 0.35 * cost,
        "other_cost": 0.05 * cost,
        "overhead": overhead,
        "callback_cost": callback,
        "actual_hours": hours,
        "quoted_hours": hours - 2.0 + at % 4,
        "has_labour": True,
    }


def margin_rows(jobs: pl.DataFrame) -> list[dict[str, Any]]:
    """The rows of margins by month for these jobs."""
    months = jobs.with_columns(group=pl.col("completed_on").dt.strftime("%Y-%m")).partition_by("group")
    return sorted((_margin_row(month) for month in months), key=lambda row: row["group"])


def _margin_row(jobs: pl.DataFrame) -> dict[str, Any]:
    names = ("revenue", "labour_cost", "material_cost", "other_cost", "overhead", "callback_cost", "actual_hours")
    sums = {name: float(jobs[name].sum()) for name in names}
    gross = sums["revenue"] - sums["labour_cost"] - sums["material_cost"] - sums["other_cost"]
    kept = gross - sums["overhead"] - sums["callback_cost"]
    return sums | {
        "group": jobs["group"][0],
        "jobs": jobs.height,
        "gross_profit": gross,
        "profit_after_callbacks": kept,
        "margin_after_callbacks": kept / sums["revenue"],
        "profit_per_labour_hour": kept / sums["actual_hours"],
        "quoted_jobs": jobs.height,
        "quoted_hours": float(jobs["quoted_hours"].sum()),
        "hours_of_quoted_jobs": sums["actual_hours"],
    }


def parts(jobs: pl.DataFrame | None = None) -> dict[str, Any]:
    """Every part of every page."""
    frame = job_rows() if jobs is None else jobs
    return {"as_of": AS_OF, "job_rows": frame} | _money(frame) | _estimates() | _warranty()


def _money(frame: pl.DataFrame) -> dict[str, Any]:
    return {
        "margins": {"as_of": AS_OF, "overhead_set": True, "waiting_rows": 3, "rows": margin_rows(frame)},
        "month": {
            "month": "2026-03",
            "sentences": [
                {"topic": "margin", "text": "March kept 18 % of $24,300 after callbacks.", "numbers": {}},
                {"topic": "hours", "text": "Stone walls took 14 % more hours than quoted on 3 jobs.", "numbers": {}},
            ],
            "jobs_that_explain_it": [{"job_id": "J0002", "effect": -1240.0, "why": "hours 38 % above the quote"}],
        },
        "bridge": {
            "jobs": 61,
            "quoted_profit": 88_000.0,
            "actual_profit": 61_500.0,
            "steps": [
                {"step": step, "amount": amount}
                for step, amount in (
                    ("change orders", 6_200.0),
                    ("hours", -18_400.0),
                    ("wage rate", -3_100.0),
                    ("material price", -5_200.0),
                    ("material use", -1_900.0),
                    ("other costs", 800.0),
                    ("callbacks", -4_900.0),
                )
            ],
        },
        "short_jobs": {
            "jobs": 61,
            "at_a_loss": 1,
            "without_hours": 2,
            "lost": -310.0,
            "usual_margin": 0.18,
            "rows": [
                _short("J0002", "stone", -310.0, -1240.0),
                _short("J0009", "concrete_block", 420.0, -610.0),
            ],
        },
        "open_jobs": {
            "rows": [
                {
                    "job_id": "J0301",
                    "revenue": 5200.0,
                    "cost_to_date": 3900.0,
                    "expected_final_cost": 5600.0,
                    "expected_profit": -400.0,
                    "heading_for_loss": True,
                },
                {
                    "job_id": "J0302",
                    "revenue": 6100.0,
                    "cost_to_date": 1200.0,
                    "expected_final_cost": 4700.0,
                    "expected_profit": 1400.0,
                    "heading_for_loss": False,
                },
            ]
        },
        "reserve": {
            "as_of": AS_OF,
            "openings_under_warranty": 212,
            "expected_callbacks": 14.2,
            "expected_cost": 5300.0,
            "low_80": 3600.0,
            "high_80": 7200.0,
            "low_95": 2900.0,
            "high_95": 8800.0,
            "reported_not_costed": {"callbacks": 2, "expected_cost": 760.0},
            "by_month": [
                {"month": f"2026-{at:02d}", "expected_callbacks": 1.9 - at / 9, "expected_cost": 700.0 - 40 * at}
                for at in range(4, 13)
            ],
            "roll_forward": [
                {
                    "month": "2026-03",
                    "opening": 5400.0,
                    "accrued": 600.0,
                    "spent": 450.0,
                    "change_in_estimate": -250.0,
                    "closing": 5300.0,
                }
            ],
        },
    }


def _short(job_id: str, wall: str, profit: float, effect: float) -> dict[str, Any]:
    return {
        "job_id": job_id,
        "completed_on": "2026-03-16",
        "branch": "north",
        "crew": "Crew Cedar",
        "wall_type": wall,
        "revenue": 5100.0,
        "profit_after_callbacks": profit,
        "margin_after_callbacks": profit / 5100.0,
        "effect": effect,
        "why": "mainly labour hours (\u2212$900) and callbacks (\u2212$180)",
    }


def _estimates() -> dict[str, Any]:
    holdout = [
        {
            "opening_id": f"O{at:04d}",
            "job_id": f"J{at:04d}",
            "wall_type": WALLS[at % 3],
            "predicted_hours": 14.0 + at / 3,
            "low": 11.0 + at / 4,
            "high": 18.0 + at / 2.5,
            "actual_hours": (14.0 + at / 3) * (1 + 0.25 * math.sin(at)),
        }
        for at in range(60)
    ]
    return {
        "fit": {
            "as_of": AS_OF,
            "callbacks": None,
            "materials": None,
            "labour": {
                "jobs": 192,
                "openings": 271,
                "holdout_openings": 60,
                "median_ape": 0.11,
                "mape": 0.14,
                "bias": -0.02,
                "changes": ["Wall cutting hours fell 13 % from May 2024."],
                "coverage_80": 0.81,
                "coverage_90": 0.92,
                "by_wall_type": [
                    {"wall_type": "poured_concrete", "openings": 31, "median_ape": 0.10, "pooled": False},
                    {"wall_type": "brick", "openings": 2, "median_ape": 0.25, "pooled": True},
                ],
            },
            "not_fitted": [{"part": "callbacks", "reason": "4 callbacks in the book, at least 15 are needed"}],
        },
        "models": "Nothing is fitted yet.",
        "crew_names": list(CREWS),
        "holdout": holdout,
        "rates": [
            {
                "phase": "wall_cutting",
                "group": "poured_concrete",
                "rate": 0.9,
                "low": 0.8,
                "high": 1.0,
                "unit": "h per sq ft of cut",
                "openings": 150,
            },
            {
                "phase": "wall_cutting",
                "group": "stone",
                "rate": 2.1,
                "low": 1.7,
                "high": 2.6,
                "unit": "h per sq ft of cut",
                "openings": 22,
            },
        ],
        "usage": [
            {
                "item": "gravel",
                "unit": "ton",
                "per": "sq ft of well_face",
                "use": 0.0855,
                "low": 0.079,
                "high": 0.092,
                "pack_size": 0.5,
                "lines": 210,
            }
        ],
    }


def _pattern(name: str, cause: str, ratio: float | None, level: str) -> dict[str, Any]:
    return {
        "pattern": name,
        "cause": cause,
        "fact": f"the {name.replace('_', ' ')} was found",
        "text": f"Openings where the {name.replace('_', ' ')} was found came back more often",
        "level": level,
        "openings_with": 84,
        "openings_without": 400,
        "callbacks_with": 14,
        "callbacks_without": 20,
        "recorded_share": 0.83,
        "hazard_ratio": ratio,
        "low": None if ratio is None else ratio / 1.8,
        "high": None if ratio is None else ratio * 1.8,
        "p": 0.004,
        "q": 0.03,
        "flagged": level in ("strong", "likely"),
        "enough_data": ratio is not None,
        "smallest_hr_seen": 3.0,
        "stands_in_for": None,
        "threshold": None,
        "threshold_low": None,
        "threshold_high": None,
        "attributable_callbacks": 8.2,
        "attributable_cost": 3100.0 if level == "strong" else None,
        "attributable_cost_low": 1900.0 if level == "strong" else None,
        "attributable_cost_high": 4400.0 if level == "strong" else None,
    }


def _warranty() -> dict[str, Any]:
    return {
        "patterns": {
            "patterns": [
                _pattern("gasket_gap", "leak", 2.9, "strong"),
                _pattern("over_torque", "fit", 3.4, "likely"),
                _pattern("set_cold", "leak", 1.1, "too_early"),
                _pattern("foam_missing", "fit", None, "not_enough_data"),
            ]
        },
        "checks": {
            "rows": [
                {
                    "opening_id": "O0007",
                    "job_id": "J0007",
                    "crew": "Crew Birch",
                    "checked_on": "2026-03-02",
                    "reading": "gasket_gap_in",
                    "value": 1.5,
                    "limit": {"min": None, "max": 0.0},
                    "called_back": True,
                }
            ]
        },
        "torque": {
            "threshold": 17.0,
            "threshold_low": 16.0,
            "threshold_high": 18.5,
            "rows": [
                {
                    "low": low,
                    "high": low + 2.0,
                    "torque_lbft": low + 1.0,
                    "openings": 60,
                    "opening_years": 100.0,
                    "callbacks": calls,
                }
                for low, calls in ((10.0, 1), (12.0, 1), (14.0, 2), (16.0, 4), (18.0, 9))
            ],
        },
        "curves": [
            {
                "cause": cause,
                "events": 20,
                "days": [30.0, 120.0, 400.0, 700.0],
                "share": [scale * x for x in (0.004, 0.01, 0.022, 0.03)],
            }
            for cause, scale in (("leak", 1.0), ("fit", 0.8))
        ],
        "rain": [
            {"rain": name, "callbacks": calls, "opening_days": days, "times": of, "times_low": low, "times_high": high}
            for name, calls, days, of, low, high in (
                ("under 0.35 in", 9, 90_000.0, 1.0, 0.4, 2.8),
                ("0.35 to 0.75 in", 5, 12_000.0, 4.2, 1.1, 13.9),
                ("over 0.75 in", 11, 6_000.0, 18.3, 6.9, 50.2),
            )
        ],
        "crews": {"rows": [_crew(name, calls) for name, calls in zip(CREWS, (9, 21, 8), strict=True)]},
        "revisit": {
            "rows": [
                {
                    "opening_id": "O0011",
                    "completed_on": "2025-09-02",
                    "probability": 0.31,
                    "expected_cost": 140.0,
                    "by_cause": {"leak": 0.24, "fit": 0.07},
                    "reasons": ["the seal was broken", "set cold", "the soil was clay", "an anchor was over-tightened"],
                }
            ]
        },
        "callbacks": {
            "watching": {"by_month_of_report": [_watched(at) for at in range(24)]},
            "rows": [
                {
                    "callback_id": "C001",
                    "opening_id": "O0003",
                    "reported_on": "2026-02-11",
                    "complaint": "leak",
                    "counts": True,
                    "why_not": None,
                    "cost": None,
                    "days_open": 48,
                },
                {
                    "callback_id": "C002",
                    "opening_id": "O0005",
                    "reported_on": "2025-08-01",
                    "complaint": "fit",
                    "counts": True,
                    "why_not": None,
                    "cost": 210.0,
                    "days_open": None,
                },
            ],
        },
        "cases": [_case()],
        "opening_groups": opening_groups(),
        "warranty_sums": warranty_sums(),
    }


def opening_groups() -> pl.DataFrame:
    """Branch, crew and wall of the openings the pages name."""
    named = (("O0003", "north", 0), ("O0005", "south", 1), ("O0007", "north", 1), ("O0011", "south", 0))
    rows = [(opening, branch, CREWS[at], WALLS[at]) for opening, branch, at in named]
    return pl.DataFrame(rows, schema=["opening_id", "branch", "crew", "wall_type"], orient="row")


def warranty_sums() -> pl.DataFrame:
    """Two groups, two months: 1 callback in north, 9 in south costing 210 each; what stands today without a month."""
    alder, birch = ("north", CREWS[0], WALLS[0]), ("south", CREWS[1], WALLS[1])
    rows = [
        (*alder, date(2026, 2, 1), 1.0, 1.0, 0.0, 0.0, 1.0, 20.0, 0.0, 0.0),
        (*birch, date(2025, 8, 1), 10.0, 9.0, 9.0, 1890.0, 9.0, 50.0, 0.0, 0.0),
        (*birch, date(2026, 2, 1), 0.0, 0.0, 0.0, 0.0, 0.0, 50.0, 0.0, 0.0),
        (*alder, None, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 100.0, 1300.0),
        (*birch, None, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 112.0, 4000.0),
    ]
    sums = ("reports", "counted", "costed", "cost", "visits", "opening_years", "under_warranty", "expected_cost")
    return pl.DataFrame(rows, schema=["branch", "crew", "wall_type", "month", *sums], orient="row")


def _watched(at: int) -> dict[str, Any]:
    """A month with 0 to 3 callbacks among 200 openings."""
    calls = float(at * 5 % 4)
    return {
        "month": f"{2024 + at // 12}-{at % 12 + 1:02d}",
        "callbacks": calls,
        "opening_months": 200.0,
        "rate": calls / 200,
        "centre": 0.0075,
        "lower": 0.0,
        "upper": 0.03,
        "outside": False,
    }


def _crew(name: str, callbacks: int) -> dict[str, Any]:
    ratio = callbacks / 10.0
    return {
        "crew": name,
        "openings": 120,
        "callbacks": callbacks,
        "expected": 10.0,
        "ratio": ratio,
        "low": ratio * 0.7,
        "high": ratio * 1.4,
        "shrunk_ratio": ratio * 0.9,
        "level": "act" if callbacks > 20 else None,
        "outside_limits": callbacks > 20,
        "chance_alone": 0.001 if callbacks > 20 else 0.5,
        "chance_any": 0.004 if callbacks > 20 else 0.9,
    }


def _case() -> dict[str, Any]:
    return {
        "callback": {"callback_id": "C001", "complaint": "leak", "reported_on": "2026-02-11"},
        "opening": {"opening_id": "O0003", "job_id": "J0003", "wall_type": "stone", "site": "1 Invented Street"},
        "checks": [{"checked_on": "2025-11-02", "gasket_gap_in": 0.5, "installer": "worker seven"}],
        "weather": [
            {
                "date": "2026-02-10",
                "what": "before the call",
                "precipitation_in": 1.1,
                "temp_min_f": 31.0,
                "temp_max_f": 44.0,
            }
        ],
        "patterns_present": [{"pattern": "gasket_gap", "text": "the seal behind the frame was broken"}],
        "likely_causes": [
            {"pattern": "gasket_gap", "share": 0.6, "why": "2.9 times as often"},
            {"pattern": "nothing_recorded", "share": 0.4, "why": "no finding on the card"},
        ],
        "similar": [],
        "cost": {"labour_hours": 2.0},
        "timeline": [{"date": "2025-11-02", "event": "frame set"}, {"date": "2026-02-11", "event": "leak reported"}],
    }
