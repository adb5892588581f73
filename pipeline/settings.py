"""areaway.toml: read, checked, and turned into dated values, limits and words."""

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from pipeline.errors import InputError
from schemas.vocab import CAUSES, WORDS

DEFAULT_FILE = Path("areaway.toml")
ANOTHER_FILE = "give another file with --settings"
FIRST_DAY = date(1900, 1, 1)
FIRM_DEFAULTS = {  # house rule; standard_hourly_cost has none: it comes from the last 12 months of the book
    "overhead_per_labour_hour": Decimal(0),
    "target_margin": Decimal("0.35"),
    "warranty_months": Decimal(24),
}
MONEY_PER_HOUR = frozenset({"overhead_per_labour_hour", "standard_hourly_cost"})
TOO_MUCH_PER_HOUR = 1_000_000  # USD; house rule: a slip of the hand, and times 24 hours it still fits the book's money
FIRM_KEYS = (*FIRM_DEFAULTS, "standard_hourly_cost")
EDITIONS = ("2006", "2009", "2012", "2015", "2018", "2021", "2024")
DEFAULT_EDITION = "2021"
DATE_ORDERS = ("dmy", "mdy", "ymd")
SECTIONS = (
    "firm", "limits", "headers", "words", "units", "dates", "numbers", "starter_rates", "patterns", "codes",
)


@dataclass(frozen=True)
class Dated:
    """A value and the first day it holds."""

    valid_from: date
    value: Decimal


@dataclass(frozen=True)
class Limit:
    """The firm's own limit on a reading of the check card; None = open on that side."""

    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class PatternSetting:
    """A pattern the firm added: its sentence, the causes it is plausible for, its condition."""

    text: str
    causes: tuple[str, ...]
    when: str


@dataclass(frozen=True)
class Codes:
    """Edition of the model code and the local minimums that differ from it."""

    edition: str = DEFAULT_EDITION
    local: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Settings:
    """All of areaway.toml; every part has its default."""

    firm: Mapping[str, tuple[Dated, ...]] = field(default_factory=dict)
    limits: Mapping[str, Limit] = field(default_factory=dict)
    headers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    dates: Mapping[str, str] = field(default_factory=dict)
    decimal: str | None = None
    starter_rates: Mapping[str, float] = field(default_factory=dict)
    patterns: Mapping[str, PatternSetting] = field(default_factory=dict)
    codes: Codes = field(default_factory=Codes)

    def is_set(self, name: str) -> bool:
        """Whether the firm gave this value itself."""
        return name in self.firm

    def dated(self, name: str) -> tuple[Dated, ...]:
        """All values of a firm setting with the day each begins; empty when it has neither value nor default."""
        if name in self.firm:
            return self.firm[name]
        default = FIRM_DEFAULTS.get(name)
        return () if default is None else (Dated(FIRST_DAY, default),)

    def value(self, name: str, on: date) -> Decimal | None:
        """The value in force on a day; before the first dated value, that first value."""
        values = self.dated(name)
        if not values:
            return None
        in_force = [dated.value for dated in values if dated.valid_from <= on]
        return in_force[-1] if in_force else values[0].value

    def steps(self, name: str) -> list[dict[str, date | Decimal]]:
        """The same as a query parameter: structs of valid_from and value; the first value also holds before its day."""
        values = self.dated(name)
        starts = (FIRST_DAY, *(dated.valid_from for dated in values[1:]))
        return [{"valid_from": start, "value": dated.value} for start, dated in zip(starts, values, strict=True)]


def load_settings(path: Path | None = None) -> Settings:
    """The settings in `path`; without a path, areaway.toml in the working folder if there is one.

    errors: InputError naming the file and every wrong key or value
    """
    if path is None:
        return _read(DEFAULT_FILE) if DEFAULT_FILE.is_file() else Settings()
    if os.access(path.parent, os.X_OK) and not path.is_file():
        raise InputError(f"there is no settings file {path}; leave --settings out or give a file that exists")
    return _read(path)


def _read(path: Path) -> Settings:
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError(f"the settings file {path} cannot be read: {error.strerror}; {ANOTHER_FILE}") from error
    except UnicodeDecodeError as error:
        raise InputError(f"the settings file {path} is no text in UTF-8; save it as such, or {ANOTHER_FILE}") from error
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path} is not readable as settings: {error}") from error
    faults = _Faults(path)
    settings = _settings(content, faults)
    faults.raise_if_any()
    return settings


class _Faults:
    """Everything wrong with a settings file, said at once."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.sentences: list[str] = []

    def add(self, key: str, what: str) -> None:
        self.sentences.append(f"{self.path}: {key} {what}")

    def raise_if_any(self) -> None:
        if self.sentences:
            raise InputError("\n".join(self.sentences))


def _settings(content: Mapping[str, Any], faults: _Faults) -> Settings:
    for name in content:
        if name not in SECTIONS:
            faults.add(f"[{name}]", f"is not a section; the sections are {', '.join(SECTIONS)}")
    sections = {name: _table(content, name, faults) for name in SECTIONS}
    return Settings(
        firm=_firm(sections["firm"], faults),
        limits={key: _limit(key, value, faults) for key, value in sections["limits"].items()},
        headers=_words_of_words("headers", sections["headers"], faults),
        words=_vocabulary(sections["words"], faults),
        units=_texts("units", sections["units"], faults),
        dates=_choices("dates", sections["dates"], DATE_ORDERS, faults),
        decimal=_decimal(sections["numbers"], faults),
        starter_rates=_numbers("starter_rates", sections["starter_rates"], faults),
        patterns={key: _pattern(key, value, faults) for key, value in sections["patterns"].items()},
        codes=_codes(sections["codes"], faults),
    )


def _table(content: Mapping[str, Any], name: str, faults: _Faults) -> Mapping[str, Any]:
    value = content.get(name, {})
    if isinstance(value, dict):
        return value
    faults.add(name, f"is '{value}'; it must be a section [{name}]")
    return {}


def _firm(section: Mapping[str, Any], faults: _Faults) -> dict[str, tuple[Dated, ...]]:
    firm = {}
    for name, value in section.items():
        if name not in FIRM_KEYS:
            faults.add(f"[firm] {name}", f"is not a setting; the settings are {', '.join(FIRM_KEYS)}")
            continue
        firm[name] = _dated_values(name, value, faults)
    return {name: values for name, values in firm.items() if values}


def _dated_values(name: str, value: Any, faults: _Faults) -> tuple[Dated, ...]:
    entries = value if isinstance(value, list) else [{"from": FIRST_DAY, "value": value}]
    dated = []
    for entry in entries:
        if not isinstance(entry, dict) or set(entry) != {"from", "value"} or not isinstance(entry["from"], date):
            faults.add(f"[firm] {name}", f"has '{entry}'; each entry must be {{from = a date, value = a number}}")
        elif not _is_allowed(name, entry["value"]):
            faults.add(f"[firm] {name}", f"is '{entry['value']}'; it must be {_allowed_words(name)}")
        else:
            dated.append(Dated(entry["from"], Decimal(str(entry["value"]))))
    return tuple(sorted(dated, key=lambda one: one.valid_from))


def _is_allowed(name: str, value: Any) -> bool:
    if not _is_number(value) or value < 0:
        return False
    if name == "target_margin":
        return bool(value < 1)
    if name in MONEY_PER_HOUR and value >= TOO_MUCH_PER_HOUR:
        return False
    return name != "standard_hourly_cost" or bool(value > 0)


def _allowed_words(name: str) -> str:
    if name == "target_margin":
        return "a fraction from 0 to below 1, such as 0.35"
    least = "a number over 0" if name == "standard_hourly_cost" else "a number of at least 0"
    return f"{least} and under {TOO_MUCH_PER_HOUR:,}" if name in MONEY_PER_HOUR else least


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < float("inf")


def _limit(name: str, value: Any, faults: _Faults) -> Limit:
    if not isinstance(value, dict) or not value or not set(value) <= {"min", "max"}:
        faults.add(f"[limits] {name}", f"is '{value}'; it must be {{min = …, max = …}} or one of the two")
        return Limit()
    if not all(_is_number(side) for side in value.values()):
        faults.add(f"[limits] {name}", f"is '{value}'; min and max must be numbers")
        return Limit()
    return Limit(value.get("min"), value.get("max"))


def _words_of_words(section: str, table: Mapping[str, Any], faults: _Faults) -> dict[str, dict[str, str]]:
    result = {}
    for name, words in table.items():
        if not isinstance(words, dict):
            faults.add(f"[{section}.{name}]", "must be a section of their word = our word")
            continue
        result[name] = _texts(f"{section}.{name}", words, faults)
    return result


def _vocabulary(table: Mapping[str, Any], faults: _Faults) -> dict[str, dict[str, str]]:
    vocabulary = _words_of_words("words", table, faults)
    for column, words in vocabulary.items():
        if column not in WORDS:
            faults.add(f"[words.{column}]", f"names no column with a word list; these have one: {', '.join(WORDS)}")
            continue
        for theirs, ours in words.items():
            if ours not in WORDS[column]:
                faults.add(f"[words.{column}] {theirs}", f"is '{ours}'; it must be one of {', '.join(WORDS[column])}")
    return vocabulary


def _texts(section: str, table: Mapping[str, Any], faults: _Faults) -> dict[str, str]:
    for name, value in table.items():
        if not isinstance(value, str):
            faults.add(f"[{section}] {name}", f"is '{value}'; it must be text in quotation marks")
    return {name: value for name, value in table.items() if isinstance(value, str)}


def _choices(section: str, table: Mapping[str, Any], allowed: tuple[str, ...], faults: _Faults) -> dict[str, str]:
    texts = _texts(section, table, faults)
    for name, value in texts.items():
        if value not in allowed:
            faults.add(f"[{section}] {name}", f"is '{value}'; it must be one of {', '.join(allowed)}")
    return texts


def _decimal(section: Mapping[str, Any], faults: _Faults) -> str | None:
    for name in section:
        if name != "decimal":
            faults.add(f"[numbers] {name}", "is not a setting; the only one is decimal")
    value = section.get("decimal")
    if value not in (None, ".", ","):
        faults.add("[numbers] decimal", f'is \'{value}\'; it must be "." or ","')
        return None
    return value


def _numbers(section: str, table: Mapping[str, Any], faults: _Faults) -> dict[str, float]:
    for name, value in table.items():
        if not _is_number(value) or value <= 0:
            faults.add(f"[{section}] {name}", f"is '{value}'; it must be a number over 0")
    return {name: float(value) for name, value in table.items() if _is_number(value)}


def _pattern(name: str, value: Any, faults: _Faults) -> PatternSetting:
    if not isinstance(value, dict) or set(value) != {"text", "causes", "when"}:
        faults.add(f"[patterns.{name}]", "must have text, causes and when, and nothing else")
        return PatternSetting("", (), "")
    causes = value["causes"] if isinstance(value["causes"], list) else [value["causes"]]
    for cause in causes:
        if cause not in CAUSES:
            faults.add(f"[patterns.{name}] causes", f"has '{cause}'; the causes are {', '.join(CAUSES)}")
    return PatternSetting(str(value["text"]), tuple(str(cause) for cause in causes), str(value["when"]))


def _codes(section: Mapping[str, Any], faults: _Faults) -> Codes:
    edition = str(section.get("edition", DEFAULT_EDITION))
    if edition not in EDITIONS:
        faults.add("[codes] edition", f"is '{edition}'; it must be one of {', '.join(EDITIONS)}")
    local = {name: value for name, value in section.items() if name != "edition"}
    return Codes(edition, _numbers("codes", local, faults))
