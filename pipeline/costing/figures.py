"""Money, hours and shares as words in a sentence."""

from datetime import date
from decimal import Decimal

Number = float | Decimal
MINUS = "\u2212"  # a minus sign, as wide as a figure; a hyphen is none
ZERO_SHOWN = "$0.,% h+"


def dollars(amount: Number) -> str:
    """$1,250 or −$90, to the dollar."""
    return _signed(amount, f"${abs(amount):,.0f}")


def cents_text(amount: Number) -> str:
    """$43.10, to the cent."""
    return _signed(amount, f"${abs(amount):,.2f}")


def share(value: Number) -> str:
    """A share of 1 as a percentage to a tenth."""
    return _signed(value, f"{abs(100 * float(value)):.1f} %")


def _signed(value: Number, figure: str) -> str:
    """A minus before what is shown as less than nothing; none before a zero."""
    return f"{MINUS}{figure}" if value < 0 and figure.strip(ZERO_SHOWN) else figure


def points(value: Number) -> str:
    """A difference of two shares in percentage points."""
    return f"{100 * abs(float(value)):.1f} points"


def signed_dollars(amount: Number) -> str:
    """+$1,250 or −$90, to the dollar."""
    return f"{'+' if amount > 0 else ''}{dollars(amount)}"


def span_of_shares(low: Number, high: Number) -> str:
    """A range of shares, with signs: +3.1 to +9.4 %."""
    return f"{100 * float(low):+.1f} to {100 * float(high):+.1f} %".replace("-", MINUS)


def hours_text(value: Number) -> str:
    """Hours to a tenth."""
    return f"{value:,.1f} h"


def several(count: int, one: str, more: str | None = None) -> str:
    """A count with its word: 1 job, 2 jobs."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"


def month_name(first_day: date) -> str:
    """October 2026."""
    return first_day.strftime("%B %Y")


def day_name(day: date) -> str:
    """30 Oct 2026."""
    return f"{day.day} {day:%b %Y}"
