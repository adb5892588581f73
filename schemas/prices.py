"""The supplier's price list."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class Prices(pa.DataFrameModel):
    """A price from a day on."""

    item: str = fields.word("item", "What is priced.", optional=False)
    spec: str = fields.text("Size or model; empty = any.")
    effective_on: pl.Date = fields.day("First day of the price.", optional=False)
    unit: str = fields.word("unit", "Unit of the price.", optional=False)
    pack_size: float = fields.number("Units in a pack; empty = found from purchases.", positive=True)
    unit_cost: float = fields.money("Price per unit, not per pack.", optional=False)
