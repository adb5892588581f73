"""The fixed table of luck: 2,048 low-discrepancy draws, stored once so that every reader computes the same chances."""

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

DRAWS = 2048
SEED = 20_480
ROLL = 389  # rows by which the table is turned for each further job: odd, so that no two jobs of 2,048 share a turn
COLUMNS = ("hours", "materials", "other", "visits", "visit_cost")
PLACES = 9  # decimals kept, so that the stored text is the same everywhere


DrawTable = dict[str, list[float]]


def draw_table() -> DrawTable:
    """The table, the same on every call.

    out:    five columns of 2,048 values: hours, materials, other, visit_cost standard normal; visits uniform in 0-1
    source: scrambled Sobol sequence (Owen 1998, from memory), its rows shuffled: in the sequence's own order a turned
            table would mirror itself, and jobs of one quote would share their luck
    """
    from scipy.special import ndtri
    from scipy.stats import qmc

    luck = np.random.default_rng(SEED)
    uniform = luck.permutation(qmc.Sobol(len(COLUMNS), rng=luck).random(DRAWS))
    uniform = np.clip(uniform, 0.5 / DRAWS, 1 - 0.5 / DRAWS)
    columns = {name: uniform[:, at] for at, name in enumerate(COLUMNS)}
    normal = {name: column if name == "visits" else ndtri(column) for name, column in columns.items()}
    return {name: np.round(column, PLACES).tolist() for name, column in normal.items()}


def column_for(table: DrawTable, name: str, job: int) -> Numbers:
    """One column of the table, turned for the job's place in the quote."""
    return np.roll(np.array(table[name], dtype=float), job * ROLL)
