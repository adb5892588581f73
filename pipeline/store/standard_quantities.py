"""Quantities a job should have used: written by a fit or a saved quote, read by the usage variance."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    import duckdb


class StandardQuantity(NamedTuple):
    """What one job should use of one item, in units of `unit`."""

    job_id: str
    item: str
    quantity: float
    unit: str


def write_standard_quantities(
    con: "duckdb.DuckDBPyConnection", basis: Literal["quote", "takeoff"], lines: Iterable[StandardQuantity]
) -> None:
    """Keep the standard quantities of some jobs.

    Lines of one job, item and unit are added up. Basis "takeoff" replaces all earlier ones of that basis (a new
    fit); basis "quote" replaces those of the same jobs.
    """
    found = list(lines)
    if basis == "takeoff":
        con.execute("delete from standard_quantities where basis = 'takeoff'")
    jobs = sorted({line.job_id for line in found})
    con.execute("delete from standard_quantities where basis = ? and list_contains(?, job_id)", [basis, jobs])
    if found:
        columns = [[line[at] for line in found] for at in range(len(StandardQuantity._fields))]
        con.execute(
            "insert into standard_quantities select job_id, item, sum(quantity), unit, ? from (select "
            "unnest(?::varchar[]) as job_id, unnest(?::varchar[]) as item, unnest(?::decimal(14, 4)[]) as quantity, "
            "unnest(?::varchar[]) as unit) group by all",
            [basis, *columns],
        )
