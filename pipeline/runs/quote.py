"""A quote from the fitted book: asked openings in, the whole offer out; kept in the book when wanted."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.callbacks.risk import RiskModel
from pipeline.errors import NotEnoughRecords, WrongUsage
from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.materials import MaterialsModel
from pipeline.quote.build import build_quote
from pipeline.quote.request import FirmRates, QuoteParts
from pipeline.runs.as_of import day_of_estimates
from pipeline.runs.list_in_force import with_list_in_force
from pipeline.runs.quote_request import AskedOpening, quote_request
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import open_book, rows
from pipeline.store.firm_settings import Step
from pipeline.store.models import load_models
from pipeline.store.standard_quantities import StandardQuantity, write_standard_quantities
from schemas.results_quote import QuoteResult

if TYPE_CHECKING:
    import duckdb

FITTED = ("labour", "materials", "callbacks", "quote")
MEASURED = "measured"
FEWEST_OPENINGS = 12  # finished openings an estimate needs without starter rates; house rule


@dataclass(frozen=True)
class Asked:
    """What the user asked: openings, and what holds for all of them.

    margin: share of the price that is to be profit; None = the firm's target; price: USD the customer offers
    """

    openings: list[AskedOpening] = field(default_factory=list)
    crew: str = ""
    start: date | None = None
    margin: float | None = None
    price: float | None = None
    save: bool = False


def quote_(book: Path, settings: Settings, asked: Asked, *, as_of: date | None = None) -> QuoteResult:
    """Hours, materials, cost, price and risk of the asked openings.

    errors: NotEnoughRecords before `fit`; WrongUsage for a margin outside 0 to below 1 or no opening at all
    """
    _refuse_nonsense(asked)
    with open_book(book, write=asked.save) as con:
        on = day_of_estimates(con, settings, as_of)
        if as_of is not None:
            _refuse_before_records(con, settings, as_of)
        parts = quote_parts(con, settings, on, start=_first_day(asked))
        margin = float(settings.value("target_margin", on) or 0) if asked.margin is None else asked.margin
        request = quote_request(asked.openings, crew=asked.crew, start=asked.start, margin=margin, price=asked.price)
        result = build_quote(parts, request)
        result["quote_id"] = _quote_id(result, asked)
        if asked.save:
            _save(con, result)
    return result


def _refuse_nonsense(asked: Asked) -> None:
    if not asked.openings:
        raise WrongUsage("nothing to quote: give the opening by options such as --wall_type, or a file with --opening")
    if asked.margin is not None and not 0 <= asked.margin < 1:
        raise WrongUsage(f"--margin is {asked.margin}; it must be a fraction from 0 to below 1, such as 0.35")
    if asked.price is not None and not 0 < asked.price < float("inf"):
        raise WrongUsage(f"--price is {asked.price}; it must be an amount over 0")


def _first_day(asked: Asked) -> date | None:
    """The day whose wage and overhead hold: the earliest start that was said."""
    return min((day for opening in asked.openings if (day := opening.start or asked.start)), default=None)


def quote_parts(
    con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date, *, start: date | None = None
) -> QuoteParts:
    """Models, rates and settings in force on the day of the start, or of the book.

    errors: NotEnoughRecords when nothing was fitted yet
    """
    fitted = load_models(con, (*FITTED, MEASURED))
    measured = fitted.pop(MEASURED, None)
    if "labour" not in fitted or "quote" not in fitted:
        raise NotEnoughRecords(_why_no_prediction(con, as_of))
    given, day = standards(con, settings, as_of), start or as_of
    materials, risk = fitted.get("materials"), fitted.get("callbacks")
    return QuoteParts(
        hours=HoursModel.from_json(fitted["labour"].body),
        materials=None
        if materials is None
        else MaterialsModel.from_json(with_list_in_force(con, materials.body, as_of)),
        risk=None if risk is None else RiskModel(**risk.body),  # type: ignore[typeddict-item]
        rates=FirmRates(**fitted["quote"].body),  # type: ignore[typeddict-item]
        fitted_at={part: stored.fitted_at.isoformat() for part, stored in fitted.items()},
        as_of=as_of,
        learned_until=fitted["labour"].as_of,
        hourly_cost=_hourly_cost(given["standard"], day),
        overhead_per_hour=_in_force(given["overhead"], day),
        overhead_set=settings.is_set("overhead_per_labour_hour"),
        warranty_months=_in_force(given["warranty"], day),
        edition=settings.codes.edition,
        local_code=settings.codes.local,
        held=_how_ranges_held(measured.body if measured else {}),
    )


def _how_ranges_held(measured: Mapping[str, Any]) -> tuple[float | None, int]:
    """Share of the "8 times in 10" ranges that held at the last fit, and on how many openings kept back."""
    hours = measured.get("labour") or {}
    return hours.get("coverage_80"), hours.get("holdout_openings") or 0


def _refuse_before_records(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> None:
    """A day on which the firm had done too little to say anything from.

    errors: NotEnoughRecords
    """
    finished = rows(con, "finished_openings", {"as_of": as_of})[0]["openings"]
    if finished < FEWEST_OPENINGS and not settings.starter_rates:
        raise NotEnoughRecords(
            f"no prediction as of {as_of}: {finished} finished openings by that day in the book, at least "
            f"{FEWEST_OPENINGS} are needed; give a later --as-of, or leave it out"
        )


def _why_no_prediction(con: "duckdb.DuckDBPyConnection", as_of: date) -> str:
    finished = rows(con, "finished_openings", {"as_of": as_of})[0]["openings"]
    if finished >= FEWEST_OPENINGS:
        return f"no prediction yet: nothing was learned from the {finished} finished openings; run first: areaway fit"
    return (
        f"no prediction yet: {finished} finished openings in the book, at least {FEWEST_OPENINGS} are needed "
        "(or [starter_rates] in areaway.toml), then: areaway fit"
    )


def _hourly_cost(steps: list[Step], day: date) -> float:
    """Standard cost of an hour on a day. [USD]

    errors: NotEnoughRecords when none is set and no hour in the book has a cost
    """
    cost = _in_force(steps, day)
    if cost == 0:
        raise NotEnoughRecords(
            "no cost of an hour: 0 hours in the book have one and 1 is needed; "
            "or set [firm] standard_hourly_cost in areaway.toml"
        )
    return cost


def _in_force(steps: list[Step], day: date) -> float:
    """The value in force on a day; before the first one, the first."""
    begun = [step["value"] for step in steps if step["valid_from"] <= day]
    return float(begun[-1] if begun else steps[0]["value"])


def _quote_id(result: QuoteResult, asked: Asked) -> str:
    """A name that the same question to the same book always gets."""
    import hashlib

    told = json.dumps([result["total"], [one.values for one in asked.openings]], default=str, sort_keys=True)
    return f"Q{result['as_of'].replace('-', '')}-{hashlib.sha256(told.encode()).hexdigest()[:8]}"


def _save(con: "duckdb.DuckDBPyConnection", result: QuoteResult) -> None:
    """Keep the answer whole, and its quantities as the standard of the jobs it names."""
    con.execute("begin")
    con.execute("delete from saved_quotes where quote_id = ?", [result["quote_id"]])
    body = json.dumps(result, default=str)
    con.execute(
        "insert into saved_quotes values (?, ?, ?, ?)", [result["quote_id"], datetime.now(), result["as_of"], body]
    )
    write_standard_quantities(con, "quote", _standard_lines(result))
    con.execute("commit")


def _standard_lines(result: QuoteResult) -> list[StandardQuantity]:
    """What each job should use, in whole packs as bought: specs of one item and unit together."""
    pooled: dict[tuple[str, str, str], float] = {}
    for job in result["jobs"]:
        for line in job["order"]:
            key = (job["job_id"], line["item"], line["unit"])
            pooled[key] = pooled.get(key, 0.0) + line["order_quantity"]
    return [StandardQuantity(job, item, quantity, unit) for (job, item, unit), quantity in pooled.items()]
