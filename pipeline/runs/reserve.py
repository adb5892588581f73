"""The reserve: callback cost still to come, its range, month by month, beside other methods and rolled forward."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, cast

import numpy as np

from pipeline.callbacks.chain_ladder import blended_to_come, chain_ladder
from pipeline.callbacks.history import COMPLAINTS, FIRST_DAY, History, history_of
from pipeline.callbacks.mcf import mean_cumulative
from pipeline.callbacks.reserve import Model, Remaining, by_complaint, fitted_model, remaining, reported_not_costed
from pipeline.callbacks.reserve_range import doubt_of, simulated_costs
from pipeline.callbacks.roll_forward import month_ends, roll_forward
from pipeline.callbacks.severity import FEWEST_COSTED, more_back_than_spent
from pipeline.callbacks.triangle import beyond_the_oldest, by_exposure, cost_triangle, expected_whole, square, too_young
from pipeline.errors import NotEnoughRecords
from pipeline.runs.standards import Standards, standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book
from schemas.results_warranty import ComplaintShare, CrossCheck, Reserve, ReserveMonth, RollForwardMonth, VisitsByAge
from schemas.units import DAYS_PER_MONTH

if TYPE_CHECKING:
    import duckdb
    import polars as pl

QUANTILES = (0.1, 0.9, 0.025, 0.975)
FEWEST_VISITS = 20  # below this the reserve is an order of magnitude only; simulation study
AGES_SHOWN_MONTHS = (6, 12, 18, 24, 36, 60)
Z_95 = 1.959964
NOTHING_COSTED = "no callback inside its warranty has a cost yet"
TOO_YOUNG = "much of the cost to come lies at ages no opening in the book has reached yet"


def reserve_(book: Path, settings: Settings, *, as_of: date | None = None) -> Reserve:
    """What the callbacks of the openings under warranty are still expected to cost.

    errors: NotEnoughRecords with fewer than 3 costed callbacks
    """
    with open_book(book) as con:
        on = as_of or newest_date(con)
        history, earlier = read_history(con, settings, on), read_month_ends(con, settings, on)
    return reserve_of(history, on, earlier)


def read_history(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> History:
    """Warranty clocks and counted visits of the book."""
    terms = standards(con, settings, as_of)
    openings = frame(con, "warranty_openings", {"as_of": as_of, "warranty": terms["warranty"]})
    return history_of(openings, _visits(con, terms, as_of), as_of)


def _visits(con: "duckdb.DuckDBPyConnection", terms: Standards, as_of: date) -> "pl.DataFrame":
    return frame(con, "warranty_visits", {"as_of": as_of, "warranty": terms["warranty"], "standard": terms["standard"]})


def read_month_ends(con: "duckdb.DuckDBPyConnection", settings: Settings, as_of: date) -> list[History]:
    """What the book knew at the 12 month ends before that of the as-of date: as `reserve` of those days reads it."""
    terms = standards(con, settings, as_of)
    openings = frame(con, "warranty_openings", {"as_of": as_of, "warranty": terms["warranty"]})
    days = [FIRST_DAY + timedelta(days=day) for day in month_ends(as_of)]
    return [history_of(openings, _visits(con, terms, day), day) for day in days]


def reserve_of(history: History, as_of: date, earlier: Sequence[History] = ()) -> Reserve:
    """The reserve of a history, rolled forward from the earlier month ends, if any.

    errors: NotEnoughRecords with fewer than 3 costed callbacks
    """
    model = fitted_model(history)
    if model is None:
        raise NotEnoughRecords(
            f"no reserve yet: {int((history.gross_cost[history.costed] > 0).sum())} callbacks with a cost over 0 "
            f"at finished openings in the book, at least {FEWEST_COSTED} are needed"
        )
    ahead = remaining(history, model)
    waiting, waiting_cost = reported_not_costed(history, model.severity)
    draws = simulated_costs(ahead, model, doubt_of(history, model))
    low_80, high_80, low_95, high_95 = (max(float(edge), 0.0) for edge in np.quantile(draws, QUANTILES))
    visits = int(history.in_warranty.sum())
    return Reserve(
        as_of=as_of,
        openings_under_warranty=history.under_warranty,
        expected_callbacks=float(ahead.visits.sum()),
        expected_cost=float(ahead.cost.sum()),
        low_80=low_80,
        high_80=high_80,
        low_95=low_95,
        high_95=high_95,
        reported_not_costed={"callbacks": waiting, "expected_cost": waiting_cost},
        by_month=_by_month(ahead),
        roll_forward=[cast(RollForwardMonth, asdict(line)) for line in roll_forward([*earlier, history])],
        visits_behind_it=visits,
        costed_visits=model.severity.costed,
        order_of_magnitude_only=visits < FEWEST_VISITS,
        by_complaint=_by_complaint(ahead, model),
        cross_checks=_cross_checks(history),
        visits_by_age=_visits_by_age(history, model),
        more_got_back_than_spent=more_back_than_spent(history),
    )


def to_come_by_complaint(history: History) -> dict[str, tuple[float, float]] | None:
    """The reserve's visits and their cost [USD] per complaint; None with fewer than 3 costed callbacks."""
    model = fitted_model(history)
    if model is None:
        return None
    ahead = remaining(history, model)
    whole = zip(ahead.visits.sum(axis=0).tolist(), ahead.cost.sum(axis=0).tolist(), strict=True)
    return dict(zip(COMPLAINTS, whole, strict=True))


def _by_month(ahead: Remaining) -> list[ReserveMonth]:
    months = zip(ahead.months, ahead.visits.sum(axis=1), ahead.cost.sum(axis=1), strict=True)
    return [ReserveMonth(month=m, expected_callbacks=float(v), expected_cost=float(c)) for m, v, c in months]


def _by_complaint(ahead: Remaining, model: Model) -> list[ComplaintShare]:
    visits, cost = ahead.visits.sum(axis=0), ahead.cost.sum(axis=0)
    return [
        ComplaintShare(
            complaint=word,
            expected_callbacks=float(visits[place]),
            expected_cost=float(cost[place]),
            cost_per_callback=float(model.severity.mean[place]),
        )
        for place, word in enumerate(COMPLAINTS)
    ]


def _cross_checks(history: History) -> list[CrossCheck]:
    """The same cost to come by methods that know nothing of the model; a ladder's unseen ages by cost per year."""
    triangle = cost_triangle(history)
    names = "chain ladder on cost by half-year", "chain ladder, the start of each half-year not trusted"
    by_year = _check("cost per opening-year by half-year since completion", by_exposure(triangle))
    if triangle.visits == 0 or too_young(triangle):
        reason = NOTHING_COSTED if triangle.visits == 0 else TOO_YOUNG
        known = [by_year] if triangle.visits else [_check(by_year["method"], None, why_not=reason)]
        return known + [_check(name, None, why_not=reason) for name in names]
    ladder, unseen = chain_ladder(square(triangle)), beyond_the_oldest(triangle)
    blended = float(blended_to_come(ladder, expected_whole(triangle)).sum())
    error = ladder.total_error if ladder.total_error > 0 else None  # nan, and 0 of too few cells: it cannot be told
    return [
        by_year,
        _check(names[0], float(ladder.to_come.sum()) + unseen, error=error),
        _check(names[1], blended + unseen),
    ]


def _check(method: str, cost: float | None, *, error: float | None = None, why_not: str | None = None) -> CrossCheck:
    return CrossCheck(method=method, expected_cost=cost, standard_error=error, why_not=why_not)


def _visits_by_age(history: History, model: Model) -> list[VisitsByAge]:
    """Visits per 100 openings by age, counted without a model beside the model's."""
    inside = history.in_warranty
    counted = mean_cumulative(history.visit_age[inside], history.opening[inside], history.end_age + 1.0)
    reached = float(history.end_age.max(initial=0.0))
    rows = []
    for months in AGES_SHOWN_MONTHS:
        days = months * DAYS_PER_MONTH
        if days > reached:
            break
        mean, error = counted.at(days)
        rows.append(
            VisitsByAge(
                months=months,
                counted=100 * mean,
                low=100 * max(mean - Z_95 * error, 0.0),
                high=100 * (mean + Z_95 * error),
                model=100 * float(by_complaint(model, np.array([days])).sum()),
            )
        )
    return rows
