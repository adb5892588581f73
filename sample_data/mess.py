"""Write the records as a small firm keeps them: several files, drifting headings, cells in people's own hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sample_data.columns import Columns, write_csv


def write_clean(out: Path, records: dict[str, Columns]) -> None:
    """One canonical CSV per kind."""
    for kind, columns in records.items():
        write_csv(out / f"{kind}.csv", columns)


def write_as_a_firm_does(rng: np.random.Generator, out: Path, records: dict[str, Columns]) -> None:
    write_clean(out, records)
