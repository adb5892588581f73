"""Likelier slips than truths: hours far above a phase's usual, prices of a few dollars; kept, with a warning."""

import polars as pl

from schemas.batch import Notice

FAR_ABOVE = 6  # times the phase's median; house rule: beyond it an entry is likelier a slip than a long day
LONG_DAY = 10  # hours; house rule: an entry of an ordinary day is never far above
LEAST_PRICE = 100  # USD; house rule: no window is put in for less, so a lower price is likelier a slip of the point
PRICES = {"jobs": "contract_price", "quotes": "price"}
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


def prices_of_a_few_dollars(kind: str, good: pl.DataFrame) -> list[Notice]:
    """One warning per job or quote whose price is above 0 and under 100 USD."""
    name = PRICES.get(kind)
    if name is None:
        return []
    low = good.filter((pl.col(name) > 0) & (pl.col(name) < LEAST_PRICE)).select("_line", name).sort("_line")
    return [
        Notice(line, name, f"{price:g}",
               f"'{price:g}' is under ${LEAST_PRICE}; check that it is the whole price, in dollars")
        for line, price in low.iter_rows()
    ]  # fmt: skip
