"""The chance of a loss in words: 2,048 draws tell neither never nor always."""

import pytest

from dashboards.quote_sheet import _chance as _chance_on_the_sheet
from dashboards.quote_sheet import _warning
from pipeline.cli.quote_text import _chance


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "under 0.1 %"),
        (1 / 2048, "under 0.1 %"),
        (3 / 2048, "0.1 %"),
        (0.2861, "28.6 %"),
        (2045 / 2048, "99.9 %"),
        (2046 / 2048, "over 99.9 %"),
        (1.0, "over 99.9 %"),
    ],
)
def test_a_chance_is_said_no_finer_than_the_draws_know_it(share, words):
    assert _chance(share) == words
    assert _chance_on_the_sheet(share).replace("\u00a0", " ") == words


def test_the_sheet_warns_of_what_is_beyond_the_records_missing_or_contradictory():
    """Each in its own sentence, in front of the figures; nothing where there is nothing."""
    fine = {"opening_id": "A", "confidence": "ok", "remarks": []}
    far = {"opening_id": "B", "confidence": "outside_experience", "remarks": ["The hole is 3 in wide."]}
    said = _warning({"openings": [fine, far], "left_out": ["frame (never bought)"]})
    assert "B: outside what the firm has done. Do not rely on these hours and costs." in said
    assert "Not in this price: frame (never bought). The hole is 3 in wide." in said
    assert _warning({"openings": [fine], "left_out": []}) == ""
