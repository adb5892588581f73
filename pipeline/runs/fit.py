"""`areaway fit`: learn hours, materials and callbacks from the book, measure them, keep the models in it."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from pipeline.errors import NotEnoughRecords
from pipeline.runs.as_of import day_of_estimates
from pipeline.runs.quote_rates import fit_quote_rates
from pipeline.settings import Settings
from pipeline.store.book import frame, open_book
from pipeline.store.firm_settings import remember
from pipeline.store.models import save_model
from pipeline.store.standard_quantities import StandardQuantity, write_standard_quantities
from schemas.results_fit import CalibrationFigures, CallbacksFit, Fit, LabourFit, MaterialsFit, NotFitted

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from pipeline.callbacks.calibration import Calibration
    from pipeline.estimators.materials import MaterialsModel
    from pipeline.estimators.measure import HeldOut, Records

LABOUR, MATERIALS, CALLBACKS, QUOTE, MEASURED = "labour", "materials", "callbacks", "quote", "measured"
HELD_OUT = "held_out"
STORED = {LABOUR: (LABOUR, HELD_OUT), MATERIALS: (MATERIALS,), CALLBACKS: (CALLBACKS,)}  # what each part keeps
# First visits under warranty, all complaints together: with fewer a rate says little but what was believed before.
# Between 5 and 15 of one complaint every opening gets that complaint's base rate. Simulation study, fresh seeds.
FEWEST_VISITS = 5

Tell = Callable[[str], None]


@dataclass(frozen=True)
class _Input:
    """What the models are made from."""

    records: "Records"
    materials: "pl.DataFrame"
    prices: "pl.DataFrame"
    rates: Mapping[str, float]


def fit_(
    book: Path, settings: Settings, *, as_of: date | None = None, progress: Tell = lambda _: None
) -> Fit:
    """Fit every part that has enough records, store it with its measured error.

    in:     progress: told each step before it begins
    out:    the answer to `areaway fit`
    errors: NotEnoughRecords when no part can be fitted
    """
    with open_book(book, write=True) as con:
        on = day_of_estimates(con, settings, as_of)
        given = _read(con, settings, on)
        con.execute("begin")  # closing the book without commit takes all of it back
        result = _fit_all(con, settings, given, on=on, progress=progress)
        remember(con, settings)
        con.execute("commit")
    return result


def _read(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> _Input:
    from pipeline.estimators.measure import Records

    asked = {"as_of": on}
    names = ("jobs", "openings", "labour", "materials", "prices")
    jobs, openings, labour, materials, prices = (frame(con, f"fit_{name}", asked) for name in names)
    return _Input(Records(jobs, openings, labour), materials, prices, settings.starter_rates)


def _fit_all(
    con: "duckdb.DuckDBPyConnection", settings: Settings, given: _Input, *, on: date, progress: Tell
) -> Fit:
    reasons: list[NotFitted] = []

    def attempt(part: str, fit: Any) -> Any:
        try:
            return fit()
        except NotEnoughRecords as reason:
            reasons.append(NotFitted(part=part, reason=str(reason)))
            progress(f"{'hours' if part == LABOUR else part}: too few records")
            return None

    result = Fit(
        as_of=on,
        labour=attempt(LABOUR, lambda: _labour(con, given, on, progress)),
        materials=attempt(MATERIALS, lambda: _materials(con, given, on, progress)),
        callbacks=attempt(CALLBACKS, lambda: _callbacks(con, settings, on, progress)),
        not_fitted=reasons,
    )
    if len(reasons) == len(STORED):
        raise NotEnoughRecords("; ".join(reason["reason"] for reason in reasons))
    progress("what a quote needs beside them: fees, cost of a visit, openings to compare with")
    _forget(con, [reason["part"] for reason in reasons], on)
    save_model(con, MEASURED, on, cast(dict[str, Any], {**result, "as_of": on.isoformat()}))
    save_model(con, QUOTE, on, cast(dict[str, Any], fit_quote_rates(con, settings, on)))
    return result


def _forget(con: "duckdb.DuckDBPyConnection", parts: list[str], on: date) -> None:
    """A part that cannot be fitted now must not answer from an earlier fit: of other records, or by other rules."""
    for part in parts:
        for name in STORED[part]:
            save_model(con, name, on, None)
    if MATERIALS in parts:
        write_standard_quantities(con, "takeoff", [])


def _labour(con: "duckdb.DuckDBPyConnection", given: _Input, on: date, progress: Tell) -> LabourFit:
    from pipeline.estimators.backtest import backtest
    from pipeline.estimators.hours import fit_finished
    from pipeline.estimators.measure import hold_out
    from pipeline.estimators.odd_entries import odd_entries
    from pipeline.estimators.records import finished_openings

    records = given.records
    whole = finished_openings(records.jobs, records.openings, records.labour)
    data = whole.worked()
    progress(f"hours: learning from {len(data.jobs):,} finished jobs with {len(data.job):,} openings")
    fit = fit_finished(data, given.rates)
    model = fit.model
    save_model(con, LABOUR, on, model.to_json())
    progress("hours: measuring on the latest fifth of the jobs, kept back")
    held = hold_out(records, given.rates)
    save_model(con, HELD_OUT, on, _openings_held_out(held))
    measured = _measured_hours(held)
    return cast(
        LabourFit,
        {
            "jobs": model.jobs,
            "openings": model.openings,
            "openings_without_hours": len(whole.job) - len(data.job),
            **measured,
            "changes": model.changes(),
            "starter_rates": model.starter,
            "presumed_split": model.presumed_split,
            "check_these": odd_entries(data, fit),
            "backtest": backtest(records, given.rates, progress=lambda step: progress(f"hours: {step}")),
        },
    )


def _openings_held_out(held: "HeldOut | None") -> dict[str, Any]:
    """The openings kept back, estimated and actual, for whoever wants to see them one by one."""
    if held is None:
        return {"rows": []}
    bounds = held.prediction
    columns = zip(held.opening_ids, held.walls, bounds.p50, bounds.p10, bounds.p90, held.actual, strict=True)
    names = ("opening_id", "wall_type", "predicted_hours", "low", "high", "actual_hours")
    return {"rows": [dict(zip(names, (str(o), str(w), *map(float, rest)), strict=True)) for o, w, *rest in columns]}


def _measured_hours(held: "HeldOut | None") -> dict[str, Any]:
    from pipeline.estimators.measure import against_plain, against_quotes, by_wall, coverage, errors

    if held is None:
        missing = dict.fromkeys(("median_ape", "mape", "bias", "coverage_80", "coverage_90"))
        return {"holdout_openings": 0, **missing, "by_wall_type": [], "yardsticks": [], "quotes": None}
    return {
        "holdout_openings": len(held.actual),
        **errors(held.prediction.mean, held.actual),
        **coverage(held),
        "by_wall_type": by_wall(held),
        "yardsticks": against_plain(held),
        "quotes": against_quotes(held),
    }


def _materials(con: "duckdb.DuckDBPyConnection", given: _Input, on: date, progress: Tell) -> MaterialsFit:
    from pipeline.estimators.known import learn_defaults
    from pipeline.estimators.materials_fit import fit_materials
    from pipeline.estimators.materials_measure import measure_materials
    from pipeline.estimators.records import arrays_of

    records = given.records
    defaults = learn_defaults(arrays_of(records.openings))
    frames = (records.jobs, records.openings, given.materials, given.prices)
    progress(f"materials: learning from {len(given.materials):,} purchases")
    model = fit_materials(*frames, defaults=defaults)
    save_model(con, MATERIALS, on, model.to_json())
    _keep_standards(con, records.openings, model, defaults)
    progress("materials: measuring on the latest fifth of the jobs, kept back")
    measured = measure_materials(*frames, defaults=defaults) or {
        "holdout_jobs": 0,
        "holdout_lines": 0,
        "cost_error": None,
        "bias": None,
        "by_item": [],
    }
    return cast(MaterialsFit, {**measured, "jobs": model.jobs, "items": len(model.items)})


def _keep_standards(
    con: "duckdb.DuckDBPyConnection", openings: "pl.DataFrame", model: "MaterialsModel", defaults: dict[str, Any]
) -> None:
    """Write what each job should use, for the usage variance."""
    from pipeline.estimators.known import fill_gaps
    from pipeline.estimators.records import arrays_of
    from pipeline.estimators.standard_use import orders_by_job
    from pipeline.takeoff.list import take_off

    filled, _ = fill_gaps(arrays_of(openings), defaults)
    ids = openings["job_id"].unique(maintain_order=True).to_list()
    number = {job: at for at, job in enumerate(ids)}
    import numpy as np

    job = np.array([number[name] for name in openings["job_id"]], dtype=np.int64)
    lines = [
        StandardQuantity(ids[at], order.item, round(float(quantity), 4), order.unit)
        for order in orders_by_job(model, filled, take_off(filled), job)
        for at, quantity in enumerate(order.order_quantity)
        if quantity > 0
    ]
    write_standard_quantities(con, "takeoff", lines)


def _callbacks(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, progress: Tell) -> CallbacksFit:
    from pipeline.callbacks.calibration import measured_quotes, measured_visits
    from pipeline.callbacks.risk import fit_risk
    from pipeline.runs.callback_records import callback_records, patterns_of

    records = callback_records(con, settings, on)
    openings = records.population.height
    progress(f"callbacks: learning from {openings:,} finished openings, measuring on fifths of the jobs kept back")
    patterns = patterns_of(settings, records.population)
    risk = fit_risk(records.population, patterns)
    visits = sum(cause["events"] for cause in risk["causes"].values())
    if visits < FEWEST_VISITS:
        raise NotEnoughRecords(
            f"no callback rates yet: {visits} first visits under warranty at {openings} finished openings in the book, "
            f"at least {FEWEST_VISITS} are needed"
        )
    save_model(con, CALLBACKS, on, cast(dict[str, Any], risk))
    quotes, visit_list = (how(records.population, patterns) for how in (measured_quotes, measured_visits))
    return CallbacksFit(
        openings=quotes.openings,
        events=quotes.events,
        one_rate_for_all=all(cause["base_rate"] for cause in risk["causes"].values()),
        visit_list=_figures(visit_list),
        **_figures(quotes),
    )


def _figures(measured: "Calibration") -> CalibrationFigures:
    ends = ((measured.figures, ""), (measured.low, "_low"), (measured.high, "_high"))
    named = {f"{name}{end}": _or_none(value) for side, end in ends for name, value in side._asdict().items()}
    return cast(CalibrationFigures, named)


def _or_none(value: Any) -> Any:
    return None if isinstance(value, float) and math.isnan(value) else value
