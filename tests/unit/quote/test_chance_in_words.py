"""The chance of a loss in words: 2,048 draws tell neither never nor always."""

import pytest

from dashboards.quote_sheet import _chance as _chance_on_the_sheet
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
