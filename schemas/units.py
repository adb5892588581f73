"""Unit suffixes allowed in column names, and exact factors between units."""

from collections.abc import Mapping

# Exact: 12 in are a foot, 36 in a yard. The one home of these: import them from here.
INCHES_PER_FOOT = 12
SQUARE_INCHES_PER_SQUARE_FOOT = 144
CUBIC_INCHES_PER_CUBIC_FOOT = 1728
CUBIC_INCHES_PER_CUBIC_YARD = 46656
DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = 30.4375  # 365.25 / 12

LEAST_CHANCE = 0.001  # the 2,048 draws behind a chance of loss tell no smaller one

SUFFIXES: Mapping[str, str] = {
    "_in": "inches",
    "_f": "degrees Fahrenheit",
    "_lbft": "pound-feet of torque",
    "_hours": "hours",
    "_months": "months",
    "_on": "a date",
    "_id": "text as written",
}


def told_chance(share: float) -> tuple[str, float]:
    """A chance as the draws know it: none of them or all of them is not never or always.

    out:    ("under ", 0.001), ("over ", 0.999) or ("", the share itself)
    """
    if share < LEAST_CHANCE:
        return "under ", LEAST_CHANCE
    return ("over ", 1 - LEAST_CHANCE) if share > 1 - LEAST_CHANCE else ("", share)
