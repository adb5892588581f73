"""Jobs: the list with what each earned, open ones with where they are heading, or one job whole."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.costing.bridge import bridge
from pipeline.costing.cents import cents, shares_to_the_cent
from pipeline.costing.margins import single_rows
from pipeline.costing.open_jobs import FINISHED, Outlook, Rates, outlook
from pipeline.costing.spread import SPREAD_RULE, opening_costs
from pipeline.errors import InputError, NotEnoughRecords
from pipeline.runs.expected_hours import HoursByPhase, expected_hours
from pipeline.runs.spans import EVER, Span, days_of
from pipeline.runs.standards import Standards, hold_job_costs, in_force
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book, rows
from schemas.results_money import (
    JobCallback,
    JobItem,
    JobOther,
    JobPhase,
    JobRow,
    Jobs,
    JobWorkerDay,
    MarginRow,
    OneJob,
)

if TYPE_CHECKING:
    import duckdb

OVERHEAD = "overhead_per_labour_hour"
NOT_SPLIT = "not split"


def jobs_(book: Path, settings: Settings, *, as_of: date | None = None, only_open: bool = False) -> Jobs:
    """Every job begun by `as_of`, completed ones by date, then the open ones with what they will have cost.

    errors: NotEnoughRecords when no job was begun by the day
    """
    with open_book(book) as con:
        on = as_of or newest_date(con)
        result = jobs_of(con, settings, (on, hold_job_costs(con, settings, on)), only_open=only_open)
    if not result["rows"] and not only_open:
        raise NotEnoughRecords(f"0 jobs begun by {on}, at least 1 is needed; leave --as-of out or give a later day")
    return result


def jobs_of(
    con: "duckdb.DuckDBPyConnection", settings: Settings, held: tuple[date, Standards], *, only_open: bool = False
) -> Jobs:
    """The same from job costs already held on this connection: by which day, measured with what."""
    on, measured_with = held
    listed = list_of_jobs(con, only_open=only_open)
    table = job_rows(con, listed, measured_with, on)
    return Jobs(
        as_of=on,
        overhead_set=settings.is_set(OVERHEAD),
        waiting_rows=sum(job["waiting_rows"] for job in listed),
        jobs_without_labour=[job["job_id"] for job in listed if job["completed_on"] and not job["has_labour"]],
        rows=table,
    )


def job_(book: Path, settings: Settings, job_id: str, *, as_of: date | None = None) -> OneJob:
    """One job whole: quoted, actual, variances, callbacks, where the hours went.

    errors: InputError when the book has no such job, or it began after `as_of`
    """
    with open_book(book) as con:
        on = as_of or newest_date(con)
        measured_with = hold_job_costs(con, settings, on)
        listed = list_of_jobs(con, job_id)
        if not listed:
            like = _like(job_id, [job["job_id"] for job in list_of_jobs(con)])
            raise InputError(f"there is no job '{job_id}' begun by {on} in the book; {like}areaway jobs lists them")
        return _one_job(con, listed[0], measured_with, _Said(on, settings.is_set(OVERHEAD)))


def _like(asked: str, known: Sequence[str]) -> str:
    """The ids that differ from the one asked for in capitals and zeros in front alone, as a question."""
    meant = [name for name in known if _loosely(name) == _loosely(asked)]
    return f"did you mean {' or '.join(meant)}? " if meant else ""


def _loosely(name: str) -> str:
    return name.strip().casefold().lstrip("0")


@dataclass(frozen=True)
class _Said:
    """Day of the question, and whether the firm set its overhead."""

    as_of: date
    overhead_set: bool


def list_of_jobs(
    con: "duckdb.DuckDBPyConnection", job_id: str | None = None, *, span: Span = EVER, only_open: bool = False
) -> list[dict[str, Any]]:
    """Exact figures of one job or all, from the job costs held; completed ones of a span, and the open ones."""
    return rows(con, "jobs_list", {"job_id": job_id, "only_open": only_open, **days_of(span)})


def job_rows(
    con: "duckdb.DuckDBPyConnection", listed: Sequence[Mapping[str, Any]], measured_with: Standards, as_of: date
) -> list[JobRow]:
    """Rows of the question `jobs_list` as a reader gets them."""
    rates = Rates(in_force(measured_with["standard"], as_of), in_force(measured_with["overhead"], as_of))
    still_open = [job for job in listed if job["completed_on"] is None]
    predicted = expected_hours(con, [job["job_id"] for job in still_open]) if still_open else None
    worked = _worked(con, as_of)
    outlooks = {
        job["job_id"]: outlook(
            job, rates, worked.get(job["job_id"], {}), None if predicted is None else predicted.get(job["job_id"])
        )
        for job in still_open
    }
    return [
        _job_row(job, row, outlooks.get(job["job_id"], FINISHED))
        for job, row in zip(listed, single_rows(listed), strict=True)
    ]


def _worked(con: "duckdb.DuckDBPyConnection", as_of: date) -> dict[str, dict[str, Decimal]]:
    worked: dict[str, dict[str, Decimal]] = {}
    for line in rows(con, "phase_hours_of_open_jobs", {"as_of": as_of}):
        worked.setdefault(line["job_id"], {})[line["phase"] or NOT_SPLIT] = line["hours"]
    return worked


def _job_row(job: Mapping[str, Any], row: MarginRow, heading: Outlook) -> JobRow:
    return JobRow(
        **row,
        job_id=job["job_id"],
        completed_on=job["completed_on"],
        status=job["status"],
        crew=job["crew"],
        branch=job["branch"],
        wall_type=job["wall_type"],
        quoted_cost=job["quoted_cost"],
        waiting_rows=job["waiting_rows"],
        cost_to_date=heading.cost_to_date,
        expected_final_cost=heading.expected_final_cost,
        expected_profit=heading.expected_profit,
        expected_basis=heading.basis,
        heading_for_loss=heading.heading_for_loss,
    )


def _one_job(
    con: "duckdb.DuckDBPyConnection", job: Mapping[str, Any], measured_with: Standards, said: _Said
) -> OneJob:
    row = job_rows(con, [job], measured_with, said.as_of)[0]
    asked = {"job_id": job["job_id"], "as_of": said.as_of}
    with_rates = asked | {name: measured_with[name] for name in ("standard", "overhead")}
    with_warranty = asked | {name: measured_with[name] for name in ("standard", "warranty")}
    predicted = (expected_hours(con, [job["job_id"]]) or {}).get(job["job_id"])
    return OneJob(
        **row,
        as_of=said.as_of,
        overhead_set=said.overhead_set,
        openings=opening_costs(rows(con, "job_openings", with_rates | with_warranty), row),
        phases=_phases(rows(con, "job_phases", with_rates), row, predicted),
        items=_items(rows(con, "job_items", asked), row),
        worker_days=_worker_days(rows(con, "job_worker_days", with_rates), row),
        other_costs=_other(rows(con, "job_other_costs", asked), row),
        callbacks=[_callback(line) for line in rows(con, "job_callbacks", with_warranty)],
        bridge=bridge(job, row["profit_after_callbacks"], _saved_quote(con, job)) if job["completed_on"] else [],
        spread_rule=SPREAD_RULE,
    )


def _saved_quote(con: "duckdb.DuckDBPyConnection", job: Mapping[str, Any]) -> dict[str, Decimal] | None:
    """Cost parts of the newest saved quote of the job alone; None without one, or when a part of it is missing."""
    found = rows(con, "saved_quote_of_job", {"job_id": job["job_id"]})
    return found[0] if found and None not in found[0].values() else None


def _phases(lines: Sequence[Mapping[str, Any]], row: MarginRow, predicted: HoursByPhase | None) -> list[JobPhase]:
    costs = shares_to_the_cent([line["cost"] for line in lines], row["labour_cost"])
    found = [
        JobPhase(
            phase=line["phase"] or NOT_SPLIT,
            hours=line["hours"],
            cost=cost,
            predicted_hours=predicted.get(line["phase"]) if predicted else None,
        )
        for line, cost in zip(lines, costs, strict=True)
    ]
    missing = set(predicted or {}) - {phase["phase"] for phase in found}
    return found + [
        JobPhase(phase=phase, hours=Decimal(0), cost=Decimal(0), predicted_hours=hours)
        for phase, hours in (predicted or {}).items()
        if phase in missing and hours > 0
    ]


def _items(lines: Sequence[Mapping[str, Any]], row: MarginRow) -> list[JobItem]:
    costs = shares_to_the_cent([line["cost"] for line in lines], row["material_cost"])
    return [
        JobItem(
            item=line["item"],
            unit=line["unit"],
            quantity=line["quantity"],
            cost=cost,
            standard_quantity=line["standard_quantity"],
            price_variance=_cents(line["price_variance"]),
            usage_variance=_cents(line["usage_variance"]),
        )
        for line, cost in zip(lines, costs, strict=True)
    ]


def _worker_days(lines: Sequence[Mapping[str, Any]], row: MarginRow) -> list[JobWorkerDay]:
    costs = shares_to_the_cent([line["cost"] for line in lines], row["labour_cost"])
    return [
        JobWorkerDay(worked_on=line["worked_on"], worker_id=line["worker_id"], hours=line["hours"], cost=cost)
        for line, cost in zip(lines, costs, strict=True)
    ]


def _other(lines: Sequence[Mapping[str, Any]], row: MarginRow) -> list[JobOther]:
    amounts = shares_to_the_cent([line["amount"] for line in lines], row["other_cost"])
    return [
        JobOther(category=line["category"], amount=amount) for line, amount in zip(lines, amounts, strict=True)
    ]


def _callback(line: Mapping[str, Any]) -> JobCallback:
    return JobCallback(
        callback_id=line["callback_id"],
        opening_id=line["opening_id"],
        reported_on=line["reported_on"],
        complaint=line["complaint"],
        counts=line["counts"],
        why_not=line["why_not"],
        cost=_cents(line["net_cost"]),
    )


def _cents(value: Decimal | None) -> Decimal | None:
    return None if value is None else cents(value)
