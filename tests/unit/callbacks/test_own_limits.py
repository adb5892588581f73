"""Readings beyond the firm's own limits, from the first card on."""

import datetime as dt

import polars as pl

from pipeline.callbacks.own_limits import beyond_limits

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
