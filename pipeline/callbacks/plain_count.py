"""A pattern counted plainly: how often with it against without, within crews and wall types; a check on the model."""

import numpy as np

from pipeline.callbacks.design import Study
from pipeline.callbacks.rates import Estimate, stratified_rate_ratio


def counted_plainly(study: Study, k: int, cause: str) -> Estimate:
    """Rate of first callbacks with pattern k over that without it, where it is recorded. [ratio]

    out:    with 95 % limits; nan where one side has no callback
    source: Mantel and Haenszel 1959 over crews x wall types, see `rates.stratified_rate_ratio`
    """
    present = study.present[:, k]
    recorded = ~np.isnan(present)
    groups = study.population.select("crew", "wall_type").fill_null("not recorded")
    stratum = np.unique(groups.to_numpy().astype(str)[recorded], axis=0, return_inverse=True)[1].ravel()
    cell = 2 * stratum + (present[recorded] == 0)
    clock = study.clocks[cause]
    size = 2 * (int(stratum.max(initial=-1)) + 1)
    events, years = (
        np.bincount(cell, weights=amount[recorded], minlength=size).astype(float).reshape(-1, 2)
        for amount in (clock.event.astype(float), clock.years.sum(axis=1))
    )
    return stratified_rate_ratio(events, years)
