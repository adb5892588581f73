"""Daily weather of the two invented stations."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sample_data.columns import Array, Columns, take
from sample_data.truth import DAYS, FIRST_DAY, RAIN_FACTORS, RAIN_STEPS_IN, STATIONS

MEAN_TEMP_F, SEASON_F, NIGHT_DROP_F = 51.0, 23.0, 19.0
WET_MONTHS = {3: 0.40, 4: 0.42, 5: 0.38}
ORDINARY_WET_SHARE = 0.26
GAUGE_OUT_SHARE = 0.005


def all_days() -> Array:
    """Every day of the scenario."""
    return FIRST_DAY + np.arange(DAYS)


def month_of(days: Array) -> Array:
    """Month number 1-12 of dates."""
    return days.astype("datetime64[M]").astype(int) % 12 + 1


def year_of(days: Array) -> Array:
    """Calendar year of dates."""
    return days.astype("datetime64[Y]").astype(int) + 1970


def daily_weather(rng: np.random.Generator) -> dict[str, Array]:
    """rain_in, temp_min_f, temp_max_f: one row per station, one column per day."""
    low, high = _temperatures(rng)
    return {"rain_in": _rain(rng), "temp_min_f": low, "temp_max_f": high}


def _temperatures(rng: np.random.Generator) -> tuple[Array, Array]:
    day_of_year = np.arange(DAYS) + 304
    season = MEAN_TEMP_F - SEASON_F * np.cos(2 * np.pi * (day_of_year - 20) / 365.25)
    shock, drift = rng.normal(0, 4.5, DAYS), np.zeros(DAYS)
    for day in range(1, DAYS):
        drift[day] = 0.7 * drift[day - 1] + shock[day]
    middle = season + drift + np.array([[0.0], [-2.0]]) + rng.normal(0, 1, (2, DAYS))
    half = NIGHT_DROP_F / 2 * rng.uniform(0.6, 1.3, (2, DAYS))
    return np.round(middle - half), np.round(middle + half)


def _rain(rng: np.random.Generator) -> Array:
    days = all_days()
    share = np.array([WET_MONTHS.get(m, ORDINARY_WET_SHARE) for m in month_of(days)])
    bad_month = days.astype("datetime64[M]") == np.datetime64("2025-06")
    share = np.where(bad_month, 0.62, share)
    wet = rng.random(DAYS) < share
    amount = rng.gamma(0.75, 0.46, DAYS) * np.where(bad_month, 1.8, 1.0)
    river = wet * amount
    hill = river * rng.uniform(0.6, 1.35, DAYS) * (rng.random(DAYS) < 0.88)
    return np.asarray(np.round(np.stack([river, hill]), 2))


def recent_rain_in(rain_in: Array) -> Array:
    """Largest fall of the day and the two days before, per station and day. [in]"""
    one = np.pad(rain_in, ((0, 0), (1, 0)))[:, :-1]
    two = np.pad(rain_in, ((0, 0), (2, 0)))[:, :-2]
    return np.asarray(np.maximum(rain_in, np.maximum(one, two)))


def leak_clock(rain_in: Array) -> Array:
    """Days of ordinary leak risk elapsed at the end of each day, per station (mean 1 a day)."""
    steps = np.searchsorted(RAIN_STEPS_IN, recent_rain_in(rain_in), side="right")
    daily = np.array(RAIN_FACTORS)[steps]
    return np.cumsum(daily / daily.mean(axis=1, keepdims=True), axis=1)


def weather_records(rng: np.random.Generator, weather: dict[str, Array]) -> Columns:
    """The weather kind: one row per station and day, a few readings missing."""
    rain = weather["rain_in"].ravel().copy()
    rain[rng.random(rain.size) < GAUGE_OUT_SHARE] = np.nan
    return {"station_id": np.repeat(np.array(STATIONS), DAYS), "observed_on": np.tile(all_days(), 2),
            "temp_min_f": weather["temp_min_f"].ravel(), "temp_max_f": weather["temp_max_f"].ravel(),
            "precipitation_in": rain}


def write_dly(path: Path, records: Columns) -> None:
    """Write records as GHCN-Daily fixed-width lines: one station, element and month a line.

    Source of the layout: NOAA GHCN-Daily readme, section III (tenths of mm, tenths of deg C, -9999 missing).
    """
    elements = {"PRCP": np.round(records["precipitation_in"] * 254),
                "TMAX": np.round((records["temp_max_f"] - 32) / 0.18),
                "TMIN": np.round((records["temp_min_f"] - 32) / 0.18)}
    months = records["observed_on"].astype("datetime64[M]")
    lines = [_dly_line(take(records, months == month), element, values[months == month])
             for month in np.unique(months) for element, values in elements.items()]
    path.write_text("\n".join(lines) + "\n", encoding="ascii")


def _dly_line(of_month: Columns, element: str, values: Array) -> str:
    cells = ["-9999   "] * 31
    month = of_month["observed_on"][0].astype("datetime64[M]")
    day_numbers = (of_month["observed_on"] - month.astype("datetime64[D]")).astype(int)
    for day, value in zip(day_numbers, values, strict=True):
        cells[day] = "-9999   " if np.isnan(value) else f"{int(value):5d}  Z"
    return f"{of_month['station_id'][0]}{str(month).replace('-', '')}{element}" + "".join(cells)
