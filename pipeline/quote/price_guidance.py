"""How often quotes were won, by price over predicted cost: what happened, not what to do."""

from typing import TYPE_CHECKING

import numpy as np

from schemas.results_quote import WinBand

if TYPE_CHECKING:
    import polars as pl

FEWEST_DECIDED = 60  # decided quotes before bands say anything; the record's own rule
BANDS = 3


def win_bands(decided: "pl.DataFrame") -> list[WinBand]:
    """Win rates in three equal bands of price over predicted cost.

    in:     decided: ratio (price ÷ quoted cost, over 0) and won (yes/no), one row per decided quote
    out:    three bands with counts and exact 95 % ranges; empty under 60 decided quotes
    source: exact binomial limits (Clopper & Pearson 1934, from memory)
    """
    if decided.height < FEWEST_DECIDED:
        return []
    ratio, won = decided["ratio"].to_numpy().astype(float), decided["won"].to_numpy().astype(bool)
    edges = np.quantile(ratio, np.arange(1, BANDS) / BANDS)
    band = np.searchsorted(edges, ratio, side="left")
    lows, highs = [None, *map(float, edges)], [*map(float, edges), None]
    return [_band(lows[at], highs[at], won[band == at]) for at in range(BANDS) if (band == at).any()]


def _band(low: float | None, high: float | None, won: "np.ndarray") -> WinBand:
    from scipy.special import betaincinv

    n, k = len(won), int(won.sum())
    return WinBand(
        low=low,
        high=high,
        decided=n,
        won=k,
        win_rate=k / n,
        rate_low=float(betaincinv(k, n - k + 1, 0.025)) if k else 0.0,
        rate_high=float(betaincinv(k + 1, n - k, 0.975)) if k < n else 1.0,
    )
