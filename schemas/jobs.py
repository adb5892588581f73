"""One row per job and one per opening: who, where, when, what was promised."""

from typing import Any

import pandera.polars as pa
import polars as pl

from schemas import fields


class Jobs(pa.DataFrameModel):
    """A job: one contract at one address."""

    job_id: str = fields.identifier("The firm's job number.")
    branch: str = fields.text("Which branch did it.")
    site: str = fields.text("Where it is, to find the job; never printed on a page.")
    crew: str = fields.text("The crew that did it.", optional=False)
    quoted_on: pl.Date = fields.day("Day of the quote.")
    started_on: pl.Date = fields.day("First day of work.", optional=False)
    completed_on: pl.Date = fields.day("Last day of work; empty while the job is open.")
    contract_price: float = fields.money("Price agreed before change orders.", optional=False)
    change_orders: float = fields.money("Added to or taken off the price; empty counts as 0.", signed=True)
    change_order_hours: float = fields.signed_hours("Hours the change orders added.")
    change_order_cost: float = fields.money("Cost the change orders added.", signed=True)
    quoted_labour_hours: float = fields.hours("Labour hours expected at quoting.")
    quoted_cost: float = fields.money("All cost expected at quoting: overhead in, profit out.")
    weather_station: str = fields.text("Station whose weather stands for the site.")
    warranty_months: int = fields.count("Warranty of this job; empty means the firm's setting.", least=0)

    @pa.dataframe_check
    @classmethod
    def job_is_completed_on_or_after_its_start(cls, data: Any) -> pl.LazyFrame:
        """A job cannot end before it began."""
        lazyframe: pl.LazyFrame = data.lazyframe
        return lazyframe.select(pl.col("completed_on") >= pl.col("started_on"))


class Openings(pa.DataFrameModel):
    """One opening in a foundation wall."""

    opening_id: str = fields.identifier("The firm's number for the opening.")
    job_id: str = fields.identifier("The job it belongs to.")
    wall_type: str = fields.word("wall_type", "What the wall is made of.", optional=False)
    wall_thickness_in: float = fields.size_in("Thickness of the wall.", most=fields.MAX_WALL_IN)
    opening_work: str = fields.word("opening_work", "New cut, enlarge or replace.", optional=False)
    rough_width_in: float = fields.size_in("Width of the rough opening.", optional=False)
    rough_height_in: float = fields.size_in("Height of the rough opening.", optional=False)
    existing_width_in: float = fields.reading_in("Width of the opening that was there; empty counts as 0.")
    existing_height_in: float = fields.reading_in("Height of the opening that was there; empty counts as 0.")
    depth_below_grade_in: float = fields.reading_in("Grade to the bottom of the dig; never the well's depth.")
    soil: str = fields.word("soil", "What is dug.")
    dig_method: str = fields.word("dig_method", "Hand, machine or no digging.")
    reinforced: bool = fields.yes_no("Steel in the wall.")
    well_type: str = fields.word("well_type", "Kind of well.", optional=False)
    well_width_in: float = fields.size_in("Width of the well along the wall.")
    well_projection_in: float = fields.size_in("How far the well stands out from the wall.")
    well_depth_in: float = fields.size_in("Depth of the finished well.")
    drain: str = fields.word("drain", "Drain under the well.")
    clear_width_in: float = fields.size_in("Net clear width of the open window, from the maker.")
    clear_height_in: float = fields.size_in("Net clear height of the open window, from the maker.")
    sill_above_floor_in: float = fields.reading_in("Bottom of the clear opening above the floor.")
    sill_below_grade_in: float = fields.reading_in("Bottom of the clear opening below finished grade.", signed=True)
    window_spec: str = fields.text("Size or model of the window.")
    well_spec: str = fields.text("Size or model of the well.")

    @pa.dataframe_check
    @classmethod
    def rough_opening_is_not_narrower_than_the_existing_one(cls, data: Any) -> pl.LazyFrame:
        """A cut takes wall away: the rough opening is no narrower than the one that stood there."""
        lazyframe: pl.LazyFrame = data.lazyframe
        return lazyframe.select(pl.col("rough_width_in") >= pl.col("existing_width_in"))

    @pa.dataframe_check
    @classmethod
    def rough_opening_is_not_lower_than_the_existing_one(cls, data: Any) -> pl.LazyFrame:
        """Nor is it lower than the one that stood there."""
        lazyframe: pl.LazyFrame = data.lazyframe
        return lazyframe.select(pl.col("rough_height_in") >= pl.col("existing_height_in"))
