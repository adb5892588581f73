"""Hours far above what a phase usually takes: kept, with a warning."""

import polars as pl

from schemas.batch import Notice

FAR_ABOVE = 6  # times the phase's median; house rule: beyond it an entry is likelier a slip than a long day
LONG_DAY = 10  # hours; house rule: an entry of an ordinary day is never far above
FEWEST_ENTRIES = 20  # house rule: with fewer entries a phase has no usual


def hours_far_above_usual(kind: str, good: pl.DataFrame) -> list[Notice]:
    """One warning per labour row over 10 hours and over 6 times the median of its phase in this file."""
    if kind != "labour" or not (good["hours"] > LONG_DAY).any():
        return []
    usual = (
        good.lazy().group_by("phase").agg(pl.col("hours").median().alias("usual"), pl.len().alias("entries"))
        .filter(pl.col("entries") >= FEWEST_ENTRIES, pl.col("phase").is_not_null())
    )  # fmt: skip
    far = (
        good.lazy().select("_line", "phase", "hours").join(usual, on="phase")
        .filter(pl.col("hours") > FAR_ABOVE * pl.col("usual"), pl.col("hours") > LONG_DAY).sort("_line").collect()
    )  # fmt: skip
    return [
        Notice(row["_line"], "hours", f"{row['hours']:g}",
               f"'{row['hours']:g}' is far above the usual {row['usual']:g} of {row['phase']}")
        for row in far.iter_rows(named=True)
    ]  # fmt: skip
