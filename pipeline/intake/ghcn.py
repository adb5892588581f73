"""NOAA GHCN-Daily as NOAA publishes it: by-station and by-year CSV, and the fixed-width .dly."""

import re
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from pipeline.intake.assemble import Source, assembled
from pipeline.intake.headers import layout
from pipeline.intake.raw import NO_FAULTS, RawColumn, RawTable
from pipeline.intake.text_tables import HeaderFound, read_rows, text_lines
from pipeline.settings import Settings
from schemas.batch import FileRead

# GHCN-Daily readme, sections III and by-station: TMAX and TMIN in tenths of °C, PRCP in tenths of mm.
ELEMENTS = {"TMIN": "temp_min_f", "TMAX": "temp_max_f", "PRCP": "precipitation_in"}
CSV_COLUMNS = ("ID", "DATE", "ELEMENT", "DATA_VALUE", "M_FLAG", "Q_FLAG", "S_FLAG", "OBS_TIME")
MISSING = -9999
FAHRENHEIT_PER_TENTH_CELSIUS = (9, 50)
FAHRENHEIT_AT_ZERO_CELSIUS = 32
TENTHS_OF_MM_PER_INCH = 254
DLY_WIDTH = 269  # 21 leading columns and 31 days of 8
DLY_FIRST_DAY, DLY_DAY_WIDTH, DAYS = 21, 8, 31

_CSV_LINE = re.compile(rb'"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,"?-?\d{1,5}"?(,|\r?$)')
_CSV_HEADER = re.compile(rb'"?ID"?,"?DATE"?,"?ELEMENT"?,', re.IGNORECASE)
_DLY_LINE = re.compile(rb"[A-Z]{2}[A-Z0-9_-]{9}\d{4}(0[1-9]|1[0-2])[A-Z0-9]{4}[ \-\d]{4}\d")


@dataclass(frozen=True)
class Readings:
    """One element of one station on one day per row: station, day (text), element, value, value_text, flagged, line."""

    rows: pl.DataFrame
    not_used: int
    no_lines: pl.DataFrame  # lines that are no such line: line, text


def is_by_station(data: bytes) -> bool:
    """Whether a text is GHCN-Daily by station or by year, with or without its header."""
    first = data.lstrip()[:400].split(b"\n", 1)[0]
    return bool(_CSV_LINE.match(first) or _CSV_HEADER.match(first))


def is_fixed_width(data: bytes) -> bool:
    """Whether a text is a GHCN-Daily .dly file."""
    return bool(_DLY_LINE.match(data[:400]))


def by_station_file(source: Source, data: bytes, settings: Settings, received: date) -> FileRead:
    """The station-days of a by-station or by-year CSV."""
    return _station_days(source, _from_csv(data), settings, received)


def fixed_width_file(source: Source, data: bytes, settings: Settings, received: date) -> FileRead:
    """The station-days of a .dly file."""
    return _station_days(source, _from_dly(data), settings, received)


def _from_csv(data: bytes) -> Readings:
    has_header = bool(_CSV_HEADER.match(data))
    end = data.find(b"\n") + 1 or len(data)
    header = HeaderFound(CSV_COLUMNS, ",", int(has_header), end if has_header else 0)
    raw = read_rows(data, header)
    cells = dict(zip(CSV_COLUMNS, (column.text for column in raw.columns), strict=True))
    rows = pl.DataFrame(
        {"station": cells["ID"], "day": cells["DATE"], "element": cells["ELEMENT"], "value_text": cells["DATA_VALUE"],
         "flag": cells["Q_FLAG"], "trace": cells["M_FLAG"] == "T", "line": raw.lines}
    )  # fmt: skip
    wide = pl.int_range(rows.height, eager=True).is_in(raw.faults["_row"].implode())
    broken = rows.select(pl.any_horizontal(pl.col("station", "day", "element").is_null())).to_series() | wide
    day = pl.col("day").str.replace(r"^(\d{4})(\d{2})(\d{2})$", "${1}-${2}-${3}")
    text = pl.concat_str("station", "day", "element", "value_text", separator=",", ignore_nulls=True)
    return _sorted_out(rows.filter(~broken).with_columns(day), rows.filter(broken).select("line", text.alias("text")))


def _from_dly(data: bytes) -> Readings:
    lines = pl.DataFrame({"text": pl.Series(text_lines(data), dtype=pl.String)}).with_row_index("line", offset=1)
    lines = lines.with_columns(pl.col("line").cast(pl.Int64)).filter(pl.col("text").str.strip_chars() != "")
    fits = pl.col("text").str.contains(r"^[A-Z0-9_-]{11}\d{6}[A-Z0-9]{4}")
    months = lines.filter(fits).with_columns(pl.col("text").str.pad_end(DLY_WIDTH))
    days = [_dly_day(months, number) for number in range(1, DAYS + 1)]
    rows = pl.concat(days).filter(~pl.col("value_text").is_in([str(MISSING), ""]))
    return _sorted_out(rows.sort("line", "day", maintain_order=True), lines.filter(~fits))


def _dly_day(months: pl.DataFrame, number: int) -> pl.DataFrame:
    at = DLY_FIRST_DAY + DLY_DAY_WIDTH * (number - 1)
    text = pl.col("text")
    return months.select(
        text.str.slice(0, 11).alias("station"),
        pl.format("{}-{}-{}", text.str.slice(11, 4), text.str.slice(15, 2), pl.lit(f"{number:02}")).alias("day"),
        text.str.slice(17, 4).alias("element"),
        text.str.slice(at, 5).str.strip_chars().alias("value_text"),
        text.str.slice(at + 6, 1).alias("flag"),
        (text.str.slice(at + 5, 1) == "T").alias("trace"),
        "line",
    )


def _sorted_out(rows: pl.DataFrame, no_lines: pl.DataFrame) -> Readings:
    ours = rows.filter(pl.col("element").is_in(list(ELEMENTS)))
    value = pl.col("value_text").str.strip_chars().cast(pl.Int64, strict=False)
    flagged = pl.col("flag").str.strip_chars().fill_null("") != ""
    return Readings(
        ours.with_columns(value.alias("value"), flagged.alias("flagged"), pl.col("trace").fill_null(False)),
        rows.height - ours.height,
        no_lines,
    )


def _station_days(source: Source, readings: Readings, settings: Settings, received: date) -> FileRead:
    """One row per station and day; a value with a quality flag is not recorded, a trace is 0."""
    days = readings.rows.group_by("station", "day", maintain_order=True).agg(
        pl.col("line").min(), *(aggregate for element in ELEMENTS for aggregate in _of_element(element))
    )
    raw = RawTable(_columns(days, readings.no_lines), _lines(days, readings.no_lines), _faults(days, readings.no_lines))
    found = layout(["station_id", "observed_on", *ELEMENTS.values()], "weather", settings)
    canonical = {at: replace(plan, unit="") for at, plan in found.plans.items()}
    file = assembled(source, replace(found, plans=canonical), raw, received)
    return replace(file, not_used=readings.not_used, readings=(*file.readings, *_said(readings)))


def _of_element(element: str) -> list[pl.Expr]:
    """The day's value, its text where it is no number, and whether two values contradict each other."""
    own = pl.col("element") == element
    kept = own & ~pl.col("flagged") & (pl.col("value").is_null() | (pl.col("value") != MISSING))
    return [
        pl.col("value").filter(kept).first().alias(element),
        pl.col("value_text").filter(kept).first().alias(f"{element}_text"),
        (pl.col("value_text").filter(kept).n_unique() > 1).alias(f"{element}_twice"),
    ]


def _columns(days: pl.DataFrame, no_lines: pl.DataFrame) -> list[RawColumn]:
    station = pl.concat([days["station"], no_lines["text"].rename("station")])
    day = days["day"].extend_constant(None, no_lines.height)
    columns = [RawColumn("station_id", station), RawColumn("observed_on", day)]
    for element, name in ELEMENTS.items():
        numbers = _canonical(element, days[element]).extend_constant(None, no_lines.height)
        text = numbers.cast(pl.String).fill_null(days[f"{element}_text"].extend_constant(None, no_lines.height))
        columns.append(RawColumn(name, text, numbers=numbers))
    return columns


def _canonical(element: str, tenths: pl.Series) -> pl.Series:
    """Tenths of °C as °F, tenths of mm as in; exact where the result has a short decimal."""
    if element == "PRCP":
        return tenths.cast(pl.Float64) / TENTHS_OF_MM_PER_INCH
    times, parts = FAHRENHEIT_PER_TENTH_CELSIUS
    return (tenths * times + FAHRENHEIT_AT_ZERO_CELSIUS * parts).cast(pl.Float64) / parts


def _lines(days: pl.DataFrame, no_lines: pl.DataFrame) -> pl.Series:
    return pl.concat([days["line"], no_lines["line"]])


def _faults(days: pl.DataFrame, no_lines: pl.DataFrame) -> pl.DataFrame:
    found = [NO_FAULTS]
    for element in ELEMENTS:
        at = days[f"{element}_twice"].arg_true().cast(pl.Int64)
        values = days[f"{element}_text"].gather(at)
        reason = f"{element} stands more than once on this day with different values; keep the one that is right"
        found.append(_fault(at, values, ELEMENTS[element], reason))
    beyond = pl.int_range(days.height, days.height + no_lines.height, eager=True)
    found.append(_fault(beyond, no_lines["text"], "station_id", "this is no line of a GHCN-Daily file"))
    return pl.concat(found)


def _fault(at: pl.Series, values: pl.Series, column: str, reason: str) -> pl.DataFrame:
    return pl.DataFrame({"_row": at, "value": values}).select(
        "_row", pl.lit(column).alias("column"), "value", pl.lit(reason).alias("reason")
    ).cast(NO_FAULTS.schema)  # fmt: skip


def _said(readings: Readings) -> list[str]:
    flagged = int(readings.rows["flagged"].sum())
    trace = int((readings.rows["trace"] & (readings.rows["element"] == "PRCP")).sum())
    said = [f"values with a quality flag, taken as not recorded: {flagged}"] if flagged else []
    return said + ([f"days with a trace of rain, taken as 0 in: {trace}"] if trace else [])
