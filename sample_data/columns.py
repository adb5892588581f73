"""Named columns of the scenario, and how they become text in a file."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Columns = dict[str, Array]
DECIMALS = 4


def to_text(values: Array) -> Array:
    """Canonical text of a column: ISO dates, plain numbers, "" for not recorded."""
    if values.dtype.kind == "U":
        return values
    if values.dtype.kind == "M":
        return np.where(np.isnat(values), "", np.datetime_as_string(values, unit="D"))
    if values.dtype.kind in "iu":
        return values.astype(str)
    return _number_text(values)


def _number_text(values: Array) -> Array:
    distinct, where = np.unique(np.round(values.astype(float), DECIMALS), return_inverse=True)
    words = ["" if np.isnan(v) else f"{v:.{DECIMALS}f}".rstrip("0").rstrip(".") for v in distinct]
    return np.array(["0" if word == "-0" else word for word in words], dtype=str)[where]


def texts(columns: Columns) -> Columns:
    """Every column as canonical text."""
    return {name: to_text(values) for name, values in columns.items()}


def take(columns: Columns, rows: Array) -> Columns:
    """The given rows (numbers or a mask) of every column."""
    return {name: values[rows] for name, values in columns.items()}


def stack(parts: list[Columns]) -> Columns:
    """One set of columns under the other."""
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}


def number_ids(prefix: str, count: int, width: int = 5) -> Array:
    """Ids such as L00001, wide enough for the count."""
    width = max(width, len(str(count)))
    return np.array([f"{prefix}{i:0{width}d}" for i in range(1, count + 1)], dtype=str)


def write_csv(path: Path, columns: Columns, headings: list[str] | None = None, *, separator: str = ",") -> None:
    """Write text columns as a separated file with one heading line."""
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out, delimiter=separator, lineterminator="\n")
        writer.writerow(headings or list(columns))
        writer.writerows(zip(*(values.tolist() for values in columns.values()), strict=True))
