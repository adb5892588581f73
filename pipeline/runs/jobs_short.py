"""Jobs of the year up to a day that lost money or kept least of what such revenue usually brings, each with why."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from pipeline.costing.explain_month import Usual, explained
from pipeline.costing.margins import single_rows
from pipeline.runs.jobs import OVERHEAD, list_of_jobs
from pipeline.runs.spans import trailing_year
from pipeline.settings import Settings
from schemas.results_money import MarginRow

if TYPE_CHECKING:
    import duckdb

FEWEST_SHOWN = 10  # when fewer lost money, those furthest below the usual margin follow
TOLD = ("job_id", "completed_on", "branch", "crew", "wall_type")

Row = dict[str, Any]


def jobs_short(con: "duckdb.DuckDBPyConnection", settings: Settings, on: date) -> dict[str, Any]:
    """Finished jobs of the twelve months up to a day, those at a loss first. [USD]

    in:     job costs held on this connection
    out:    jobs finished, how many at a loss and what they lost together (profit after callbacks below zero), the
            margin all kept together, and rows: every job at a loss, the worst first, then those furthest below the
            usual margin until there are ten. Jobs without hours are left out of both and counted apart: their cost is
            not known
    """
    finished = [job for job in list_of_jobs(con, span=trailing_year(on)) if job["completed_on"]]
    listed = [job for job in finished if job["has_labour"]]
    figures = single_rows(listed)
    usual = Usual(_margin(figures), settings.is_set(OVERHEAD))
    told = [_told(job, row, usual) for job, row in zip(listed, figures, strict=True)]
    lost = sorted((row for row in told if row["profit_after_callbacks"] < 0), key=_worst_profit)
    short = sorted((row for row in told if row["profit_after_callbacks"] >= 0 > row["effect"]), key=_furthest_below)
    return {
        "jobs": len(listed),
        "without_hours": len(finished) - len(listed),
        "at_a_loss": len(lost),
        "lost": sum((row["profit_after_callbacks"] for row in lost), Decimal(0)),
        "usual_margin": usual.margin,
        "rows": [*lost, *short[: max(FEWEST_SHOWN - len(lost), 0)]],
    }


def _worst_profit(row: Row) -> tuple[Decimal, str]:
    return row["profit_after_callbacks"], row["job_id"]


def _furthest_below(row: Row) -> tuple[Decimal, str]:
    return row["effect"], row["job_id"]


def _margin(figures: Sequence[MarginRow]) -> Decimal:
    revenue = sum((row["revenue"] for row in figures), Decimal(0))
    profit = sum((row["profit_after_callbacks"] for row in figures), Decimal(0))
    return profit / revenue if revenue else Decimal(0)


def _told(job: Mapping[str, Any], row: MarginRow, usual: Usual) -> Row:
    found = explained(job, row["profit_after_callbacks"], usual)
    return {name: job[name] for name in TOLD} | {
        "revenue": row["revenue"],
        "profit_after_callbacks": row["profit_after_callbacks"],
        "margin_after_callbacks": row["margin_after_callbacks"],
        "effect": found["effect"],
        "why": found["why"],
    }
