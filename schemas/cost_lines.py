"""What a job used up: hours, materials, other costs."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class Labour(pa.DataFrameModel):
    """Hours of one worker on one day."""

    entry_id: str = fields.identifier("Number of the time entry.", optional=True)
    job_id: str = fields.identifier("The job worked on.")
    opening_id: str = fields.identifier("The opening worked on; empty = shared by the job's openings.", optional=True)
    worked_on: pl.Date = fields.day("Day worked.", optional=False)
    worker_id: str = fields.identifier("Who worked.", optional=True)
    phase: str = fields.word("phase", "Part of the work; empty = not split.")
    hours: float = fields.hours_worked("Hours worked.")
    hourly_cost: float = fields.money("Burdened cost of an hour; empty = the firm's standard of that day, marked.")


class Materials(pa.DataFrameModel):
    """One line of material bought for a job."""

    line_id: str = fields.identifier("Number of the line.", optional=True)
    job_id: str = fields.identifier("The job it was bought for.")
    opening_id: str = fields.identifier("The opening it went into; empty = shared.", optional=True)
    item: str = fields.word("item", "What was bought.", optional=False)
    spec: str = fields.text("Size or model.")
    quantity: float = fields.number("How much; negative for returned goods.", optional=False)
    unit: str = fields.word("unit", "Unit of the quantity.", optional=False)
    unit_cost: float = fields.money("Cost per unit as paid, tax and freight in.", optional=False)
    bought_on: pl.Date = fields.day("Day bought.")


class OtherCosts(pa.DataFrameModel):
    """A cost that is neither labour nor material."""

    line_id: str = fields.identifier("Number of the line.", optional=True)
    job_id: str = fields.identifier("The job it belongs to.")
    category: str = fields.word("category", "Kind of cost.", optional=False)
    amount: float = fields.money("How much; negative for a credit.", optional=False, signed=True)
    incurred_on: pl.Date = fields.day("Day incurred.")
