"""The same money worked out again from the files alone: csv, Decimal and loops, nothing of the program.

It follows the rules of the records as they are written down for users, not the code, so that a slip in either shows.
"""

import csv
import re
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property
from itertools import groupby
from pathlib import Path
from typing import Any

ZERO = Decimal(0)
CUSTOMER = re.compile(r"\b(customers?|(home)?owners?|tenants?|sprinklers?)\b|\bleft\b.*\bopen\b", re.IGNORECASE)
PARTS = ("revenue", "labour_cost", "material_cost", "other_cost", "overhead", "callback_cost")
PROFITS = ("gross_profit", "job_profit", "profit_after_callbacks")
VARIANCES = (
    "labour_rate_variance", "labour_efficiency_variance", "material_price_variance", "material_usage_variance",
)

Row = dict[str, str]


def number(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def or_zero(text: str) -> Decimal:
    return Decimal(text) if text else ZERO


@dataclass(frozen=True)
class Rules:
    """Settings of the firm as (first day, value) in order, and what jobs should use: (job, item, unit) -> quantity."""

    as_of: date
    standard: tuple[tuple[date, Decimal], ...]
    overhead: tuple[tuple[date, Decimal], ...]
    standard_use: dict[tuple[str, str, str], Decimal]


def in_force(steps: tuple[tuple[date, Decimal], ...], on: date) -> Decimal:
    """The last value that began by the day; before the first one, the first."""
    begun = [value for first, value in steps if first <= on]
    return begun[-1] if begun else steps[0][1]


class PlainMoney:
    """A folder of clean files, and the money in it."""

    def __init__(self, folder: Path, rules: Rules) -> None:
        self.rules = rules
        self.tables = {file.stem: list(csv.DictReader(file.open(encoding="utf-8"))) for file in folder.glob("*.csv")}

    def of_job(self, kind: str) -> dict[str, list[Row]]:
        found: dict[str, list[Row]] = defaultdict(list)
        for row in self.tables[kind]:
            found[row["job_id"]].append(row)
        return found

    @cached_property
    def labour(self) -> dict[str, list[Row]]:
        return self.of_job("labour")

    @cached_property
    def materials(self) -> dict[str, list[Row]]:
        return self.of_job("materials")

    @cached_property
    def other(self) -> dict[str, list[Row]]:
        return self.of_job("other_costs")

    @cached_property
    def openings(self) -> dict[str, list[Row]]:
        return self.of_job("openings")

    @cached_property
    def jobs(self) -> dict[str, dict[str, Any]]:
        """Every job begun by the day of the question, with exact figures."""
        begun = [row for row in self.tables["jobs"] if day(row["started_on"]) <= self.rules.as_of]
        return {row["job_id"]: self.job(row) for row in begun}

    def job(self, row: Row) -> dict[str, Any]:
        job_id = row["job_id"]
        ended = day(row["completed_on"])
        figures = {
            "job_id": job_id,
            "crew": row["crew"],
            "branch": row["branch"] or None,
            "completed_on": ended if ended and ended <= self.rules.as_of else None,
            "wall_type": self.kind_of(job_id, "wall_type"),
            "opening_work": self.kind_of(job_id, "opening_work"),
            "job_size": {1: "1 opening", 2: "2 openings"}.get(len(self.openings[job_id]), "3 or more openings"),
            "contract_price": Decimal(row["contract_price"]),
            "change_orders": or_zero(row["change_orders"]),
            "change_order_cost": or_zero(row["change_order_cost"]),
            "change_order_hours": or_zero(row["change_order_hours"]),
            "quoted_cost": number(row["quoted_cost"]),
            "revenue": Decimal(row["contract_price"]) + or_zero(row["change_orders"]),
            "other_cost": self.other_cost(job_id),
            "callback_cost": self.callback_cost[job_id],
        }
        figures |= self.labour_figures(job_id, number(row["quoted_labour_hours"]), figures["change_order_hours"])
        figures |= self.material_figures(job_id)
        figures["gross_profit"] = (
            figures["revenue"] - figures["labour_cost"] - figures["material_cost"] - figures["other_cost"]
        )
        figures["job_profit"] = figures["gross_profit"] - figures["overhead"]
        figures["profit_after_callbacks"] = figures["job_profit"] - figures["callback_cost"]
        return figures

    def kind_of(self, job_id: str, column: str) -> str:
        kinds = {row[column] for row in self.openings[job_id]}
        return kinds.pop() if len(kinds) == 1 else "mixed"

    def labour_lines(self, job_id: str) -> list[tuple[Row, Decimal, Decimal, Decimal]]:
        """Line, hours, cost and cost at the standard of its day."""
        lines = []
        for row in self.labour[job_id]:
            if day(row["worked_on"]) <= self.rules.as_of:
                hours = Decimal(row["hours"])
                at_standard = in_force(self.rules.standard, day(row["worked_on"]))
                lines.append((row, hours, hours * (number(row["hourly_cost"]) or at_standard), hours * at_standard))
        return lines

    def labour_figures(self, job_id: str, quoted: Decimal | None, added: Decimal) -> dict[str, Any]:
        lines = self.labour_lines(job_id)
        hours = sum((line[1] for line in lines), ZERO)
        cost = sum((line[2] for line in lines), ZERO)
        standard = sum((line[3] for line in lines), ZERO)
        overhead = sum(
            (hours * in_force(self.rules.overhead, day(row["worked_on"])) for row, hours, _, _ in lines), ZERO
        )
        is_quoted = quoted is not None and hours > 0
        return {
            "actual_hours": hours,
            "labour_cost": cost,
            "overhead": overhead,
            "labour_rate_variance": cost - standard,
            "labour_efficiency_variance": standard / hours * (hours - quoted - added) if is_quoted else None,
            "quoted_hours": quoted if is_quoted else None,
            "hours_of_quoted_jobs": hours if is_quoted else None,
        }

    def other_cost(self, job_id: str) -> Decimal:
        amounts = [
            Decimal(row["amount"])
            for row in self.other[job_id]
            if not row["incurred_on"] or day(row["incurred_on"]) <= self.rules.as_of
        ]
        return sum(amounts, ZERO)

    @cached_property
    def price_list(self) -> dict[tuple[str, str, str], list[tuple[date, Decimal]]]:
        listed = defaultdict(list)
        for row in self.tables["prices"]:
            key = (row["item"], row["spec"], row["unit"])
            listed[key].append((day(row["effective_on"]), Decimal(row["unit_cost"])))
        return {key: sorted(steps) for key, steps in listed.items()}

    def list_price(self, row: Row) -> Decimal | None:
        if not row["bought_on"]:
            return None
        for spec in (row["spec"], ""):
            steps = self.price_list.get((row["item"], spec, row["unit"]), [])
            begun = [price for first, price in steps if first <= day(row["bought_on"])]
            if begun:
                return begun[-1]
        return None

    def material_figures(self, job_id: str) -> dict[str, Any]:
        lines = [
            row
            for row in self.materials[job_id]
            if not row["bought_on"] or day(row["bought_on"]) <= self.rules.as_of
        ]
        paid = sum((Decimal(row["quantity"]) * Decimal(row["unit_cost"]) for row in lines), ZERO)
        priced = [(row, price) for row in lines if (price := self.list_price(row)) is not None]
        price = [Decimal(row["quantity"]) * (Decimal(row["unit_cost"]) - listed) for row, listed in priced]
        usage = []
        by_item = sorted(priced, key=lambda pair: (pair[0]["item"], pair[0]["unit"]))
        for (item, unit), group in groupby(by_item, key=lambda pair: (pair[0]["item"], pair[0]["unit"])):
            pairs = [(Decimal(row["quantity"]), listed) for row, listed in group]
            wanted = self.rules.standard_use.get((job_id, item, unit))
            listed_quantity = sum((quantity for quantity, _ in pairs), ZERO)
            if wanted is not None and listed_quantity:
                mean = sum(quantity * listed for quantity, listed in pairs) / listed_quantity
                bought = sum(
                    (Decimal(row["quantity"]) for row in lines if (row["item"], row["unit"]) == (item, unit)), ZERO
                )
                usage.append((bought - wanted) * mean)
        return {
            "material_cost": paid,
            "material_price_variance": sum(price, ZERO) if price else None,
            "material_usage_variance": sum(usage, ZERO) if usage else None,
        }

    @cached_property
    def visits(self) -> list[dict[str, Any]]:
        """Callbacks that count: reports of one visit put together, the dearest one's cost, only those ours to pay."""
        reported = [row for row in self.tables["callbacks"] if day(row["reported_on"]) <= self.rules.as_of]
        reported.sort(key=lambda row: (row["reported_on"], row["callback_id"]))
        visit_of = {row["callback_id"]: row["callback_id"] for row in reported}

        def join(one: str, other: str) -> None:
            old, new = visit_of[other], visit_of[one]
            for name, visit in visit_of.items():
                if visit == old:
                    visit_of[name] = new

        last: dict[tuple[str, str], Row] = {}
        for row in reported:
            key = (row["opening_id"], row["complaint"])
            before = last.get(key)
            if before and (day(row["reported_on"]) - day(before["reported_on"])).days <= 14:
                join(before["callback_id"], row["callback_id"])
            if row["duplicate_of"] in visit_of:
                join(row["duplicate_of"], row["callback_id"])
            last[key] = row
        together = defaultdict(list)
        for row in reported:
            together[visit_of[row["callback_id"]]].append(row)
        return [visit for rows in together.values() if (visit := self.visit(rows))["ours"]]

    def visit(self, rows: list[Row]) -> dict[str, Any]:
        given = [row["warranty"] for row in rows if row["warranty"]]
        ours = given[-1] == "yes" if given else not any(CUSTOMER.search(row["cause_found"]) for row in rows)
        unmarked = [row for row in rows if not row["duplicate_of"]] or rows
        costs = [cost for row in rows if (cost := self.visit_cost(row)) is not None]
        _, net = max(costs, key=lambda pair: pair[0], default=(None, None))
        return {"ours": ours, "leader": unmarked[0], "net": net}

    def visit_cost(self, row: Row) -> tuple[Decimal, Decimal] | None:
        """Cost before and after what was got back; None while there is neither hours nor a cost."""
        labour = number(row["labour_cost"])
        if labour is None and row["labour_hours"]:
            worked = day(row["visited_on"]) or day(row["reported_on"])
            labour = Decimal(row["labour_hours"]) * in_force(self.rules.standard, worked)
        if labour is None and not row["material_cost"]:
            return None
        gross = (labour or ZERO) + or_zero(row["material_cost"])
        return gross, gross - or_zero(row["recovered"])

    @cached_property
    def callback_cost(self) -> dict[str, Decimal]:
        job_of = {row["opening_id"]: row["job_id"] for row in self.tables["openings"]}
        cost: dict[str, Decimal] = defaultdict(lambda: ZERO)
        for visit in self.visits:
            cost[job_of[visit["leader"]["opening_id"]]] += visit["net"] or ZERO
        return cost

    def completed(self, first: date = date.min, last: date = date.max) -> list[dict[str, Any]]:
        return [job for job in self.jobs.values() if job["completed_on"] and first <= job["completed_on"] <= last]

    def grouped(self, by: str, jobs: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
        """Exact sums by group: key of the group -> figures."""
        groups = defaultdict(list)
        for job in jobs:
            key = job["completed_on"].strftime("%Y-%m") if by == "month" else job["job_id" if by == "job" else by]
            groups[key].append(job)
        return {key: self.sums(members) for key, members in groups.items()}

    def sums(self, jobs: list[dict[str, Any]]) -> dict[str, Any]:
        names = (*PARTS, *PROFITS, *VARIANCES, "actual_hours", "quoted_hours", "hours_of_quoted_jobs")
        sums: dict[str, Any] = {"jobs": len(jobs), "quoted_jobs": sum(job["quoted_hours"] is not None for job in jobs)}
        for name in names:
            known = [job[name] for job in jobs if job[name] is not None]
            sums[name] = sum(known, ZERO) if known else None
        with_hours = [job for job in jobs if job["actual_hours"]]
        revenue = sum((job["revenue"] for job in with_hours), ZERO)
        hours = sum((job["actual_hours"] for job in with_hours), ZERO)
        for ratio, profit in zip(("gross_margin", "job_margin", "margin_after_callbacks"), PROFITS, strict=True):
            earned = sum((job[profit] for job in with_hours), ZERO)
            sums[ratio] = float(earned / revenue) if revenue else None
        earned = sum((job["profit_after_callbacks"] for job in with_hours), ZERO)
        sums["profit_per_labour_hour"] = float(earned / hours) if hours else None
        return sums
