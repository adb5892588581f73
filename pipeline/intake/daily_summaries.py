"""NOAA's daily-summaries CSV, which does not say its unit: read only when the settings do."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import polars as pl

from pipeline.errors import InputError
from pipeline.intake.headers import plain
from pipeline.intake.raw import NO_FAULTS, RawColumn, RawTable
from pipeline.settings import Settings

COLUMNS = {
    "station": "station_id",
    "date": "observed_on",
    "tmin": "temp_min_f",
    "tmax": "temp_max_f",
    "prcp": "precipitation_in",
}
MEASURED = ("tmin", "tmax", "prcp")
ATTRIBUTES = "_attributes"


class UnitNotSaid(InputError):
    """The settings do not say the unit of a daily-summaries file; units: what they may well be, to look at the file."""

    def __init__(self, sentence: str, units: Mapping[str, str]) -> None:
        super().__init__(sentence)
        self.units = units


def is_daily_summaries(headers: Sequence[str]) -> bool:
    """Whether a header is that of the daily-summaries file."""
    names = [plain(header) for header in headers]
    return "station" in names and "date" in names and any(name in names for name in MEASURED)


def our_headings(headers: Sequence[str], settings: Settings, name: str) -> list[str]:
    """The header in our words.

    errors: UnitNotSaid when the settings do not say the unit of a column that is there
    """
    names = [plain(header) for header in headers]
    unsaid = [COLUMNS[name] for name in MEASURED if name in names and COLUMNS[name] not in settings.units]
    if unsaid:
        example = ", ".join(f'{column} = "{_example(column)}"' for column in unsaid)
        raise UnitNotSaid(
            f"{name}: a daily-summaries file does not say its unit, and guessing would spoil the weather; "
            f"write it into the settings under [units]: {example} (or mm, in, C, F as the order said)",
            {column: _example(column) for column in unsaid},
        )
    return [COLUMNS.get(plain(header), header) for header in headers]


def _example(column: str) -> str:
    return "tenths_mm" if column == "precipitation_in" else "tenths_c"


def sorted_out(raw: RawTable) -> tuple[RawTable, int]:
    """Values with a quality flag taken out, days without any of the three elements left out.

    out: the table, and how many values of other elements and empty days were not used
    """
    by_name = {plain(column.header): column for column in raw.columns}
    columns = [_unflagged(column, by_name) for column in raw.columns]
    ours = [column.text for column in columns if column.header in {COLUMNS[name] for name in MEASURED}]
    others = [column for name, column in by_name.items() if name + ATTRIBUTES in by_name]
    keep = pl.select(pl.any_horizontal(_filled(text) for text in ours)).to_series()
    not_used = sum(int(_filled(column.text).sum()) for column in others) + int((~keep).sum())
    kept = [RawColumn(column.header, column.text.filter(keep)) for column in columns if not _is_other(column, others)]
    rows = pl.DataFrame({"_row": pl.int_range(raw.height, eager=True).filter(keep)}).with_row_index("to")
    faults = raw.faults.join(rows, on="_row").with_columns(pl.col("to").cast(pl.Int64).alias("_row")).drop("to")
    return replace(raw, columns=kept, lines=raw.lines.filter(keep), faults=faults.select(NO_FAULTS.columns)), not_used


def _is_other(column: RawColumn, others: Sequence[RawColumn]) -> bool:
    return any(column is other for other in others) or plain(column.header).endswith(ATTRIBUTES)


def _filled(text: pl.Series) -> pl.Series:
    return text.str.strip_chars().fill_null("") != ""


def _unflagged(column: RawColumn, by_name: dict[str, RawColumn]) -> RawColumn:
    """The column without values whose second attribute, the quality flag, is set."""
    source = next((short for short, name in COLUMNS.items() if name == column.header), None)
    attributes = None if source is None else by_name.get(source + ATTRIBUTES)
    if attributes is None:
        return column
    flag = attributes.text.str.split(",").list.get(1, null_on_oob=True).str.strip_chars().fill_null("")
    return replace(column, text=column.text.set(flag != "", None))
