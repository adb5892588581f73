"""Warranty return visits."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class Callbacks(pa.DataFrameModel):
    """One report of trouble at a finished opening."""

    callback_id: str = fields.identifier("Number of the report.")
    opening_id: str = fields.identifier("The opening it is about.")
    reported_on: pl.Date = fields.day("Day the customer called.", optional=False)
    complaint: str = fields.word("complaint", "What the customer said.", optional=False)
    cause_found: str = fields.text("What was found.")
    visited_on: pl.Date = fields.day("Day of the visit.")
    visited_by_crew: str = fields.text("Crew that went.")
    work_done: str = fields.text("What was done.")
    fixed: bool = fields.yes_no("Solved.")
    closed_on: pl.Date = fields.day("Day it was closed.")
    labour_hours: float = fields.hours("Hours of the visit.")
    labour_cost: float = fields.money("Cost of those hours; empty = not costed yet.")
    material_cost: float = fields.money("Material of the visit; empty = not costed yet.")
    recovered: float = fields.money("Got back from a maker or insurer; empty counts as 0.")
    duplicate_of: str = fields.identifier("The report this one repeats.", optional=True)
    warranty: bool = fields.yes_no("Ours to pay; empty = decided by words in the cause found.")
