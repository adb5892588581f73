"""The price list in force on the day of a quote: it may be newer than the last fit."""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.store.book import rows

if TYPE_CHECKING:
    import duckdb


def with_list_in_force(con: "duckdb.DuckDBPyConnection", materials: Mapping[str, Any], as_of: date) -> dict[str, Any]:
    """A stored materials model whose listed prices are those in force on a day.

    in:     the stored model; the day
    out:    the same model; item -> spec ("" = any) -> price per unit, of prices in the unit the firm buys the item in
    source: house rule: a new list holds from its day on, not from the next fit
    """
    units = {name: item["unit"] for name, item in materials["items"].items()}
    listed: dict[str, dict[str, float]] = {}
    for line in rows(con, "fit_prices", {"as_of": as_of}):
        if units.get(line["item"], line["unit"]) == line["unit"]:
            listed.setdefault(line["item"], {})[line["spec"]] = line["unit_cost"]
    return {**materials, "prices": {**materials["prices"], "listed": listed}}
