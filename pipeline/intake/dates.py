"""Dates as people write them, and which of day and month comes first in a column."""

import re
from collections.abc import Iterable
from datetime import date, timedelta

from pipeline.intake.numerals import Style, Unreadable, tidy

RULE = "it must be a date such as 2025-03-14, 3/14/2025 or 14-Mar-25"
SERIAL_ZERO = date(1899, 12, 30)  # day 0 of spreadsheet serials after February 1900
OLDEST_SERIAL, NEWEST_SERIAL = 20000, 80000  # 1954 to 2119: other whole numbers are not taken for dates
CENTURY_TURNS_AT = 90  # 90 is 1990, 89 is 2089: records begin in 1990

_TIME = r"(?:[T ]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[AaPp]\.?[Mm]\.?)?\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?)?"
_YEAR_FIRST = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){_TIME}")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_NUMBERS = re.compile(rf"(\d{{1,2}})([-/.])(\d{{1,2}})\2(\d{{4}}|\d{{2}}){_TIME}")
_DAY_NAME = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[.,]?\s+", re.IGNORECASE)
_DAY_MONTH = re.compile(rf"(\d{{1,2}})(?:st|nd|rd|th)?[-/ .]*([A-Za-z]{{3,9}})[-/ .,]*(\d{{4}}|\d{{2}}){_TIME}")
_MONTH_DAY = re.compile(rf"([A-Za-z]{{3,9}})[-/ .]*(\d{{1,2}})(?:st|nd|rd|th)?[-/ .,]+(\d{{4}}|\d{{2}}){_TIME}")
_SERIAL = re.compile(r"(\d{5})(?:\.\d+)?")
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
DAYS_FIRST, MONTHS_FIRST = "dmy", "mdy"
MONTHS_PER_YEAR = 12


def order_of(texts: Iterable[str]) -> tuple[str | None, bool, dict[str, str]]:
    """Which of day and month comes first in a whole column.

    in:  the distinct texts of the column
         (a day that no calendar has decides nothing)
    out: the order (None = the column contradicts itself), whether any text has two readings,
         and one text for each order that is demanded
    """
    demanded: dict[str, str] = {}
    doubtful = False
    for text in texts:
        order = _order_demanded(text)
        doubtful = doubtful or order == "?"
        if order in (DAYS_FIRST, MONTHS_FIRST):
            demanded.setdefault(order, text)
    if len(demanded) == 2:
        return None, doubtful, demanded
    return next(iter(demanded), MONTHS_FIRST), doubtful, demanded


def has_two_readings(text: str) -> bool:
    """Whether day and month of a text could change places."""
    return _order_demanded(text) == "?"


def _order_demanded(text: str) -> str:
    found = _NUMBERS.fullmatch(tidy(text))
    if found is None:
        return ""
    first, second, year = int(found[1]), int(found[3]), _year(found[4])
    if first > MONTHS_PER_YEAR:
        return DAYS_FIRST if _is_a_day(year, second, first) else ""
    if second > MONTHS_PER_YEAR:
        return MONTHS_FIRST if _is_a_day(year, first, second) else ""
    return "" if first == second else "?"


def _is_a_day(year: int, month: int, number: int) -> bool:
    try:
        date(year, month, number)
    except ValueError:
        return False
    return True


def day(text: str, style: Style) -> date:
    """A calendar date; a time of day beside it is left out.

    errors: Unreadable, also for a date with two readings where the column contradicts itself
    """
    plain = _DAY_NAME.sub("", tidy(text), count=1)
    if found := _YEAR_FIRST.fullmatch(plain) or _COMPACT.fullmatch(plain):
        return _date(int(found[1]), int(found[2]), int(found[3]))
    if found := _NUMBERS.fullmatch(plain):
        return _from_numbers(found, _order_demanded(plain), style)
    if found := _DAY_MONTH.fullmatch(plain):
        return _date(_year(found[3]), _month(found[2]), int(found[1]))
    if found := _MONTH_DAY.fullmatch(plain):
        return _date(_year(found[3]), _month(found[1]), int(found[2]))
    return from_serial(plain)


def from_serial(text: str) -> date:
    """The date of a spreadsheet serial.

    errors: Unreadable when the text is no serial of our times
    """
    found = _SERIAL.fullmatch(text)
    if found is None or not OLDEST_SERIAL <= int(found[1]) <= NEWEST_SERIAL:
        raise Unreadable(RULE)
    return SERIAL_ZERO + timedelta(days=int(found[1]))


def _from_numbers(found: re.Match[str], demanded: str, style: Style) -> date:
    first, second = int(found[1]), int(found[3])
    if style.order == "ymd" and len(found[4]) == 2:
        return _date(_year(found[1].zfill(2)), second, int(found[4]))
    order = demanded if demanded in (DAYS_FIRST, MONTHS_FIRST) else style.order
    if order is None and first != second:
        raise Unreadable(
            "it can be read in two ways and the column contradicts itself; "
            "write it as year-month-day or set [dates] in the settings"
        )
    month, number = (second, first) if order == DAYS_FIRST else (first, second)
    return _date(_year(found[4]), month, number)


def _year(digits: str) -> int:
    if len(digits) == 4:
        return int(digits)
    return int(digits) + (1900 if int(digits) >= CENTURY_TURNS_AT else 2000)


def _month(name: str) -> int:
    matches = [at for at, month in enumerate(_MONTHS, 1) if month.startswith(name.casefold())]
    if name.casefold() == "sept":
        return 9
    if len(matches) != 1:
        raise Unreadable(RULE)
    return matches[0]


def _date(year: int, month: int, number: int) -> date:
    try:
        return date(year, month, number)
    except ValueError as error:
        raise Unreadable(f"{RULE}; there is no such day") from error
