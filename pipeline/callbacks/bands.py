"""Age bands of an opening since completion, and the time spent in each."""

import numpy as np
from numpy.typing import NDArray

from schemas.units import DAYS_PER_YEAR

BAND_EDGES_DAYS = np.array([0.0, 90.0, 180.0, 365.0, 730.0, 1200.0, np.inf])  # simulation study, fresh seeds
BANDS = len(BAND_EDGES_DAYS) - 1


def band_years(
    until_days: NDArray[np.float64], from_days: NDArray[np.float64] | float = 0.0
) -> NDArray[np.float64]:
    """Years spent in each age band between two ages: one row per opening, one column per band."""
    start = np.broadcast_to(np.asarray(from_days, float), until_days.shape)[:, None]
    low = np.maximum(BAND_EDGES_DAYS[None, :-1], start)
    high = np.minimum(BAND_EDGES_DAYS[None, 1:], until_days[:, None])
    years: NDArray[np.float64] = np.maximum(high - low, 0.0) / DAYS_PER_YEAR
    return years


def band_of(days: NDArray[np.float64]) -> NDArray[np.intp]:
    """Age band a day falls in; day 90 belongs to the first band, as it closes it."""
    return np.clip(np.searchsorted(BAND_EDGES_DAYS, days, side="left") - 1, 0, BANDS - 1)
