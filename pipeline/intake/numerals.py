"""Numbers as people write them: 1,250.00 or 1.250,00, fractions, amounts of money."""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

PLAIN = r"(?:\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][+-]?\d{1,3})?"
MIXED = rf"(?:\d+\s*/\s*\d+|{PLAIN}(?:[\s-]+\d+\s*/\s*\d+)?)"
_NUMERAL = re.compile(r"\d+(?:[.,]\d+)*|[.,]\d+")
_MIXED = re.compile(rf"(?:(?P<whole>{PLAIN})(?:[\s-]+|$))?(?:(?P<top>\d+)\s*/\s*(?P<bottom>\d+))?")
_GROUPED = re.compile(r"[1-9]\d{0,2}(?:([.,])\d{3})(?:\1\d{3})*")
_SPACED = re.compile(r"(?<!\d)[1-9]\d{0,2}(?: \d{3})+(?![\d/]| ?\d*/)")
_SIGNED = re.compile(rf"(?P<sign>[+-]?)\s*(?P<size>{MIXED})")
_MONEY = re.compile(rf"(?P<sign>[+-]?)\s*(?P<size>{PLAIN})\s*(?P<after>-?)")
_DOLLARS = re.compile(r"US\s?\$|USD|\$", re.IGNORECASE)
_FOREIGN = re.compile(r"[A-Za-z]{1,3}\s?\$|\b[A-Za-z]{3}\b|[^\W\d_]{2,}")
# Currency words that an office may write beside an amount; ISO 4217, from memory.
_CURRENCIES = re.compile(
    r"(?<![a-z])(?:AUD|BRL|CAD|CHF|CNY|DKK|EUR|EUROS?|GBP|INR|JPY|MXN|NOK|NZD|PESOS?|POUNDS?|SEK)(?![a-z])"
    r"|[a-z]{1,3}\s?\$",
    re.IGNORECASE,
)
_DIGIT_LETTERS = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1"})  # letters taken for digits
TOO_LARGE = 10**15  # beyond it a number is no quantity, amount or length of a job
_SAME_SIGN = str.maketrans({"−": "-", "–": "-", "—": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})


class Unreadable(ValueError):
    """A cell that cannot be read; the message is the rule it breaks, `it must be …`."""


@dataclass(frozen=True)
class Style:
    """How a column is read.

    decimal: "." or ","; None when the column contradicts itself, so that texts with two readings wait
    order:   "mdy", "dmy" or "ymd"; None likewise
    unit:    unit word of bare numbers; "" is the canonical unit
    """

    decimal: str | None = "."
    order: str | None = "mdy"
    unit: str = ""


def tidy(text: str) -> str:
    """A cell with one kind of minus and blank, ½ as 1/2, and without the apostrophe that guards a formula."""
    text = text.strip().translate(_SAME_SIGN)
    if text.startswith("'") and text.lstrip("'")[:1] in ("=", "+", "-", "@"):
        text = text[1:]
    return "".join(_spelled(letter) for letter in text) if not text.isascii() else text


def _spelled(letter: str) -> str:
    if unicodedata.decomposition(letter).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", letter).replace("⁄", "/")
    return "/" if letter == "⁄" else letter


def mark_demanded(text: str) -> set[str]:
    """The decimal marks that a text's numerals demand; "?" for a numeral with two readings.

    12.5 demands the point, 3,5 and 1.250,00 the comma, 1,250 and 1.250 can be read in two ways.
    """
    return {mark for numeral in _NUMERAL.findall(text) if (mark := _mark(numeral))}


def _mark(numeral: str) -> str:
    marks = re.sub(r"\d", "", numeral)
    if not marks:
        return ""
    if len(set(marks)) == 2:
        return marks[-1]
    if len(marks) > 1:
        return "," if marks[0] == "." else "."
    return "?" if _GROUPED.fullmatch(numeral) else marks


def fraction_of(numeral: str, decimal: str | None) -> Fraction:
    """One plain numeral as an exact fraction.

    errors: Unreadable when its marks make no number, or when it has two readings and `decimal` is None
    """
    mark = _mark(re.split("[eE]", numeral)[0])
    if mark == "?":
        if decimal is None:
            raise Unreadable(
                "it can be read in two ways and the column contradicts itself; "
                'write it without the thousands mark or set [numbers] decimal in the settings'
            )
        mark = decimal
    thousands = "." if mark == "," else ","
    whole = re.split("[eE]", numeral)[0].split(mark or ".")[0]
    if thousands in whole and not _GROUPED.fullmatch(whole):
        raise Unreadable("it must be a number; its commas and points do not make one")
    value = Fraction(numeral.replace(thousands, "").replace(mark or ".", "."))
    if value >= TOO_LARGE:
        raise Unreadable("it must be a number; this one is too large for any record")
    return value


def mixed(text: str, decimal: str | None) -> Fraction:
    """54, 54.5, 54 1/2, 54-1/2 or 1/2 as an exact fraction.

    errors: Unreadable
    """
    found = _MIXED.fullmatch(text.strip())
    if found is None or not text.strip():
        raise Unreadable("it must be a number")
    value = fraction_of(found["whole"], decimal) if found["whole"] else Fraction(0)
    if not found["top"]:
        return value
    if int(found["bottom"]) == 0:
        raise Unreadable("it must be a number; a fraction cannot have 0 below the line")
    return value + Fraction(int(found["top"]), int(found["bottom"]))


def number(text: str, style: Style) -> float:
    """A plain number, whole, decimal or with a fraction.

    errors: Unreadable
    """
    plain = _without_gaps(tidy(text))
    found = _SIGNED.fullmatch(plain)
    if found is None:
        raise Unreadable(with_letter(plain, "it must be a number"))
    value = mixed(found["size"], style.decimal)
    return float(-value if found["sign"] == "-" else value)


def whole_number(text: str, style: Style) -> float:
    """A whole number.

    errors: Unreadable
    """
    value = number(text, style)
    if not value.is_integer():
        raise Unreadable("it must be a whole number")
    return value


def money(text: str, style: Style) -> float:
    """An amount in US dollars: $1,250.00, USD 1250, (35.00) or -35 for a negative. [USD]

    errors: Unreadable, also for another currency
    """
    plain = _without_gaps(tidy(text))
    in_brackets = plain.startswith("(") and plain.endswith(")")
    plain = plain[1:-1].strip() if in_brackets else plain
    bare = _without_dollars(plain)
    if style.unit or (re.search(r"\d", plain) and _names_a_currency(bare)):
        raise Unreadable("it must be in US dollars; another currency is not read")
    found = _MONEY.fullmatch(bare)
    if found is None or (found["sign"] and (in_brackets or found["after"])):
        raise Unreadable(with_letter(bare, "it must be an amount in US dollars such as 1250, $1,250.00 or (35.00)"))
    value = float(fraction_of(found["size"], style.decimal))
    return -value if in_brackets or found["after"] or found["sign"] == "-" else value


def _without_gaps(text: str) -> str:
    """1 250 as 1250: a blank that parts the thousands is no mark."""
    return _SPACED.sub(lambda found: found[0].replace(" ", ""), text)


def _without_dollars(text: str) -> str:
    if re.search(r"[A-Za-z]\s?\$", re.sub(r"US\s?\$", "", text, flags=re.IGNORECASE)):
        return text
    return _DOLLARS.sub("", text, count=1).strip()


def with_letter(text: str, rule: str) -> str:
    """The rule a number breaks, and the letter in it that looks like a digit, when that alone is its fault."""
    letters = sorted({letter for letter in text if ord(letter) in _DIGIT_LETTERS})
    if not letters or not _SIGNED.fullmatch(text.translate(_DIGIT_LETTERS)) or not re.search(r"\d", text):
        return rule
    named = " and ".join(f"the letter {letter}" for letter in letters)
    return f"{rule}; it has {named} where a digit should stand"


def _names_a_currency(text: str) -> bool:
    return bool(_CURRENCIES.search(text)) or any(unicodedata.category(letter) == "Sc" for letter in text)


def is_foreign(text: str) -> bool:
    """Whether a text names a currency other than the US dollar."""
    return bool(_FOREIGN.search(text)) or any(unicodedata.category(letter) == "Sc" for letter in text if letter != "$")
