"""Exact figures rounded to the cent so that what is shown still adds up, down the rows and across them."""

from collections.abc import Sequence
from decimal import ROUND_FLOOR, Decimal
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pipeline.costing.rounding_choice import rounding_choice

CENT = Decimal("0.01")
A_CENT_OFF = 1 - 1e-9
HALF_A_CENT_OFF = 0.5 + 1e-9
NOT_NEAREST, WHOLE_CENT_OFF = 1e3, 1e6  # dwarf the squared part-cents, which only choose between equals

Floats = NDArray[np.float64]
Bits = NDArray[np.int64]


def cents(value: Decimal) -> Decimal:
    """One figure by itself: the nearest cent, halves to the even cent."""
    return value.quantize(CENT)


def shares_to_the_cent(values: Sequence[Decimal], total: Decimal | None = None) -> list[Decimal]:
    """Figures that add up, once rounded, to their rounded total. [USD]

    in:     exact figures; total: the total as it is shown, the exact one to the nearest cent when left out
    out:    each within a cent of its exact figure; their sum is the total
    source: largest remainders (the parts nearest the next cent are rounded up)
    """
    floors = [value.quantize(CENT, rounding=ROUND_FLOOR) for value in values]
    shown = cents(sum(values, Decimal(0))) if total is None else total
    to_give = int((shown - sum(floors, Decimal(0))) / CENT)
    by_remainder = sorted(range(len(values)), key=lambda at: floors[at] - values[at])
    raised = set(by_remainder[:to_give])
    return [floor + CENT if at in raised else floor for at, floor in enumerate(floors)]


def table_to_the_cent(rows: Sequence[Sequence[Decimal]], subtotals: Sequence[int]) -> list[list[Decimal]]:
    """A table whose columns still add up to their totals when the sums across each row are rounded as well. [USD]

    in:     rows of signed exact figures; subtotals: after how many columns a sum across the row is shown
    out:    the rows, then the row of totals, which depends on the exact totals alone; each total the sum of its column;
            every figure and every sum across a row less than a cent off, but where the totals leave no such way
    source: controlled rounding: every figure goes to the cent below or above (Cox 1987, J. Am. Stat. Assoc. 82,
            from memory); a quick choice first, the exact one of rounding_choice where that leaves a figure a cent off
    """
    if not rows:
        return [[Decimal(0)] * max(subtotals)]
    exact = [list(row) for row in rows]
    exact.append([sum(column, Decimal(0)) for column in zip(*exact, strict=True)])
    floors, part = _floors_and_parts(exact)
    raised = _nearest(part, subtotals)
    wanted = _cents_to_give(floors) + raised[-1]
    _meet_totals(raised, part, subtotals, wanted)
    if (_misfit(raised, part, subtotals) >= WHOLE_CENT_OFF).any():
        raised[:-1] = rounding_choice(part[:-1], subtotals, wanted)
    return _with_raised(floors, raised)


def rows_to_the_cent(rows: Sequence[Sequence[Decimal]], subtotals: Sequence[int]) -> list[list[Decimal]]:
    """Rows rounded each by itself: as many figures and sums across the row as can be at their nearest cent. [USD]

    in:     as for table_to_the_cent
    out:    the rows, every figure and every sum across a row within a cent of the exact one
    """
    if not rows:
        return []
    floors, part = _floors_and_parts(rows)
    return _with_raised(floors, _nearest(part, subtotals))


def _floors_and_parts(exact: Sequence[Sequence[Decimal]]) -> tuple[list[list[Decimal]], Floats]:
    """The cent below each figure, and the part of a cent above it."""
    floors = [[value.quantize(CENT, rounding=ROUND_FLOOR) for value in row] for row in exact]
    part = [
        [float((value - floor) / CENT) for value, floor in zip(*pair, strict=True)]
        for pair in zip(exact, floors, strict=True)
    ]
    return floors, np.array(part)


def _with_raised(floors: Sequence[Sequence[Decimal]], raised: Bits) -> list[list[Decimal]]:
    return [
        [floor + CENT * int(up) for floor, up in zip(*pair, strict=True)] for pair in zip(floors, raised, strict=True)
    ]


def _cents_to_give(floors: Sequence[Sequence[Decimal]]) -> Bits:
    below = [sum(column, Decimal(0)) for column in zip(*floors[:-1], strict=True)]
    return np.array([int((total - rows) / CENT) for total, rows in zip(floors[-1], below, strict=True)])


def _misfit(raised: Bits, part: Floats, subtotals: Sequence[int]) -> Floats:
    """How badly each row stands: figures and sums a whole cent off, then those not at their nearest cent."""
    off = raised - part
    sums = np.stack([off[..., :count].sum(axis=-1) for count in subtotals], axis=-1)
    shown = np.abs(np.concatenate([off, sums], axis=-1))
    misfit: Floats = (
        WHOLE_CENT_OFF * (shown >= A_CENT_OFF).sum(axis=-1)
        + NOT_NEAREST * (shown > HALF_A_CENT_OFF).sum(axis=-1)
        + (shown**2).sum(axis=-1)
    )
    return misfit


def _nearest(part: Floats, subtotals: Sequence[int]) -> Bits:
    """For each row by itself the best choice of cents above (1) or below (0)."""
    best = np.zeros(part.shape, dtype=np.int64)
    least = np.full(len(part), np.inf)
    for choice in product((0, 1), repeat=part.shape[1]):
        raised = np.broadcast_to(np.array(choice, dtype=np.int64), part.shape)
        misfit = _misfit(raised, part, subtotals)
        better = misfit < least
        best[better], least[better] = raised[better], misfit[better]
    return best


def _meet_totals(raised: Bits, part: Floats, subtotals: Sequence[int], wanted: Bits) -> None:
    """Move single cents of single columns, the least harmful first, until each column adds up to its total."""
    rows = raised[:-1]
    for column, target in enumerate(wanted):
        missing = int(target - rows[:, column].sum())
        moved = rows.copy()
        moved[:, column] += 1 if missing > 0 else -1
        harm = _misfit(moved, part[:-1], subtotals) - _misfit(rows, part[:-1], subtotals)
        possible = (moved[:, column] >= 0) & (moved[:, column] <= (part[:-1, column] > 0))
        least_harmful = np.argsort(np.where(possible, harm, np.inf), kind="stable")[: abs(missing)]
        rows[least_harmful] = moved[least_harmful]
