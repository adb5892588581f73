"""Readings beyond the firm's own limits: no statistics, from the first check card on."""

import polars as pl

from pipeline.callbacks.beta_binomial import shrunk_shares
from pipeline.callbacks.catalogue import Limits
from schemas.results_callbacks import CrewShare

RANGE = 0.95


def beyond_limits(cards: pl.DataFrame, visits: pl.DataFrame, limits: Limits) -> pl.DataFrame:
    """One row per opening and reading below its least or above its most.

    in:     cards: opening_id, job_id, crew, checked_on (the setting day where there is no card) and what was read;
            visits: the list of callbacks that count
    out:    opening_id, job_id, crew, checked_on, reading, value, limit (the one broken), called_back (any counted
            visit); the newest card first. A reading not recorded breaks nothing.
    source: house rule
    """
    called = visits.filter(pl.col("counts"))["opening_id"].unique().to_list()
    with_calls = cards.with_columns(called_back=pl.col("opening_id").is_in(called))
    pieces = [
        _broken(with_calls, reading, limit, above=above)
        for reading, (least, most) in limits.items()
        for limit, above in ((least, False), (most, True))
        if limit is not None and reading in cards.columns
    ]
    if not pieces:
        return _broken(with_calls.head(0).with_columns(none=pl.lit(0.0)), "none", 0.0, above=True)
    return pl.concat(pieces).sort(
        ["checked_on", "opening_id", "reading"], descending=[True, False, False], nulls_last=True
    )


def crew_shares(cards: pl.DataFrame, beyond: pl.DataFrame) -> list[CrewShare]:
    """How many of each crew's carded openings have a reading beyond a limit, in the order of names: no ranking.

    in:     cards: opening_id, crew (openings with a check card); beyond: of `beyond_limits`
    out:    openings whose crew is not recorded are left out
    source: beta-binomial shares, see `beta_binomial.shrunk_shares`
    """
    broken = pl.col("opening_id").is_in(beyond["opening_id"].unique().to_list())
    counted = cards.drop_nulls("crew").group_by("crew").agg(cards=pl.len(), beyond=broken.sum()).sort("crew")
    found = shrunk_shares(counted["beyond"].to_numpy().astype(float), counted["cards"].to_numpy().astype(float), RANGE)
    columns = [counted[name].to_list() for name in ("crew", "cards", "beyond")]
    return [
        CrewShare(crew=crew, cards=looked_at, beyond=number, share=float(share), low=float(low), high=float(high))
        for crew, looked_at, number, share, low, high in zip(*columns, *found, strict=True)
    ]


def _broken(cards: pl.DataFrame, reading: str, limit: float, *, above: bool) -> pl.DataFrame:
    value = pl.col(reading).cast(pl.Float64)
    beyond = value > limit if above else value < limit
    return cards.filter(beyond).select(
        "opening_id",
        "job_id",
        "crew",
        "checked_on",
        pl.lit(reading).alias("reading"),
        value.alias("value"),
        pl.lit(float(limit)).alias("limit"),
        "called_back",
    )
