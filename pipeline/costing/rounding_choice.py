"""Which figures of a table go to the cent above so that all sums hold: the exact answer, by a linear program."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scipy.sparse import csr_array

SLACK = 1e-9  # parts of a cent are exact to far more digits than this

Floats = NDArray[np.float64]
Bits = NDArray[np.int64]


def rounding_choice(part: Floats, subtotals: Sequence[int]) -> Bits:
    """The cents above (1) or below (0) with the least squared error over figures, row sums, column totals, all at once.

    in:     part of a cent of each figure above the cent below it, one row per row of the table;
            subtotals: after how many columns a sum across the row is shown
    out:    1 or 0 for each figure; every figure, row sum, column total and sum of totals less than a cent off
    source: controlled rounding as a transport problem (Cox 1987, J. Am. Stat. Assoc. 82, from memory). Row sums nest in
            rows and totals nest in columns, so the corners of the feasible set are whole numbers and the simplex
            method ends on one
    """
    from scipy.optimize import linprog

    rows, columns = part.shape
    sums = _sums(rows, columns, subtotals)
    exact = sums @ part.ravel()
    low, high = np.floor(exact + SLACK), np.ceil(exact - SLACK)
    solved = linprog(
        _slope(part, sums, exact - low),
        A_ub=_stacked(sums),
        b_ub=np.concatenate([high, -low]),
        bounds=[(0, 0 if one <= SLACK else 1) for one in part.ravel()],
        method="highs-ds",
    )
    raised: Bits = np.rint(solved.x).astype(np.int64).reshape(part.shape)
    return raised


def _slope(part: Floats, sums: Any, above: Floats) -> Floats:
    """Squared error gained by raising each figure: its own, and that of every sum it stands in."""
    slope: Floats = (1 - 2 * part.ravel()) + sums.T @ (1 - 2 * np.clip(above, 0, 1))
    return slope


def _stacked(sums: Any) -> "csr_array":
    from scipy.sparse import vstack

    return vstack([sums, -sums]).tocsr()


def _sums(rows: int, columns: int, subtotals: Sequence[int]) -> "csr_array":
    """One line per sum that is shown: sums across each row, column totals, sums of the totals."""
    from scipy.sparse import csr_array, eye_array, kron, vstack

    across = csr_array(np.array([[at < count for at in range(columns)] for count in subtotals], dtype=float))
    down = csr_array(np.ones((1, rows)))
    return vstack([kron(eye_array(rows), across), kron(down, eye_array(columns)), kron(down, across)]).tocsr()
