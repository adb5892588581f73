"""Quotes given, and what became of them."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class Quotes(pa.DataFrameModel):
    """One quote."""

    quote_id: str = fields.identifier("Number of the quote.")
    quoted_on: pl.Date = fields.day("Day of the quote.", optional=False)
    branch: str = fields.text("Which branch quoted.")
    job_id: str = fields.identifier("The job it became, when won.", optional=True)
    openings: int = fields.count("Openings quoted.", optional=False, least=1)
    predicted_hours: float = fields.hours("Hours predicted.")
    quoted_cost: float = fields.money("Cost predicted.")
    price: float = fields.money("Price asked.", optional=False)
    outcome: str = fields.word("outcome", "Won, lost or open.", optional=False)
    decided_on: pl.Date = fields.day("Day of the decision.")
