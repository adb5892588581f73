"""How a column is declared: its kind of value, its limits and the sentence the dictionary prints."""

from typing import Any

import pandera.polars as pa

from schemas.vocab import WORDS

MAX_SIZE_IN = 400  # house rule: no opening, well or reading of ours is larger
MAX_WALL_IN = 36


def _field(kind: str, meaning: str, *, unit: str = "", optional: bool = True, **checks: Any) -> Any:
    metadata = {"kind": kind, "unit": unit, "meaning": meaning, "optional": optional}
    return pa.Field(nullable=optional, metadata=metadata, **checks)


def text(meaning: str, *, optional: bool = True) -> Any:
    """Text kept verbatim."""
    return _field("text", meaning, optional=optional)


def identifier(meaning: str, *, optional: bool = False) -> Any:
    """An id: verbatim, case-sensitive, leading zeros kept."""
    return _field("id", meaning, optional=optional)


def word(column: str, meaning: str, *, optional: bool = True) -> Any:
    """One word of a closed list."""
    return _field("word", meaning, optional=optional, isin=list(WORDS[column]))


def day(meaning: str, *, optional: bool = True) -> Any:
    """A calendar date; the limits (1990 to the day of receipt) are checked at intake."""
    return _field("date", meaning, unit="date", optional=optional)


def yes_no(meaning: str) -> Any:
    """True, false, or not recorded."""
    return _field("yes_no", meaning)


def size_in(meaning: str, *, optional: bool = True, most: float = MAX_SIZE_IN) -> Any:
    """A length over 0. [in]"""
    return _field("length", meaning, unit="in", optional=optional, gt=0, le=most)


def reading_in(meaning: str, *, signed: bool = False) -> Any:
    """A reading off a tape, a gauge or a plumb line, at least 0 unless signed. [in]"""
    least = -MAX_SIZE_IN if signed else 0
    return _field("length", meaning, unit="in", ge=least, le=MAX_SIZE_IN)


def temperature_f(meaning: str) -> Any:
    """A temperature. [°F]"""
    return _field("temperature", meaning, unit="f", ge=-100, le=200)


def torque_lbft(meaning: str) -> Any:
    """An anchor torque. [lbft]"""
    return _field("torque", meaning, unit="lbft", ge=0, le=1000)


def rain_in(meaning: str) -> Any:
    """A day's rain or melted snow. [in]"""
    return _field("length", meaning, unit="in", ge=0, le=100)


def hours(meaning: str, *, optional: bool = True, least: float = 0) -> Any:
    """Hours of labour, at least `least`. [h]"""
    return _field("hours", meaning, unit="h", optional=optional, ge=least)


def hours_worked(meaning: str) -> Any:
    """Hours of one entry: over 0 and at most 24. [h]"""
    return _field("hours", meaning, unit="h", optional=False, gt=0, le=24)


def signed_hours(meaning: str) -> Any:
    """Hours that may be taken off. [h]"""
    return _field("hours", meaning, unit="h")


def money(meaning: str, *, optional: bool = True, signed: bool = False) -> Any:
    """An amount of money; not negative unless signed. [USD]"""
    return _field("money", meaning, unit="USD", optional=optional, ge=None if signed else 0)


def number(meaning: str, *, optional: bool = True, positive: bool = False) -> Any:
    """A quantity; may be negative (returned goods) unless positive."""
    return _field("number", meaning, optional=optional, gt=0 if positive else None)


def count(meaning: str, *, optional: bool = True, least: int = 0) -> Any:
    """A whole number."""
    return _field("count", meaning, optional=optional, ge=least)
