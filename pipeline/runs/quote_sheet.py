"""A quote to files: a sheet to print, and a CSV with a line per figure."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards.quote_sheet import quote_sheet
from pipeline.errors import InputError
from pipeline.store.sheets import write_csv

if TYPE_CHECKING:
    from schemas.results_quote import QuotedOpening, QuoteResult

COLUMNS = ("quote_id", "job_id", "opening_id", "part", "item", "quantity", "unit", "low", "high", "usd")
UNSAFE_IN_NAME = re.compile(r"[^A-Za-z0-9-]")


def write_quote_sheet(result: "QuoteResult", out: Path) -> list[Path]:
    """Write QUOTE_ID.html and QUOTE_ID.csv into the folder, which is made when missing.

    errors: InputError when the folder cannot be written
    """
    name = UNSAFE_IN_NAME.sub("-", result["quote_id"])
    page, table = out / f"{name}.html", out / f"{name}.csv"
    try:
        out.mkdir(parents=True, exist_ok=True)
        page.write_text(quote_sheet(result), encoding="utf-8")
        write_csv(table, quote_lines(result))
    except OSError as error:
        raise InputError(
            f"the quote cannot be written to {out}: {error.strerror}; give another folder with --out"
        ) from error
    return [page, table]


def quote_lines(result: "QuoteResult") -> pl.DataFrame:
    """Every figure of a quote as one line. [h, USD]"""
    lines = [line for opening in result["openings"] for line in _opening_lines(opening)]
    lines += [line for job in result["jobs"] for line in _job_lines(job)]
    lines += _total_lines(result["total"])
    numbers = ("quantity", "low", "high", "usd")
    schema = {name: pl.Float64 if name in numbers else pl.String for name in COLUMNS}
    return pl.DataFrame([{"quote_id": result["quote_id"], **line} for line in lines], schema=schema)


def _opening_lines(opening: "QuotedOpening") -> Iterator[dict[str, Any]]:
    where = {"job_id": opening["job_id"], "opening_id": opening["opening_id"]}
    for phase in opening["phases"]:
        yield {
            **where,
            "part": "hours",
            "item": phase["phase"],
            "quantity": phase["mean"],
            "unit": "h",
            "low": phase["p10"],
            "high": phase["p90"],
        }
    found = opening["labour_hours"]
    yield {
        **where,
        "part": "hours",
        "item": "all",
        "quantity": found["mean"],
        "unit": "h",
        "low": found["p10"],
        "high": found["p90"],
    }
    for line in opening["materials"]:
        yield {
            **where,
            "part": "material",
            "item": line["item"],
            "quantity": line["quantity"],
            "unit": line["unit"],
            "usd": line["expected_cost"],
        }


def _job_lines(job: Any) -> Iterator[dict[str, Any]]:
    for line in job["order"]:
        yield {
            "job_id": job["job_id"],
            "part": "order",
            "item": f"{line['item']} {line['spec']}".strip(),
            "quantity": line["order_quantity"],
            "unit": line["unit"],
            "usd": line["cost"],
        }
    for line in job["other_costs"]:
        yield {
            "job_id": job["job_id"],
            "part": "other cost",
            "item": line["category"],
            "low": line["low"],
            "high": line["high"],
            "usd": line["expected"],
        }


def _total_lines(total: Any) -> Iterator[dict[str, Any]]:
    names = (
        "labour_cost",
        "material_cost",
        "other_cost",
        "overhead",
        "callback_allowance",
        "expected_cost",
        "cost_p80",
        "price_at_margin",
        "price",
    )
    for name in names:
        yield {"part": "total", "item": name, "usd": total[name]}
    yield {"part": "total", "item": "margin", "quantity": total["margin"], "unit": "share of price"}
    yield {"part": "total", "item": "chance_of_loss", "quantity": total["chance_of_loss"], "unit": "share"}
