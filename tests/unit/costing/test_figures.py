"""Figures in sentences: a minus sign, never a hyphen; days as people say them."""

from datetime import date

import pytest

from pipeline.costing.figures import cents_text, day_name, dollars, share, signed_dollars, span_of_shares

MINUS = "\u2212"


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (dollars(-709.4), f"{MINUS}$709"),
        (dollars(-0.4), "$0"),
        (cents_text(-43.1), f"{MINUS}$43.10"),
        (share(-0.0614), f"{MINUS}6.1 %"),
        (share(-0.0004), "0.0 %"),
        (signed_dollars(436), "+$436"),
        (signed_dollars(-1096), f"{MINUS}$1,096"),
        (span_of_shares(-0.021, 0.094), f"{MINUS}2.1 to +9.4 %"),
        (day_name(date(2026, 10, 3)), "3 Oct 2026"),
    ],
)
def test_a_loss_has_a_minus_and_a_day_its_month_in_letters(said: str, expected: str) -> None:
    """The page and the command say amounts and days one way."""
    assert said == expected
