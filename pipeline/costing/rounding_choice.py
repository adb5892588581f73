"""Which figures of a table go to the cent above so that all sums hold: the exact answer, by a linear program."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

WHOLE_CENT_OFF = 1e3  # dwarfs the squared parts of a cent
SLACK = 1e-9  # parts of a cent are exact to far more digits than this

Floats = NDArray[np.float64]
Bits = NDArray[np.int64]


def rounding_choice(part: Floats, subtotals: Sequence[int], wanted: Bits) -> Bits:
    """Cents to add to each figure so that columns meet their totals, with the least error over figures and row sums.

    in:     part of a cent of each figure above the cent below it, one row per row of the table;
            subtotals: after how many columns a sum across the row is shown; wanted: cents to give in each column
    out:    0 or 1 for each figure; -1 or 2 (a whole cent off) only where the column totals leave no other way
    source: controlled rounding as a transport problem (Cox 1987, J. Am. Stat. Assoc. 82, from memory). Row sums nest in
            rows and columns do not cross, so the corners of the feasible set are whole numbers and the simplex
            method ends on one
    """
    from scipy.optimize import linprog
    from scipy.sparse import csr_array, hstack

    rows, columns = part.shape
    across, down = _sums(rows, columns, subtotals)
    exact = across @ part.ravel()
    low, high = np.floor(exact + SLACK), np.ceil(exact - SLACK)
    cells, limits = part.size, 2 * across.shape[0]
    off = _identity(limits)
    solved = linprog(
        np.concatenate([_slope(part, across, exact - low), np.full(2 * cells + limits, WHOLE_CENT_OFF)]),
        A_ub=hstack([_both_ways(across, across), -off]).tocsr(),
        b_ub=np.concatenate([high, -low]),
        A_eq=hstack([down, down, -down, csr_array((columns, limits))]).tocsr(),
        b_eq=wanted,
        bounds=[(0, 0 if one <= SLACK else 1) for one in part.ravel()] + [(0, 1)] * (2 * cells + limits),
        method="highs-ds",
    )
    plain, added, taken = np.rint(solved.x[: 3 * cells]).reshape(3, *part.shape)
    raised: Bits = (plain + added - taken).astype(np.int64)
    return raised


def _slope(part: Floats, across: Any, above: Floats) -> Floats:
    """Squared error gained by raising each figure: its own, and that of every row sum it stands in."""
    slope: Floats = (1 - 2 * part.ravel()) + across.T @ (1 - 2 * np.clip(above, 0, 1))
    return slope


def _identity(size: int) -> "csr_array":
    from scipy.sparse import eye_array

    return eye_array(size).tocsr()


def _both_ways(across: Any, again: Any) -> "csr_array":
    """Row sums of the figures and of the whole cents added and taken off, not above and not below their limits."""
    from scipy.sparse import hstack, vstack

    line = hstack([across, again, -again])
    return vstack([line, -line]).tocsr()


def _sums(rows: int, columns: int, subtotals: Sequence[int]) -> "tuple[csr_array, csr_array]":
    """One line per sum that is shown: sums across each row; column totals."""
    from scipy.sparse import csr_array, eye_array, kron

    prefixes = csr_array(np.array([[at < count for at in range(columns)] for count in subtotals], dtype=float))
    across = kron(eye_array(rows), prefixes).tocsr()
    down = kron(csr_array(np.ones((1, rows))), eye_array(columns)).tocsr()
    return across, down
