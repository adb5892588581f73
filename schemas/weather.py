"""Daily weather at a station."""

import pandera.polars as pa
import polars as pl

from schemas import fields


class Weather(pa.DataFrameModel):
    """One station and day."""

    station_id: str = fields.identifier("The station.")
    observed_on: pl.Date = fields.day("The day.", optional=False)
    temp_min_f: float = fields.temperature_f("Lowest temperature of the day.")
    temp_max_f: float = fields.temperature_f("Highest temperature of the day.")
    precipitation_in: float = fields.rain_in("Rain and melted snow of the day.")
