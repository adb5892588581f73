"""A pattern counted plainly: how often with it against without, within crews and wall types; a check on the model."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.callbacks.design import Study
from pipeline.callbacks.rates import Estimate, stratified_rate_ratio


def strata_of(study: Study) -> NDArray[np.int64]:
    """The number of each opening's group: its crew and wall type, not recorded being one of its own."""
    groups = study.population.select(
        pl.struct(pl.col("crew").fill_null(""), pl.col("wall_type").fill_null("")).rank("dense").alias("group")
    )
    found: NDArray[np.int64] = groups["group"].cast(pl.Int64).to_numpy() - 1
    return found


def counted_plainly(study: Study, strata: NDArray[np.int64], k: int, cause: str) -> Estimate:
    """Rate of first callbacks with pattern k over that without it, where it is recorded. [ratio]

    in:     strata: `strata_of` the study
    out:    with 95 % limits; nan where one side has no callback
    source: Mantel and Haenszel 1959 over crews x wall types, see `rates.stratified_rate_ratio`
    """
    present = study.present[:, k]
    recorded = ~np.isnan(present)
    cell = 2 * strata[recorded] + (present[recorded] == 0)
    clock = study.clocks[cause]
    size = 2 * (int(strata.max(initial=-1)) + 1)
    events, years = (
        np.bincount(cell, weights=amount[recorded], minlength=size).astype(float).reshape(-1, 2)
        for amount in (clock.event.astype(float), clock.years.sum(axis=1))
    )
    return stratified_rate_ratio(events, years)
