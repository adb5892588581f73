"""A design whose many yes/no columns exclude one another, such as crews: kept as one code per row for quick sums."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FEWEST_FLAGS = 8  # below, plain matrix products are as quick; measured


@dataclass(frozen=True)
class Columns:
    """The columns of a matrix in two parts; any product is that of the whole matrix, in its order.

    dense: rows x some columns as they are; code: per row which of the others is 1, from 1 on (0 = none)
    at_dense, at_flags: their places in the whole matrix
    """

    dense: Array
    code: NDArray[np.int64]
    at_dense: NDArray[np.int64]
    at_flags: NDArray[np.int64]

    @property
    def width(self) -> int:
        """Columns of the whole matrix."""
        return len(self.at_dense) + len(self.at_flags)

    def times(self, effects: Array) -> Array:
        """The matrix times one value per column: a value per row."""
        product: Array = self.dense @ effects[self.at_dense]
        if len(self.at_flags):
            product = product + np.append(0.0, effects[self.at_flags])[self.code]
        return product

    def sums(self, values: Array) -> Array:
        """The transposed matrix times values, rows x anything: the values summed per column."""
        found = np.empty((self.width, values.shape[1]))
        found[self.at_dense] = self.dense.T @ values
        found[self.at_flags] = self._per_flag(values)
        return found

    def gram(self, weights: Array) -> Array:
        """The transposed matrix times the matrix, each row counted by its weight."""
        found = np.zeros((self.width, self.width))
        weighted = self.dense * weights[:, None]
        crossed = self._per_flag(weighted)
        found[np.ix_(self.at_dense, self.at_dense)] = self.dense.T @ weighted
        found[np.ix_(self.at_flags, self.at_dense)] = crossed
        found[np.ix_(self.at_dense, self.at_flags)] = crossed.T
        found[self.at_flags, self.at_flags] = self._per_flag(weights[:, None])[:, 0]
        return found

    def _per_flag(self, values: Array) -> Array:
        size = len(self.at_flags)
        if not size:
            return np.zeros((0, values.shape[1]))
        sums = [np.bincount(self.code, weights=column, minlength=size + 1)[1:] for column in values.T]
        return np.array(sums, dtype=float).reshape(len(sums), size).T


def columns_of(features: Array) -> Columns:
    """Part a matrix: from the left, the columns of 0 and 1 of which no row has two."""
    code = np.zeros(len(features), dtype=np.int64)
    flags: list[int] = []
    for at, rows in _rows_of_ones(features):
        if not code[rows].any():
            flags.append(at)
            code[rows] = len(flags)
    if len(flags) < FEWEST_FLAGS:
        flags, code = [], np.zeros_like(code)
    at_flags = np.array(flags, dtype=np.int64)
    at_dense = np.setdiff1d(np.arange(features.shape[1]), at_flags)
    return Columns(features[:, at_dense], code, at_dense, at_flags)


def _rows_of_ones(features: Array) -> Iterator[tuple[int, NDArray[np.int64]]]:
    """Every column that holds nothing but 0 and 1, with the rows of its ones."""
    low, high = features.min(axis=0, initial=0.0), features.max(axis=0, initial=1.0)
    is_set = features != 0
    counts = is_set.sum(axis=0)
    only_ones = (low == 0) & (high == 1) & (features.sum(axis=0) == counts)
    row, column = np.nonzero(is_set & only_ones)
    by_column = row[np.argsort(column, kind="stable")]
    ends = np.cumsum(counts * only_ones)
    for at in np.flatnonzero(only_ones):
        yield int(at), by_column[ends[at] - counts[at] : ends[at]]
