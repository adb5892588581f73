"""Monthly margins with all variances against plain sums of the same tables, every line joined to its standard.

50,000 jobs, 700,000 labour and 900,000 material rows, invented for speed alone. Target: at most 2.0 times the floor.
Beside it the ratio to sums that join nothing but whole jobs: no standards, no list prices, no variances.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import duckdb

from pipeline.runs.margins import margins_
from pipeline.settings import FIRST_DAY, Dated, Settings
from pipeline.store.layout import bring_up_to_date

TARGET = 2.0
ROUNDS = 7
SETTINGS = Settings(
    firm={
        "standard_hourly_cost": (Dated(FIRST_DAY, Decimal(38)), Dated(date(2024, 1, 1), Decimal(41))),
        "overhead_per_labour_hour": (Dated(FIRST_DAY, Decimal(20)),),
    }
)
MADE = """
create temp table numbers as select unnest(range($jobs)) as n;
insert into jobs (job_id, branch, crew, started_on, completed_on, contract_price, quoted_labour_hours, quoted_cost)
select format('J{:06d}', n), 'b' || n % 4, 'c' || n % 40, date '2019-01-01' + (n // 20)::integer,
    date '2019-01-03' + (n // 20)::integer, 4000 + n % 977 * 5, 20 + n % 30, 3000 + n % 500 from numbers;
insert into openings (opening_id, job_id, wall_type, opening_work)
select format('O{:06d}-{}', n, k), format('J{:06d}', n), ['brick', 'stone', 'poured_concrete'][1 + n % 3],
    ['new_cut', 'enlarge'][1 + n % 2] from numbers, range(1 + n % 2) as per_job(k);
insert into labour (entry_id, job_id, opening_id, worked_on, worker_id, phase, hours, hourly_cost)
select format('L{:06d}-{}', n, k), format('J{:06d}', n), format('O{:06d}-0', n),
    date '2019-01-01' + (n // 20 + k % 3)::integer, 'w' || (n + k) % 160,
    ['setup', 'excavation', 'wall_cutting', 'backfill'][1 + k % 4], 0.25 * (1 + (n * 7 + k * 3) % 16),
    case when k = 13 then null else 34 + (n + k) % 12 + 0.15 end
from numbers, range(14) as per_job(k);
insert into materials (line_id, job_id, item, spec, quantity, unit, unit_cost, bought_on)
select format('M{:06d}-{}', n, k), format('J{:06d}', n), 'item' || k, case when k < 3 then 'size ' || n % 12 end,
    1 + (n + k) % 25, 'ea', 2 + k * 3.35 + n % 7 * 0.05, date '2018-12-30' + (n // 20)::integer
from numbers, range(18) as per_job(k);
insert into prices (item, spec, effective_on, unit, unit_cost)
select 'item' || k, case when k < 3 then 'size ' || s end, date '2018-06-01' + (half * 182)::integer, 'ea',
    2 + k * 3.30 + half * 0.05
from range(18) as items(k), range(12) as specs(s), range(16) as halves(half) where k < 3 or s = 0;
insert into standard_quantities
select format('J{:06d}', n), 'item' || k, 1 + (n + k) % 24, 'ea', 'takeoff' from numbers, range(18) as per_job(k);
insert into other_costs (line_id, job_id, category, amount, incurred_on)
select format('X{:06d}-{}', n, k), format('J{:06d}', n), 'permit', 80 + n % 50, date '2019-01-02' + (n // 20)::integer
from numbers, range(2) as per_job(k);
insert into callbacks (callback_id, opening_id, reported_on, complaint, labour_cost, material_cost)
select format('C{:06d}', n), format('O{:06d}-0', n), date '2019-03-01' + (n // 20)::integer, 'leak', 120, 35
from numbers where n % 12 = 0;
"""
BY_JOB = """
with of_labour as (select job_id, sum(hours) as hours, sum(hours * hourly_cost) as cost from labour group by job_id),
of_materials as (select job_id, sum(quantity * unit_cost) as cost from materials group by job_id),
of_standards as (select job_id, sum(quantity) as quantity from standard_quantities group by job_id),
of_others as (select job_id, sum(amount) as cost from other_costs group by job_id),
of_callbacks as (
    select job_id, sum(labour_cost + material_cost) as cost
    from callbacks join openings using (opening_id) group by job_id
)
select strftime(completed_on, '%Y-%m'), count(*), sum(contract_price), sum(of_labour.cost), sum(of_labour.hours),
    sum(of_materials.cost), sum(of_others.cost), sum(of_callbacks.cost), sum(of_standards.quantity)
from jobs
left join of_labour using (job_id)
left join of_materials using (job_id)
left join of_standards using (job_id)
left join of_others using (job_id)
left join of_callbacks using (job_id)
group by all order by all
"""

JOINED = """
with list_price as (select item, coalesce(spec, '') as spec, effective_on, unit_cost from prices),
of_labour as (
    select job_id, sum(hours) as hours, sum(hours * hourly_cost) as cost, sum(hours * 20) as overhead
    from labour group by job_id
),
of_materials as (
    select materials.job_id, sum(materials.quantity * materials.unit_cost) as cost,
        sum(materials.quantity * list_price.unit_cost) as listed,
        sum((materials.quantity - standard_quantities.quantity) * list_price.unit_cost) as used
    from materials
    left join standard_quantities using (job_id, item, unit)
    asof left join list_price
        on materials.item = list_price.item and coalesce(materials.spec, '') = list_price.spec
        and materials.bought_on >= list_price.effective_on
    group by materials.job_id
),
of_others as (select job_id, sum(amount) as cost from other_costs group by job_id),
of_callbacks as (
    select job_id, sum(labour_cost + material_cost) as cost
    from callbacks join openings using (opening_id) group by job_id
)
select strftime(completed_on, '%Y-%m'), count(*), sum(contract_price), sum(of_labour.cost), sum(of_labour.hours),
    sum(overhead), sum(of_materials.cost), sum(listed), sum(used), sum(of_others.cost), sum(of_callbacks.cost)
from jobs
left join of_labour using (job_id)
left join of_materials using (job_id)
left join of_others using (job_id)
left join of_callbacks using (job_id)
group by all order by all
"""


def make_book(path: Path, jobs: int) -> None:
    """An invented book of the wanted size."""
    with duckdb.connect(str(path)) as con:
        bring_up_to_date(con)
        for statement in MADE.split(";\n"):
            if statement.strip():
                con.execute(statement, {"jobs": jobs} if "$jobs" in statement else None)


def plain(book: Path, sums: str) -> None:
    """Plain sums, grouped by month."""
    with duckdb.connect(str(book), read_only=True) as con:
        con.execute(sums).fetchall()


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main(jobs: int = 50_000) -> None:
    """Print the medians and the ratios; all run in turn in one process."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "book.duckdb"
        make_book(book, jobs)
        cases: dict[str, Callable[[], object]] = {
            "margins": lambda: margins_(book, SETTINGS),
            "sums, every line joined": lambda: plain(book, JOINED),
            "sums, whole jobs joined": lambda: plain(book, BY_JOB),
        }
        rounds = [{name: seconds(work) for name, work in cases.items()} for _ in range(ROUNDS + 1)][1:]
    for name in cases:
        wall = statistics.median(taken[name] for taken in rounds)
        ratio = statistics.median(taken["margins"] / taken[name] for taken in rounds)
        print(f"{jobs:,} jobs | {name:<24} | {wall:7.3f} s | margins take {ratio:5.2f} times as long")
    print(f"target: at most {TARGET} times the sums with every line joined")


if __name__ == "__main__":
    main(*(int(size) for size in sys.argv[1:]))
