"""Openings as columns of numbers and words, the form in which take-off and estimates read them."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Words = NDArray[np.str_]
Flags = NDArray[np.bool_]
Openings = Mapping[str, NDArray[Any]]



def count(openings: Openings) -> int:
    """How many openings the columns hold."""
    return len(openings["wall_type"])


def numbers(openings: Openings, column: str) -> Numbers:
    """One column as floats; nan where nothing was recorded or the column is absent.

    in:     the columns of openings, the name of one
    out:    one float per opening, unit as in the column's name
    source: house rule (empty means not recorded, never 0)
    """
    if column not in openings:
        return np.full(count(openings), np.nan)
    values = openings[column]
    if values.dtype == object:
        return np.array([np.nan if value is None else float(value) for value in values], dtype=float)
    return np.asarray(values, dtype=float)


def words(openings: Openings, column: str) -> Words:
    """One column as text; the empty text where nothing was recorded or the column is absent."""
    if column not in openings:
        return np.full(count(openings), "", dtype=str)
    values = openings[column]
    if values.dtype == object:
        return np.array(["" if value is None else str(value) for value in values], dtype=str)
    return np.asarray(values, dtype=str)


def zero_if_absent(openings: Openings, column: str) -> Numbers:
    """A size whose default is 0 by the record's own definition: the existing window of an opening."""
    return np.nan_to_num(numbers(openings, column), nan=0.0)
