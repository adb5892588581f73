"""NOAA GHCN-Daily: published lines and the values they stand for.

Formats: GHCN-Daily readme, section III (.dly) and readme of the by-station files; units there: TMAX, TMIN in tenths
of °C, PRCP in tenths of mm. The 1910 line and the rows of 1800 and 2023 are published records.
"""

from datetime import date
from pathlib import Path

import pytest

from pipeline.errors import InputError
from pipeline.settings import Settings
from tests.unit.intake.made import read_text, reasons

FORT_MARCH_1910 = (
    "USW00093986191003PRCP" + "    0  6" * 15 + "  127  6" + "    0  6" * 1 + "    0T 6" + "   13  6"
    + "    0  6" * 9 + "    0T 6" + "    0  6" * 1 + "    0  6"
)  # fmt: skip
YEAR_1800 = """ITE00100554,18000101,TMAX,-75,,,E,
ITE00100554,18000101,TMIN,-148,,,E,
GM000010962,18000101,PRCP,0,,,E,
EZE00100082,18000101,TMAX,-86,,,E,
EZE00100082,18000101,TMIN,-135,,,E,
ITE00100554,18000102,TMAX,-60,,I,E,
ITE00100554,18000102,TMIN,-125,,,E,
"""
HEADER = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"


def test_the_fixed_width_month_of_march_1910(tmp_path: Path) -> None:
    """Day 16 is 127 tenths of mm = 0.50 in exactly, day 19 is 13 = 0.0512 in, days 18 and 29 a trace, total 140."""
    assert len(FORT_MARCH_1910) == 269
    file = read_text(tmp_path, "USW00093986.dly", FORT_MARCH_1910 + "\n")
    rain = dict(file.good.select("observed_on", "precipitation_in").iter_rows())
    assert (file.kind, file.rows, file.good.height) == ("weather", 31, 31)
    assert rain[date(1910, 3, 16)] == 0.5
    assert rain[date(1910, 3, 19)] == pytest.approx(0.0512, abs=5e-5)
    assert rain[date(1910, 3, 18)] == rain[date(1910, 3, 29)] == 0.0
    assert sum(rain.values()) == pytest.approx(0.5512, abs=5e-5)
    assert sum(value >= 0.01 for value in rain.values()) == 2
    assert file.readings == ("days with a trace of rain, taken as 0 in: 2",)


def test_missing_days_negative_values_and_stripped_line_ends_of_fixed_width(tmp_path: Path) -> None:
    """-9999 is missing and no row; -123 tenths of °C = 9.86 °F; a line may lose its trailing blanks."""
    line = "USW00093986202502TMIN" + " -123  W" + "-9999   " * 30
    other = "USW00093986202502SNOW" + "    3  W" * 2 + "-9999   " * 29
    file = read_text(tmp_path, "x.dly", line.rstrip() + "\n" + other + "\n")
    assert file.good.select("observed_on", "temp_min_f").rows() == [(date(2025, 2, 1), pytest.approx(9.86))]
    assert file.not_used == 2


def test_by_station_rows_of_1800_without_a_header(tmp_path: Path) -> None:
    """-75 -> 18.5 °F, -148 -> 5.36, -86 -> 16.52, -135 -> 7.70; the TMAX with quality flag I is not recorded."""
    file = read_text(tmp_path, "year-1800.csv", YEAR_1800)
    rows = file.good.select("station_id", "observed_on", "temp_max_f", "temp_min_f", "precipitation_in").rows()
    assert rows == [
        ("ITE00100554", date(1800, 1, 1), 18.5, 5.36, None),
        ("GM000010962", date(1800, 1, 1), None, None, 0.0),
        ("EZE00100082", date(1800, 1, 1), 16.52, 7.7, None),
        ("ITE00100554", date(1800, 1, 2), None, 9.5, None),
    ]
    assert (file.rows, file.not_used) == (4, 0)


def test_by_station_rows_of_2023_with_a_header(tmp_path: Path) -> None:
    """TAVG has no column of ours; PRCP 5 = 0.5 mm = 0.0197 in."""
    text = (
        HEADER
        + "IN022021900,20230929,TAVG,278,H,,S,\nIN022021900,20230930,TAVG,999,,X,S,\nIN022021900,20230930,PRCP,5,,,S,\n"
    )
    file = read_text(tmp_path, "weather.csv", text)
    assert file.good.select("observed_on", "precipitation_in", "_line").rows() == [
        (date(2023, 9, 30), pytest.approx(0.0197, abs=5e-5), 4)
    ]
    assert file.not_used == 2


@pytest.mark.parametrize(("tenths", "fahrenheit"), [(-11, 30.02), (0, 32.0), (44, 39.92)])
def test_tenths_of_celsius(tmp_path: Path, tenths: int, fahrenheit: float) -> None:
    """-11 -> 30.02 °F, 0 -> 32.0, 44 -> 39.92 (just under a 40 °F rule)."""
    file = read_text(tmp_path, "weather.csv", HEADER + f"IN022021900,20230929,TMIN,{tenths},,,S,\n")
    assert file.good["temp_min_f"].to_list() == [fahrenheit]


def test_two_values_of_one_day_and_lines_that_cannot_be_read_wait(tmp_path: Path) -> None:
    text = (
        HEADER
        + "A0000000001,20230101,PRCP,5,,,S,\nA0000000001,20230101,PRCP,6,,,S,\n"
        + "A0000000001,20230199,PRCP,5,,,S,\nA0000000001,20230102,PRCP,x,,,S,\n"
    )
    file = read_text(tmp_path, "weather.csv", text)
    assert file.good.is_empty() and file.rows == 3
    assert "PRCP stands more than once on this day" in reasons(file)[2]
    assert "observed_on is '2023-01-99'" in reasons(file)[4]
    assert "precipitation_in is 'x'" in reasons(file)[5]


SUMMARIES = (
    "STATION,DATE,NAME,PRCP,PRCP_ATTRIBUTES,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
    'USW1,2025-01-01,"TOWN, ST",25,",,W,2400",356,",X,W",-11,",,W"\n'
    'USW1,2025-01-02,"TOWN, ST",,,,,,\n'
)


def test_daily_summaries_are_refused_without_a_unit(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"a daily-summaries file does not say its unit.*\[units\]"):
        read_text(tmp_path, "weather.csv", SUMMARIES)


@pytest.mark.parametrize(
    ("units", "rain", "low"),
    [
        ({"precipitation_in": "tenths_mm", "temp_min_f": "tenths_c", "temp_max_f": "tenths_c"}, 25 / 254, 30.02),
        ({"precipitation_in": "in", "temp_min_f": "F", "temp_max_f": "F"}, 25, -11.0),
        ({"precipitation_in": "mm", "temp_min_f": "C", "temp_max_f": "C"}, 25 / 25.4, 12.2),
    ],
)
def test_daily_summaries_are_read_in_the_unit_that_is_set(
    tmp_path: Path, units: dict[str, str], rain: float, low: float
) -> None:
    """25 tenths of mm = 25/254 in; -11 tenths of °C = 30.02 °F, -11 °C = 12.2 °F; flagged values are null."""
    file = read_text(tmp_path, "weather.csv", SUMMARIES, settings=Settings(units=units))
    assert file.good.select("station_id", "observed_on", "temp_max_f").rows() == [("USW1", date(2025, 1, 1), None)]
    assert file.good["precipitation_in"].to_list() == [pytest.approx(rain)]
    assert file.good["temp_min_f"].to_list() == [pytest.approx(low)]
    assert file.not_used == 1


def test_a_line_that_is_no_reading_waits(tmp_path: Path) -> None:
    text = HEADER + "A0000000001,20230101,PRCP,5,,,S,\nend of file\nA0000000001,20230102,PRCP,5,,,S,,9,9\n"
    file = read_text(tmp_path, "weather.csv", text)
    assert (file.rows, file.good.height, file.not_used) == (3, 1, 0)
    assert list(reasons(file)) == [3, 4]
