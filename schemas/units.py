"""Unit suffixes allowed in column names, and exact factors between units."""

from collections.abc import Mapping

# Exact: 1 in = 25.4 mm (international inch, 1959); the rest follows from it, from
# 1 lb = 0.45359237 kg and from g = 9.80665 m/s2.
INCHES_PER_FOOT = 12
SQUARE_INCHES_PER_SQUARE_FOOT = 144
CUBIC_INCHES_PER_CUBIC_FOOT = 1728
CUBIC_INCHES_PER_CUBIC_YARD = 46656
CUBIC_FEET_PER_CUBIC_YARD = 27
MILLIMETRES_PER_INCH = 25.4
NEWTON_METRES_PER_POUND_FOOT = 1.3558179483314004
POUNDS_PER_SHORT_TON = 2000
FAHRENHEIT_PER_CELSIUS = 1.8
FAHRENHEIT_AT_ZERO_CELSIUS = 32.0
DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = 30.4375  # 365.25 / 12

SUFFIXES: Mapping[str, str] = {
    "_in": "inches",
    "_f": "degrees Fahrenheit",
    "_lbft": "pound-feet of torque",
    "_hours": "hours",
    "_months": "months",
    "_on": "a date",
    "_id": "text as written",
}
