"""A table as it stands in its file: cells as text, and the exact value where the file itself gives the type."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import polars as pl

from schemas.batch import FAULT

NO_FAULTS = pl.DataFrame(schema={"_row": pl.Int64, **FAULT})


@dataclass(frozen=True)
class RawColumn:
    """One column as read.

    text:    every cell as text, null where the cell is empty
    numbers: exact numbers of cells that the file itself types as numbers
    dates:   the same for dates
    clocks:  the same for clock times and durations. [h]
    """

    header: str
    text: pl.Series
    numbers: pl.Series | None = None
    dates: pl.Series | None = None
    clocks: pl.Series | None = None


@dataclass(frozen=True)
class RawTable:
    """The rows under a header.

    lines:   the line on which each row starts
    faults:  rows that are wrong as a whole (too many cells): _row, column, value, reason
    guarded: text that looks like a formula carries an apostrophe that is not part of it
    kept:    for a corrected quarantine file, the number that ties each row back
    """

    columns: Sequence[RawColumn]
    lines: pl.Series
    faults: pl.DataFrame = field(default_factory=lambda: NO_FAULTS)
    guarded: bool = True

    @property
    def height(self) -> int:
        """How many rows there are."""
        return len(self.lines)
