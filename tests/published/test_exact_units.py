"""Unit conversions against the defined constants: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, g = 9.80665 m/s2."""

from fractions import Fraction

import pytest

from pipeline.intake.measures import measure
from pipeline.intake.numerals import Style

POUND_FOOT = 1.3558179483314004  # N·m, from the defined constants: 0.45359237 × 9.80665 × 0.3048


@pytest.mark.parametrize(
    ("text", "kind", "exact"),
    [
        ("25.4 mm", "length", 1.0),
        ("2.54 cm", "length", 1.0),
        ("0.3048 m", "length", 12.0),
        ("1 yd", "length", 36.0),
        ("1 m", "length", float(Fraction(10000, 254))),
        ("138 cm", "length", float(Fraction(13800, 254))),
        ("27.11635896662801 N·m", "torque", 20.0),
        ("47.45362819159902 Nm", "torque", 35.0),
        ("24 N·m", "torque", 24 / POUND_FOOT),
        ("12 in-lb", "torque", 1.0),
        ("0 °C", "temperature", 32.0),
        ("100 °C", "temperature", 212.0),
        ("-40 °C", "temperature", -40.0),
        ("4.444444444444445 °C", "temperature", 40.0),
        ("90 min", "hours", 1.5),
    ],
)
def test_units_are_exact(text: str, kind: str, exact: float) -> None:
    """Tolerance 1e-12, relative; NIST SP 811 prints 1.355 818 N·m per lbf·ft."""
    assert measure(text, kind, Style()) == pytest.approx(exact, rel=1e-12)


def test_the_pound_foot_follows_from_its_definition() -> None:
    assert float(Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048")) == POUND_FOOT
