"""One key once in a batch: rows that contradict each other all wait."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import polars as pl

from schemas.batch import FileRead, set_aside
from schemas.kinds import KINDS, Kind

LINES_NAMED = 5  # other lines that a reason names before it says how many more there are
Places = Mapping[str, Sequence[tuple[str, int]]]  # key -> the files and lines on which it stands


def same_key_twice(files: Sequence[FileRead]) -> list[FileRead]:
    """The files with every key that stands in the batch with different rows moved to the rows that wait.

    Identical copies stay: the book counts the second one as unchanged. A row that waits for another reason
    and has the same key counts as a different row, and its reason names the other lines too.
    """
    result = list(files)
    for kind in dict.fromkeys(file.kind for file in files):
        of_kind = [at for at, file in enumerate(files) if file.kind == kind]
        settled = _settled([files[at] for at in of_kind], KINDS[kind])
        for at, file in zip(of_kind, settled, strict=True):
            result[at] = file
    return result


def _settled(files: Sequence[FileRead], kind: Kind) -> Sequence[FileRead]:
    repeated = _repeated_keys(files)
    if repeated.is_empty():
        return files
    differing = _differing(files, kind, repeated)
    places = _places(files, differing["_key"])
    told = [_told_of_others(file, places) for file in files]
    conflicts = _named(differing, places, kind)
    return [set_aside(file, conflicts.filter(pl.col("_file") == at)) for at, file in enumerate(told)]


def _places(files: Sequence[FileRead], keys: pl.Series) -> Places:
    places: dict[str, list[tuple[str, int]]] = {}
    for file in files:
        found = pl.concat([_copies(rows, keys).select("_line", "_key") for rows in (file.good, file.bad)])
        for line, key in found.sort("_line").iter_rows():
            places.setdefault(key, []).append((file.name, line))
    return places


def _told_of_others(file: FileRead, places: Places) -> FileRead:
    """The file with the other lines named beside the faults of a bad row whose key also stands in a good one."""
    reasons = [
        f"{reason}; {_reason('the same record', places[key], (file.name, line))}" if key in places else reason
        for key, line, reason in file.bad.select("_key", "_line", "reason").iter_rows()
    ]
    return replace(file, bad=file.bad.with_columns(pl.Series("reason", reasons, dtype=pl.String)))


def _differing(files: Sequence[FileRead], kind: Kind, repeated: pl.Series) -> pl.DataFrame:
    """Good rows whose key stands elsewhere with other values, with their place as _file and _name."""
    content = list(kind.columns())
    good = pl.concat(
        [_copies(file.good, repeated).with_columns(pl.lit(at).alias("_file"), pl.lit(file.name).alias("_name"))
         for at, file in enumerate(files)]
    )  # fmt: skip
    waiting = pl.concat([_copies(file.bad, repeated)["_key"] for file in files])
    versions = good.select("_key", *content).unique().group_by("_key").agg(pl.len().alias("versions"))
    return (
        good.join(versions, on="_key", how="left", validate="m:1")
        .filter((pl.col("versions") > 1) | pl.col("_key").is_in(waiting.implode()))
    )  # fmt: skip


def _repeated_keys(files: Sequence[FileRead]) -> pl.Series:
    keys = pl.concat([frame["_key"] for file in files for frame in (file.good, file.bad)]).drop_nulls()
    if keys.n_unique() == len(keys):
        return keys.clear()
    return keys.filter(keys.is_duplicated()).unique()


def _copies(rows: pl.DataFrame, repeated: pl.Series) -> pl.DataFrame:
    return rows.filter(pl.col("_key").is_in(repeated.implode()))


def _named(differing: pl.DataFrame, places: Places, kind: Kind) -> pl.DataFrame:
    """Each differing row with a reason that names the other lines: _file, _row, column, value, reason."""
    key_column = kind.key[0]
    reasons = [
        _reason(_in_words(kind, row), places[row["_key"]], (row["_name"], row["_line"]))
        for row in differing.iter_rows(named=True)
    ]
    return differing.select(
        "_file", "_row", pl.lit(key_column).alias("column"), pl.col(key_column).cast(pl.String).alias("value"),
        pl.Series("reason", reasons, dtype=pl.String),
    )  # fmt: skip


def _in_words(kind: Kind, row: Mapping[str, object]) -> str:
    """What names the row: `job_id 'J1'`, or for a row without an id all that it is known by."""
    names = kind.natural if kind.natural and row[kind.key[0]] is None else kind.key
    return ", ".join(f"{name} '{row[name]}'" for name in names if row[name] is not None)


def _reason(named: str, places: Sequence[tuple[str, int]], own: tuple[str, int]) -> str:
    elsewhere = [place for place in places if place != own]
    lines = ", ".join(
        f"line {line}" + (f" of {name}" if name != own[0] else "") for name, line in elsewhere[:LINES_NAMED]
    )
    more = f" and {len(elsewhere) - LINES_NAMED} more" if len(elsewhere) > LINES_NAMED else ""
    return f"{named} stands also on {lines}{more} with different values; keep the row that is right"
