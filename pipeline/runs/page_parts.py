"""What the pages stand on: the answers of the other commands, gathered once; a part that cannot be had says why."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import astuple
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from pipeline.errors import NotEnoughRecords
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book, rows

if TYPE_CHECKING:
    import duckdb

    from pipeline.callbacks.history import History
    from pipeline.callbacks.revisit import OpeningsAhead
    from pipeline.runs.callback_records import CallbackRecords
    from pipeline.runs.case_file import Archive
    from pipeline.runs.standards import Standards
    from schemas.results_warranty import Reserve

MOST_REVISITS = 40
MOST_OPEN_CASES = 40
MOST_VISIT_CASES = 15
MOST_CURVE_POINTS = 60
TORQUE_STEP_LBFT = 2.0
TORQUE_READING = "anchor_torque_max_lbft"

NOT_FITTED = "Nothing is fitted yet: run areaway fit once the book holds finished jobs, then make the pages again."

PLAIN_ALREADY = frozenset({str, float, int, bool, type(None)})

Part = dict[str, Any] | list[Any] | str | None


class Watched(NamedTuple):
    """Finished openings: their warranty clocks and visits, the facts recorded of them, and what is still to come."""

    history: "History"
    records: "CallbackRecords | None"
    ahead: "OpeningsAhead | None"
    reason: str | None


def page_parts(book: Path, settings: Settings, as_of: date | None) -> dict[str, Any]:
    """Every part of every page, plain figures and ISO dates; a sentence where the records are too few.

    errors: NotEnoughRecords when the book holds no dated work at all
    """
    from pipeline.runs.standards import hold_job_costs, hold_visits

    with open_book(book) as con:
        on = as_of or newest_date(con)
        history, reserve = _reserve(con, settings, on)  # asks about earlier days too: before those of one are held
        hold_visits(con, settings, on)
        measured_with = hold_job_costs(con, settings, on)
        jobs = frame(con, "pages_jobs")
        watched = _watched(con, settings, on, history)
        warranty = _warranty_parts(con, settings, on, watched)
        more = _more_warranty_parts(con, settings, on, watched.history)
        return {
            "as_of": on.isoformat(),
            "job_rows": jobs,
            "crew_names": crew_names(jobs["crew"].to_list()),
            "bridge": bridge_of_year(con, on),
            **_money_parts(con, settings, (on, measured_with), reserve),
            "reserve": reserve,
            **warranty,
            **more,
            **_sums_to_choose_from(con, on, watched, more),
            **estimate_parts(con, settings, on),
        }


def bridge_of_year(con: "duckdb.DuckDBPyConnection", on: date) -> Part:
    """From quoted to actual profit, summed over the quoted jobs of the twelve months up to a day. [USD]"""
    from pipeline.costing.bridge import bridge
    from pipeline.costing.margins import single_rows
    from pipeline.runs.jobs import list_of_jobs
    from pipeline.runs.spans import trailing_year

    listed = [job for job in list_of_jobs(con, span=trailing_year(on)) if job["completed_on"] is not None]
    profits = [row["profit_after_callbacks"] for row in single_rows(listed)]
    bridges = [steps for job, profit in zip(listed, profits, strict=True) if (steps := bridge(job, profit))]
    if not bridges:
        return (
            "The way from quoted to actual profit needs finished jobs with a quoted cost; "
            f"of {len(listed)} in the last twelve months none has one."
        )
    sums: dict[str, Decimal] = {}
    for step in (step for steps in bridges for step in steps[1:-1]):
        sums[step["step"]] = sums.get(step["step"], Decimal(0)) + step["amount"]
    ends = {
        name: sum((steps[at]["amount"] for steps in bridges), Decimal(0))
        for name, at in (("quoted_profit", 0), ("actual_profit", -1))
    }
    return {
        "jobs": len(bridges),
        **plain(ends),
        "steps": [{"step": name, "amount": float(amount)} for name, amount in sums.items()],
    }


def _or_reason(answer: Callable[[], Any]) -> Part:
    """The answer as plain data, or the sentence that says what is needed."""
    try:
        return plain(answer())  # type: ignore[no-any-return]
    except NotEnoughRecords as error:
        return sentence(error)


def sentence(error: NotEnoughRecords) -> str:
    """What was missing, as a sentence on a page."""
    text = str(error)
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def plain(value: Any) -> Any:
    """Money as floats, dates as ISO text, all the way down; a page computes nothing in decimals."""
    kind = type(value)
    if kind in PLAIN_ALREADY:
        return value
    if kind is dict:  # by far the most: the rows of the lists
        return {key: inner if type(inner) in PLAIN_ALREADY else plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(inner) for inner in value]
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Mapping):
        return {key: plain(inner) for key, inner in value.items()}
    return value.isoformat() if isinstance(value, date) else value


def _money_parts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, held: tuple[date, "Standards"], reserve: Part
) -> dict[str, Part]:
    """From the job costs held on this connection: by which day, measured with what; the month tells the reserve."""
    from pipeline.runs import margins, month
    from pipeline.runs.jobs import jobs_of
    from pipeline.runs.jobs_short import jobs_short
    from pipeline.runs.spans import month_span

    on, measured_with = held
    named = month.newest_month(con, on)
    cut = margins.Asked(on, margins.BY_MONTH, measured_with)
    known = cast("Reserve", reserve) if isinstance(reserve, dict) else None
    asked = month.Asked(named, month_span(named), on, measured_with, known)
    return {
        "margins": _or_reason(lambda: margins.margins_of(con, settings, cut)),
        "month": _or_reason(lambda: month.month_of(con, settings, asked)),
        "open_jobs": _or_reason(lambda: jobs_of(con, settings, held, only_open=True)),
        "short_jobs": plain(jobs_short(con, settings, on)),
    }


def estimate_parts(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> dict[str, Any]:
    """What the last fit left in the book: its measured error, openings kept back, rates, uses, and the models whole."""
    from pipeline.estimators.hours_model import HoursModel
    from pipeline.estimators.materials import MaterialsModel
    from pipeline.estimators.typical_rates import hour_rates, item_uses
    from pipeline.runs.quote_page import models_for_page
    from pipeline.store.models import load_model

    stored = {part: load_model(con, part) for part in ("measured", "held_out", "labour", "materials")}
    labour, materials = stored["labour"], stored["materials"]
    return {
        "fit": stored["measured"] or NOT_FITTED,
        "holdout": stored["held_out"] or NOT_FITTED,
        "rates": NOT_FITTED if labour is None else hour_rates(HoursModel.from_json(labour)),
        "usage": NOT_FITTED if materials is None else item_uses(MaterialsModel.from_json(materials)),
        "models": models_for_page(con, settings, on) or NOT_FITTED,
    }


def _sums_to_choose_from(
    con: "duckdb.DuckDBPyConnection", on: date, watched: Watched, answers: Mapping[str, Part]
) -> dict[str, Any]:
    """What the choices of the warranty page sum and find rows by, as frames."""
    from pipeline.runs.page_sums import opening_groups, warranty_sums

    groups = opening_groups(con, on)
    sums = warranty_sums(groups, (watched.history, watched.ahead), answers)
    return {"opening_groups": groups, "warranty_sums": sums}


def _reserve(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> tuple["History", Part]:
    """The warranty clocks and visits of the book, and the reserve they give."""
    from pipeline.runs.reserve import read_history, read_month_ends, reserve_of

    history = read_history(con, settings, on)
    return history, _or_reason(lambda: reserve_of(history, on, read_month_ends(con, settings, on)))


def _watched(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, history: "History") -> Watched:
    from pipeline.runs.callback_records import callback_records
    from pipeline.runs.revisit import risk_ahead

    try:
        records = callback_records(con, settings, on)
    except NotEnoughRecords as error:
        return Watched(history, None, None, sentence(error))
    return Watched(history, records, risk_ahead(records, history, settings), None)


def _warranty_parts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, watched: Watched
) -> dict[str, Part]:
    more: dict[str, Part] = {"curves": curves(watched.history), "rain": rain(con, settings, on)}
    return more | _pattern_parts(con, settings, on, watched)


def _pattern_parts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, watched: Watched
) -> dict[str, Part]:
    from pipeline.runs.case_file import archive_of
    from pipeline.runs.patterns import findings_of, patterns_told
    from pipeline.runs.revisit import openings_to_revisit

    records, ahead = watched.records, watched.ahead
    if records is None or ahead is None:
        return dict.fromkeys(("patterns", "revisit", "torque", "cases"), watched.reason)
    findings = findings_of(records, settings)
    found = plain(patterns_told(records, findings))
    revisit = plain(openings_to_revisit(ahead, findings, on, settings, top=MOST_REVISITS))
    return {
        "patterns": found,
        "revisit": revisit,
        "torque": torque(records, found),
        "cases": cases(con, archive_of(con, settings, records, findings), revisit),
    }


def cases(con: "duckdb.DuckDBPyConnection", archive: "Archive", revisit: Part) -> list[dict[str, Any]]:
    """Case files of the open callbacks, longest waiting first, then of the openings to visit first."""
    from pipeline.runs.case_file import asked_about, cases_from

    waiting = sorted(
        (row for row in archive.by_id.values() if row["days_open"] is not None), key=lambda row: -row["days_open"]
    )
    asked = [asked_about(archive, callback_id=row["callback_id"]) for row in waiting[:MOST_OPEN_CASES]]
    worth_a_visit = revisit["rows"][:MOST_VISIT_CASES] if isinstance(revisit, dict) else []
    asked += [asked_about(archive, opening_id=row["opening_id"]) for row in worth_a_visit]
    return [plain(case) for case in cases_from(con, archive, asked)]


def curves(history: "History") -> list[dict[str, Any]]:
    """Callbacks per opening by age in days, one curve per complaint, thinned for a page."""
    import numpy as np

    from pipeline.callbacks.history import COMPLAINTS
    from pipeline.callbacks.mcf import mean_cumulative

    found = []
    for place, complaint in enumerate(COMPLAINTS):
        mine = history.in_warranty & (history.cause == place)
        if not mine.any():
            continue
        curve = mean_cumulative(history.visit_age[mine], history.opening[mine], history.end_age + 1.0)
        kept = np.unique(np.linspace(0, len(curve.ages) - 1, MOST_CURVE_POINTS).astype(int))
        found.append(
            {
                "cause": complaint,
                "events": int(mine.sum()),
                "days": curve.ages[kept].tolist(),
                "share": curve.mean[kept].tolist(),
                "error": curve.error[kept].tolist(),
            }
        )
    return found


def rain(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> list[dict[str, Any]]:
    """Leak calls and opening-days by class of rain, driest first; how often against the driest, with 95 % limits."""
    from pipeline.callbacks.rates import rate_ratio
    from pipeline.runs.standards import standards

    terms = standards(con, settings, on)
    asked = {"as_of": on, "standard": terms["standard"], "warranty": terms["warranty"]}
    found = [row for row in rows(con, "pages_rain", asked) if row["opening_days"] > 0]
    for row in found:
        calls, days = ((row[name], found[0][name]) for name in ("callbacks", "opening_days"))
        row["times"], row["times_low"], row["times_high"] = astuple(rate_ratio(calls, days))
    return found


def torque(records: "CallbackRecords", patterns: Part) -> dict[str, Any]:
    """First fit callbacks and opening-years by steps of the highest anchor torque, and the threshold if any."""
    import polars as pl

    step = pl.col(TORQUE_READING) // TORQUE_STEP_LBFT * TORQUE_STEP_LBFT
    binned = (
        records.population.filter(pl.col(TORQUE_READING).is_not_null())
        .group_by(step.alias("low"))
        .agg(
            pl.len().alias("openings"),
            (pl.min_horizontal("fit_day", "days_at_risk").sum() / 365.25).alias("opening_years"),
            pl.col("fit_day").is_not_null().sum().alias("callbacks"),
        )
        .sort("low")
    )
    steps = [
        row | {"high": row["low"] + TORQUE_STEP_LBFT, "torque_lbft": row["low"] + TORQUE_STEP_LBFT / 2}
        for row in binned.to_dicts()
    ]
    searches = patterns["thresholds"] if isinstance(patterns, dict) else []
    found = next((one for one in searches if one["reading"] == TORQUE_READING and one["cause"] == "fit"), None)
    placed = found or {"threshold": None, "low": None, "high": None}
    return {
        "rows": steps,
        "threshold": placed["threshold"],
        "threshold_low": placed["low"],
        "threshold_high": placed["high"],
        "text": placed.get("text"),
    }


def _more_warranty_parts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, history: "History"
) -> dict[str, Part]:
    from pipeline.runs.callbacks import callbacks_of
    from pipeline.runs.checks import checks_of
    from pipeline.runs.crews import crews_of

    return {
        "checks": _or_reason(lambda: checks_of(con, settings, on)),
        "crews": _or_reason(lambda: crews_of(con, settings, on, history=history)),
        "callbacks": _or_reason(lambda: callbacks_of(con, settings, on, history=history)),
    }


def crew_names(jobs: Sequence[str | None]) -> list[str]:
    """The crews' names, sorted, each once."""
    return sorted({name for name in jobs if name})
