"""A book in memory with a few records typed in a test, and its money questions answered."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb

from pipeline.store.book import question, rows
from pipeline.store.layout import bring_up_to_date

DAY, LATER = date(2025, 3, 10), date(2025, 12, 31)
USUAL: Mapping[str, Mapping[str, Any]] = {
    "jobs": {"job_id": "J1", "crew": "north", "started_on": DAY, "completed_on": DAY, "contract_price": 1000},
    "openings": {"opening_id": "O1", "job_id": "J1", "wall_type": "brick", "opening_work": "new_cut"},
    "labour": {"job_id": "J1", "worked_on": DAY, "hours": 1, "hourly_cost": 40},
    "materials": {"job_id": "J1", "item": "foam", "unit": "can", "quantity": 1, "unit_cost": 5, "bought_on": DAY},
    "other_costs": {"job_id": "J1", "category": "permit", "amount": 100, "incurred_on": DAY},
    "callbacks": {"opening_id": "O1", "reported_on": DAY, "complaint": "leak", "labour_cost": 50},
    "prices": {"item": "foam", "unit": "can", "effective_on": date(2020, 1, 1), "unit_cost": 5},
}

Records = Sequence[Mapping[str, Any]]


def money_book(**records: Records) -> duckdb.DuckDBPyConnection:
    """A book of these records; what a row leaves out is usual. Without jobs it holds the one usual job."""
    con = duckdb.connect()
    bring_up_to_date(con)
    return filled(con, **records)


def filled(con: duckdb.DuckDBPyConnection, **records: Records) -> duckdb.DuckDBPyConnection:
    """An open book, emptied and filled with these records."""
    for kind in (*USUAL, "standard_quantities"):
        con.execute(f"delete from {kind}")  # noqa: S608
    for kind, lines in ({"jobs": [{}]} | records).items():
        for line in lines:
            row = {**USUAL[kind], **line}
            marks = ", ".join(f"${name}" for name in row)
            con.execute(f"insert into {kind} ({', '.join(row)}) values ({marks})", row)  # noqa: S608
    return con


def steps(*values: Any) -> list[dict[str, Any]]:
    """A setting: one value from the beginning, or (first day, value) pairs."""
    pairs = [value if isinstance(value, tuple) else (date(1900, 1, 1), value) for value in values]
    return [{"valid_from": first, "value": Decimal(str(value))} for first, value in pairs]


def hold(con: duckdb.DuckDBPyConnection, *, as_of: date = LATER, standard: Any = "40", overhead: Any = "0") -> None:
    """Work out the job costs by a day, measured with a standard hour and an overhead (a value, or steps)."""
    terms = {
        "standard": standard if isinstance(standard, list) else steps(standard),
        "overhead": overhead if isinstance(overhead, list) else steps(overhead),
        "warranty": steps(24),
    }
    con.execute(question("hold_job_costs"), {"as_of": as_of, **terms})


def sums(con: duckdb.DuckDBPyConnection, by: str = "all") -> list[dict[str, Any]]:
    """Exact sums of the job costs held, by group."""
    return rows(con, "margins", {"by": by, "first_day": None, "last_day": None})


def only(con: duckdb.DuckDBPyConnection, columns: str, table: str = "job_costs_held") -> list[tuple[Any, ...]]:
    """Some columns of the job costs held, in order of the job."""
    return con.execute(f"select {columns} from {table} order by job_id").fetchall()  # noqa: S608
