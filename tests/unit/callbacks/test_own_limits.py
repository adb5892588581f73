"""Readings beyond the firm's own limits, from the first card on."""

import datetime as dt

import polars as pl

from pipeline.callbacks.own_limits import beyond_limits, crew_shares

CARDS = pl.DataFrame(
    {
        "opening_id": ["a", "b", "c"],
        "job_id": ["1", "1", "2"],
        "crew": ["Heron", "Heron", "Otter"],
        "checked_on": [dt.date(2024, 1, 5), dt.date(2024, 1, 6), dt.date(2024, 1, 7)],
        "plumb_error_in": [0.125, 0.1875, None],
        "anchor_count": [8, 6, 10],
    }
)
VISITS = pl.DataFrame({"opening_id": ["b", "c"], "counts": [True, False]})


def test_readings_beyond_either_side_newest_first_with_what_became_of_them():
    """At the limit is inside it; not recorded breaks nothing; a visit that does not count is no call-back."""
    found = beyond_limits(CARDS, VISITS, {"plumb_error_in": (None, 0.125), "anchor_count": (8.0, 9.0)})
    rows = found.select("opening_id", "reading", "value", "limit", "called_back").rows()
    assert rows == [
        ("c", "anchor_count", 10.0, 9.0, False),
        ("b", "anchor_count", 6.0, 8.0, True),
        ("b", "plumb_error_in", 0.1875, 0.125, True),
    ]


def test_no_limits_no_findings():
    assert beyond_limits(CARDS, VISITS, {}).is_empty()


def test_each_crews_share_of_openings_with_a_reading_beyond_a_limit():
    """Heron 1 of 2, Otter 1 of 1, an opening of no crew left out; each opening counts once however many readings."""
    beyond = beyond_limits(CARDS, VISITS, {"plumb_error_in": (None, 0.125), "anchor_count": (8.0, 9.0)})
    nobody = pl.DataFrame({"opening_id": ["d"], "crew": [None]}, schema_overrides={"crew": pl.String})
    found = crew_shares(pl.concat([CARDS.select("opening_id", "crew"), nobody]), beyond)
    assert [(row["crew"], row["cards"], row["beyond"]) for row in found] == [("Heron", 2, 1), ("Otter", 1, 1)]
    assert all(row["low"] < row["share"] < row["high"] for row in found)
