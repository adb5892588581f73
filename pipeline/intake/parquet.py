"""Parquet files: columns with types of their own, lines counted as index + 2."""

from pathlib import Path

import polars as pl

from pipeline.errors import InputError
from pipeline.intake.raw import RawColumn, RawTable

MOST_ROWS = 200_000_000
FIRST_LINE = 2  # house rule: the row of a Parquet file is its index + 2
NANOSECONDS_PER_HOUR = 3_600_000_000_000


def parquet_table(path: Path) -> RawTable:
    """All rows of a Parquet file.

    errors: InputError when it is none, is too long, or has columns of lists
    """
    try:
        rows = pl.scan_parquet(path, glob=False).select(pl.len()).collect().item()
        if rows > MOST_ROWS:
            raise InputError(f"{path} has {rows:,} rows, more than are read at once; split it")
        frame = pl.read_parquet(path, glob=False)
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException, OSError) as error:
        reason = str(error).splitlines()[0]
        raise InputError(f"{path}: cannot be read as Parquet: {reason}; write it anew") from error
    columns = [_column(series, path) for series in frame]
    lines = pl.int_range(FIRST_LINE, frame.height + FIRST_LINE, eager=True, dtype=pl.Int64)
    return RawTable(columns, lines, guarded=False)


def _column(series: pl.Series, path: Path) -> RawColumn:
    dtype = series.dtype
    if dtype == pl.String:
        return RawColumn(series.name, series)
    if dtype.is_numeric():
        return _numbers(series)
    if dtype in (pl.Date, pl.Datetime):
        day = series.dt.date() if dtype == pl.Datetime else series
        return RawColumn(series.name, series.cast(pl.String), dates=day)
    if dtype in (pl.Time, pl.Duration):
        clock = series.cast(pl.Duration("ns")).cast(pl.Int64) / NANOSECONDS_PER_HOUR
        return RawColumn(series.name, clock.cast(pl.String), clocks=clock)
    if dtype.is_nested() or dtype in (pl.Binary, pl.Object):
        raise InputError(f"{path}: column {series.name} holds lists or bytes; write one plain value per cell")
    return RawColumn(series.name, series.cast(pl.String))


def _numbers(series: pl.Series) -> RawColumn:
    numbers = series.cast(pl.Float64, strict=False).fill_nan(None)
    if series.dtype.is_integer():
        return RawColumn(series.name, series.cast(pl.String), numbers=numbers)
    if series.dtype.is_float():
        digits = numbers.set((numbers != numbers.floor()).fill_null(False), None).cast(pl.Int64, strict=False)
        return RawColumn(series.name, digits.cast(pl.String).fill_null(numbers.cast(pl.String)), numbers=numbers)
    return RawColumn(series.name, series.cast(pl.String), numbers=numbers)
