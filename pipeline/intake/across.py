"""One key once in a batch: rows that contradict each other all wait."""

from collections.abc import Sequence

import polars as pl

from pipeline.intake.raw import NO_FAULTS
from schemas.batch import FileRead, set_aside
from schemas.kinds import KINDS

LINES_NAMED = 5  # other lines that a reason names before it says how many more there are


def same_key_twice(files: Sequence[FileRead]) -> list[FileRead]:
    """The files with every key that stands in the batch with different rows moved to the rows that wait.

    Identical copies stay: the book counts the second one as unchanged. A row that waits for another reason
    and has the same key counts as a different row.
    """
    result = list(files)
    for kind in dict.fromkeys(file.kind for file in files):
        of_kind = [at for at, file in enumerate(files) if file.kind == kind]
        conflicts = _conflicts([files[at] for at in of_kind], kind)
        for place, at in enumerate(of_kind):
            result[at] = set_aside(files[at], conflicts.filter(pl.col("_file") == place))
    return result


def _conflicts(files: Sequence[FileRead], kind: str) -> pl.DataFrame:
    """Good rows whose key stands elsewhere with other values: _file, _row, column, value, reason."""
    repeated = _repeated_keys(files)
    if repeated.is_empty():
        return NO_FAULTS.with_columns(pl.lit(0).alias("_file"))
    content = list(KINDS[kind].columns())
    good = pl.concat(
        [_copies(file.good, repeated).with_columns(pl.lit(at).alias("_file"), pl.lit(file.name).alias("_name"))
         for at, file in enumerate(files)]
    )  # fmt: skip
    waiting = pl.concat(
        [_copies(file.bad, repeated).select("_key", "_line", pl.lit(file.name).alias("_name")) for file in files]
    )
    versions = good.select("_key", *content).unique().group_by("_key").agg(pl.len().alias("versions"))
    differing = (
        good.join(versions, on="_key", how="left", validate="m:1")
        .filter((pl.col("versions") > 1) | pl.col("_key").is_in(waiting["_key"].implode()))
    )  # fmt: skip
    places = pl.concat([differing.select("_key", "_line", "_name"), waiting])
    return _named(differing, places, KINDS[kind].key[0])


def _repeated_keys(files: Sequence[FileRead]) -> pl.Series:
    keys = pl.concat([frame["_key"] for file in files for frame in (file.good, file.bad)]).drop_nulls()
    if keys.n_unique() == len(keys):
        return keys.clear()
    return keys.filter(keys.is_duplicated()).unique()


def _copies(rows: pl.DataFrame, repeated: pl.Series) -> pl.DataFrame:
    return rows.filter(pl.col("_key").is_in(repeated.implode()))


def _named(differing: pl.DataFrame, places: pl.DataFrame, key_column: str) -> pl.DataFrame:
    """Each differing row with a reason that names the other lines of its key."""
    others: dict[str, list[tuple[str, int]]] = {}
    for key, line, name in places.select("_key", "_line", "_name").iter_rows():
        others.setdefault(key, []).append((name, line))
    reasons = [
        _reason(f"{key_column} '{row[key_column]}'", others[row["_key"]], (row["_name"], row["_line"]))
        for row in differing.iter_rows(named=True)
    ]
    return differing.select(
        "_file", "_row", pl.lit(key_column).alias("column"), pl.col(key_column).cast(pl.String).alias("value"),
        pl.Series("reason", reasons, dtype=pl.String),
    )  # fmt: skip


def _reason(named: str, places: Sequence[tuple[str, int]], own: tuple[str, int]) -> str:
    elsewhere = [place for place in places if place != own]
    lines = ", ".join(
        f"line {line}" + (f" of {name}" if name != own[0] else "") for name, line in elsewhere[:LINES_NAMED]
    )
    more = f" and {len(elsewhere) - LINES_NAMED} more" if len(elsewhere) > LINES_NAMED else ""
    return f"{named} stands also on {lines}{more} with different values; keep the row that is right"
