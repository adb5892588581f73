"""Lengths, hours, temperatures and torques in the units people write them in."""

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from pipeline.intake.numerals import MIXED, Style, Unreadable, mixed, tidy, with_letter
from schemas.units import INCHES_PER_FOOT

CANONICAL: Mapping[str, str] = {
    "length": "inch",
    "hours": "hour",
    "temperature": "degree_Fahrenheit",
    "torque": "foot * force_pound",
}
# Words people write -> the unit library's name. Words are compared without blanks, points, hyphens and case.
UNIT_WORDS: Mapping[str, Mapping[str, str]] = {
    "length": {
        **dict.fromkeys(("in", "inch", "inches", '"'), "inch"),
        **dict.fromkeys(("ft", "foot", "feet", "'"), "foot"),
        **dict.fromkeys(("yd", "yds", "yard", "yards"), "yard"),
        **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "millimeter"),
        **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "centimeter"),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "meter"),
        **dict.fromkeys(("tenthsmm", "tenthsofmm", "tenths_mm"), "tenth_millimeter"),
    },
    "hours": {
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), "hour"),
        **dict.fromkeys(("min", "mins", "minute", "minutes", "m"), "minute"),
    },
    "temperature": {
        **dict.fromkeys(("f", "°f", "degf", "degreesf", "fahrenheit", "°", "deg", "degrees"), "degree_Fahrenheit"),
        **dict.fromkeys(("c", "°c", "degc", "degreesc", "celsius"), "degree_Celsius"),
        **dict.fromkeys(("tenthsc", "tenthsofc", "tenths_c", "tenthsof°c", "tenths°c"), "tenth_celsius"),
    },
    "torque": {
        **dict.fromkeys(("lbft", "lbfft", "ftlb", "ftlbs", "ftlbf", "lbsft", "footpound", "footpounds",
                         "poundfoot", "poundfeet"), "foot * force_pound"),
        **dict.fromkeys(("nm", "newtonmetre", "newtonmetres", "newtonmeter", "newtonmeters"), "newton * meter"),
        **dict.fromkeys(("inlb", "inlbs", "inlbf", "lbin", "lbfin", "inchpound", "inchpounds"), "inch * force_pound"),
    },
}
EXAMPLES: Mapping[str, str] = {
    "length": "it must be a length such as 54.5, 54 1/2\", 4' 6 1/2\" or 138 cm",
    "hours": "it must be hours such as 3.5, 3:30 or 90 min",
    "temperature": "it must be a temperature such as 54, 54 °F or 12 °C",
    "torque": "it must be a torque such as 20, 20 lb-ft or 24 N·m",
}
MINUTES_PER_HOUR = 60
SECONDS_PER_HOUR = 3600

_MARKS = str.maketrans({"’": "'", "‘": "'", "′": "'", "´": "'", "”": '"', "“": '"', "″": '"'})
_MEASURE = re.compile(rf"(?P<sign>[+-]?)\s*(?P<size>{MIXED})\s*(?P<unit>\D*)")
_FEET_INCHES = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<feet>{MIXED})\s*(?:'|ft\.?|feet|foot)\s*-?\s*"
    rf"(?P<inches>{MIXED})\s*(?:\"|in\.?|inch|inches)?",
    re.IGNORECASE,
)
_CLOCK = re.compile(r"(?P<hours>\d{1,3}):(?P<minutes>[0-5]\d)(?::(?P<seconds>[0-5]\d))?")
_HOURS_MINUTES = re.compile(
    r"(?P<hours>\d{1,3})\s*(?:h|hr|hrs|hours?)\.?\s*(?P<minutes>[0-5]?\d)\s*(?:m|min|mins|minutes?)?\.?", re.IGNORECASE
)


def unit_named(word: str, kind: str) -> str | None:
    """The unit library's name of a unit word for a kind of value; None when it is no such word."""
    plain = re.sub(r"[\s.·⋅*\-]", "", word.translate(_MARKS).casefold()) or ('"' if word.strip() == "''" else "")
    return UNIT_WORDS[kind].get('"' if plain == "''" else plain)


def measure(text: str, kind: str, style: Style) -> float:
    """A measured value in the canonical unit of its kind (in, h, °F, lbft).

    errors: Unreadable
    """
    plain = tidy(text).translate(_MARKS).replace("''", '"')
    if kind == "length" and (found := _FEET_INCHES.fullmatch(plain)):
        return _feet_and_inches(found, style)
    if kind == "hours" and (clock := _CLOCK.fullmatch(plain) or _HOURS_MINUTES.fullmatch(plain)):
        return _clock_hours(clock)
    found = _MEASURE.fullmatch(plain)
    unit = None if found is None else unit_named(found["unit"] or style.unit or own_word(kind), kind)
    if found is None or unit is None:
        raise Unreadable(with_letter(plain, EXAMPLES[kind]))
    value = mixed(found["size"], style.decimal)
    return float(in_canonical_unit(-value if found["sign"] == "-" else value, unit, kind))


def own_word(kind: str) -> str:
    """The unit word of a bare number of a kind where nothing else is said."""
    return next(iter(UNIT_WORDS[kind]))


def _feet_and_inches(found: re.Match[str], style: Style) -> float:
    inches = mixed(found["inches"], style.decimal)
    if inches >= INCHES_PER_FOOT:
        raise Unreadable("it must have less than 12 inches beside the feet")
    value = INCHES_PER_FOOT * mixed(found["feet"], style.decimal) + inches
    return float(-value if found["sign"] == "-" else value)


def _clock_hours(found: re.Match[str]) -> float:
    seconds = found.groupdict().get("seconds") or 0
    return float(
        int(found["hours"])
        + Fraction(int(found["minutes"]), MINUTES_PER_HOUR)
        + Fraction(int(seconds), SECONDS_PER_HOUR)
    )


def in_canonical_unit(value: Fraction, unit: str, kind: str) -> Fraction:
    """An exact value in the canonical unit of its kind, by the unit library's own definitions."""
    if unit == CANONICAL[kind]:
        return value
    slope, at_zero = _line(unit, CANONICAL[kind])
    return slope * value + at_zero


@cache
def _line(unit: str, canonical: str) -> tuple[Fraction, Fraction]:
    """Slope and value at zero of the straight line from one unit to another."""
    from decimal import Decimal

    quantity = _registry().Quantity
    at_zero, at_one = (Fraction(quantity(Decimal(size), unit).to(canonical).magnitude) for size in (0, 1))
    rounded = at_zero.limit_denominator(10**6)  # 31.999…98 from the library's decimals is 32
    at_zero = rounded if abs(rounded - at_zero) < Fraction(1, 10**20) else at_zero
    return at_one - at_zero, at_zero


@cache
def _registry() -> Any:
    from decimal import Decimal

    import pint

    units: Any = pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)
    units.define("tenth_millimeter = 0.1 * millimeter")  # as NOAA writes rain
    units.define("tenth_celsius = 0.1 * kelvin; offset: 273.15")  # and temperatures
    return units
