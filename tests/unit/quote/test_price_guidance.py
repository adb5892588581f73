"""How often quotes were won, by price over expected cost. Quotes are invented; limits are exact binomial."""

import polars as pl
import pytest

from pipeline.quote.price_guidance import win_bands


def decided(*rows):
    """(ratio, won, how many) as one row per quote."""
    return pl.DataFrame([{"ratio": ratio, "won": won} for ratio, won, times in rows for _ in range(times)])


def test_under_sixty_decided_quotes_nothing_is_said():
    """59 quotes: silence; 60: three bands."""
    assert win_bands(decided((1.4, True, 59))) == []
    assert win_bands(decided((1.2, True, 20), (1.4, True, 20), (1.6, False, 20))) != []


def test_cheap_quotes_win_more_and_every_quote_is_in_one_band():
    """20 of 20, 10 of 20 and 0 of 20 won in three bands of price."""
    quotes = decided((1.2, True, 20), (1.4, True, 10), (1.4, False, 10), (1.6, False, 20))
    bands = win_bands(quotes)
    assert [(band["decided"], band["won"]) for band in bands] == [(20, 20), (20, 10), (20, 0)]
    assert [band["win_rate"] for band in bands] == [1.0, 0.5, 0.0]


def test_the_range_of_a_rate_is_the_exact_one():
    """Clopper-Pearson 95 %: 10 of 20 is 0.2720 to 0.7280; 0 of 20 up to 1 − 0.025^(1/20) = 0.1684."""
    bands = win_bands(decided((1.2, True, 20), (1.4, True, 10), (1.4, False, 10), (1.6, False, 20)))
    assert (bands[1]["rate_low"], bands[1]["rate_high"]) == pytest.approx((0.2720, 0.7280), abs=5e-5)
    assert (bands[2]["rate_low"], bands[2]["rate_high"]) == pytest.approx((0.0, 0.1684), abs=5e-5)
    assert bands[0]["rate_high"] == 1.0


def test_bands_meet_and_are_open_at_the_ends():
    """No price falls between two bands; the first has no lower end, the last no upper."""
    bands = win_bands(decided(*((1 + n / 100, n % 2 == 0, 1) for n in range(90))))
    assert bands[0]["low"] is None and bands[-1]["high"] is None
    assert bands[0]["high"] == bands[1]["low"] and bands[1]["high"] == bands[2]["low"]
    assert sum(band["decided"] for band in bands) == 90


def test_quotes_of_one_price_make_fewer_bands_rather_than_empty_ones():
    """All at the same ratio: one band holds them all."""
    bands = win_bands(decided((1.5, True, 40), (1.5, False, 30)))
    assert [(band["decided"], band["won"]) for band in bands] == [(70, 40)]
