"""Their headings to our columns: any case, a unit in brackets, a firm's own words."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from pipeline.errors import InputError
from pipeline.intake import measures, numerals
from pipeline.intake.convert import ColumnPlan
from pipeline.settings import Settings
from schemas.kinds import KINDS

QUARANTINE_ID = "quarantine_id"
QUARANTINE_COLUMNS = (QUARANTINE_ID, "source_file", "source_row", "reason")  # stand before ours in a quarantine export
_BRACKETED = re.compile(r"(?P<name>.*?)\s*[(\[{](?P<unit>[^)\]}]*)[)\]}]\s*")
_UNIT_SUFFIX = re.compile(r"(?P<name>.+)_(?P<unit>in|ft|yd|mm|cm|m|f|c|lbft|nm|inlb|h|min)")
DOLLARS = ("", "$", "us$", "usd", "us dollars", "dollars")
SUFFIXES = ("_in", "_f", "_lbft")  # a heading may leave the unit out


@dataclass(frozen=True)
class Heading:
    """One heading understood: our column and the unit its brackets or its end name."""

    column: str
    unit: str = ""


@dataclass(frozen=True)
class Layout:
    """Which column of a file is which of ours.

    plans:      position in the file -> how that column is to be read
    unexpected: headings that are none of ours
    missing:    our columns that must be there and are not
    quarantine_at: position of quarantine_id in a corrected quarantine file
    """

    kind: str
    plans: Mapping[int, ColumnPlan]
    unexpected: tuple[str, ...]
    missing: tuple[str, ...]
    repeated: tuple[str, ...]
    quarantine_at: int | None = None


def plain(header: str) -> str:
    """A heading in lower case, with one underscore between its words; one without letters as it stands."""
    words = re.sub(r"[\W_]+", "_", header.casefold()).strip("_") or header.strip()
    return re.sub(r"(^|_)labor(_|$)", r"\1labour\2", words)


@cache
def _own_names(kind: str) -> Mapping[str, str]:
    """Plain headings of a kind: its columns, and those without the unit at their end where that is plain enough."""
    columns = list(KINDS[kind].columns())
    short = {name.removesuffix(suffix): name for name in columns for suffix in SUFFIXES if name.endswith(suffix)}
    return {**{name: column for name, column in short.items() if name not in columns}, **{n: n for n in columns}}


def heading(header: str, kind: str, settings: Settings) -> Heading | None:
    """Our column that a heading of a kind's file means; None when it is none of ours."""
    firm = {plain(theirs): ours for theirs, ours in settings.headers.get(kind, {}).items()}
    own = _own_names(kind)
    bracketed = _BRACKETED.fullmatch(header)
    name, unit = (plain(bracketed["name"]), bracketed["unit"]) if bracketed else (plain(header), "")
    for names in (firm, own):
        if column := names.get(plain(header)):
            return Heading(column, unit if _has_unit(kind, column) else "")
        if column := names.get(name):
            return Heading(column, unit)
    suffixed = _UNIT_SUFFIX.fullmatch(name)
    if suffixed and (column := own.get(suffixed["name"])) and _kind_of_value(kind, column) in measures.CANONICAL:
        return Heading(column, suffixed["unit"])
    return None


def _has_unit(kind: str, column: str) -> bool:
    value = _kind_of_value(kind, column)
    return value in measures.CANONICAL or value == "money"


def _kind_of_value(kind: str, column: str) -> str:
    return str(KINDS[kind].columns()[column].metadata["kind"])


def check_settings(settings: Settings) -> None:
    """That every heading, unit and order of dates the settings give is about a column there is.

    errors: InputError naming each that is not
    """
    faults = [
        f"[{section}] {name} is no such column; it must be one of {', '.join(columns)}"
        for section, names, columns in (
            ("units", settings.units, _columns_of(measures.CANONICAL)),
            ("dates", settings.dates, _columns_of(("date",))),
        )
        for name in names
        if name not in columns
    ]
    faults += _wrong_units(settings)
    for kind, names in settings.headers.items():
        if kind not in KINDS:
            faults.append(f"[headers.{kind}] names no kind of record; the kinds are {', '.join(KINDS)}")
            continue
        columns = KINDS[kind].columns()
        faults += [
            f"[headers.{kind}] {theirs} is '{ours}'; it must be one of {', '.join(columns)}"
            for theirs, ours in names.items()
            if ours not in columns
        ]
    if faults:
        raise InputError("settings: " + "\nsettings: ".join(faults))


def _wrong_units(settings: Settings) -> list[str]:
    """A sentence for each unit word that its column cannot have."""
    kinds = {name: str(column.metadata["kind"]) for kind in KINDS.values() for name, column in kind.columns().items()}
    measured = {name: kinds[name] for name in settings.units if kinds.get(name) in measures.CANONICAL}
    return [
        f"[units] {name} is '{settings.units[name]}'; it must be one of {', '.join(measures.UNIT_WORDS[kind])}"
        for name, kind in measured.items()
        if measures.unit_named(settings.units[name], kind) is None
    ]


def _columns_of(value_kinds: Collection[str]) -> list[str]:
    """Columns of all kinds of record that hold such values."""
    columns = {name: column for kind in KINDS.values() for name, column in kind.columns().items()}
    return [name for name, column in columns.items() if column.metadata["kind"] in value_kinds]


def recognised(headers: Sequence[str], kind: str, settings: Settings) -> int:
    """How many headings are columns of a kind."""
    found = {found.column for header in headers if (found := heading(header, kind, settings))}
    return len(found)


def layout(headers: Sequence[str], kind: str, settings: Settings) -> Layout:
    """The columns of a file under their headings."""
    columns = KINDS[kind].columns()
    plain_names = [plain(header) for header in headers]
    corrected = QUARANTINE_ID in plain_names
    plans: dict[int, ColumnPlan] = {}
    unexpected: list[str] = []
    for at, header in enumerate(headers):
        if found := heading(header, kind, settings):
            plans[at] = plan_of(found, kind, header, settings)
        elif plain_names[at] and not (corrected and plain_names[at] in QUARANTINE_COLUMNS):
            unexpected.append(header.strip())
    given = [plan.name for plan in plans.values()]
    missing = [name for name, column in columns.items() if not column.metadata["optional"] and name not in given]
    return Layout(
        kind, plans, tuple(unexpected), tuple(missing), tuple(_repeated(given + unexpected)),
        plain_names.index(QUARANTINE_ID) if corrected else None,
    )  # fmt: skip


def _repeated(names: Sequence[str]) -> list[str]:
    return sorted({name for name in names if names.count(name) > 1})


def plan_of(found: Heading, kind: str, header: str, settings: Settings) -> ColumnPlan:
    """How a column under a heading is to be read."""
    metadata = KINDS[kind].columns()[found.column].metadata
    value_kind = str(metadata["kind"])
    return ColumnPlan(
        name=found.column,
        kind=value_kind,
        header=header.strip(),
        optional=bool(metadata["optional"]),
        unit=_unit(found, value_kind, settings),
        no_unit=_no_unit(found, value_kind),
        words=settings.words.get(found.column, {}),
        order=settings.dates.get(found.column),
        decimal=settings.decimal,
    )


def _unit(found: Heading, value_kind: str, settings: Settings) -> str:
    """The unit word of a column's bare numbers; "" when it is the canonical one."""
    if value_kind == "money":
        return found.unit.strip() if _names_other_currency(found.unit) else ""
    if value_kind not in measures.CANONICAL:
        return ""
    word = settings.units.get(found.column, "")
    if found.unit and measures.unit_named(found.unit, value_kind):
        word = found.unit
    is_canonical = measures.unit_named(word, value_kind) == measures.CANONICAL[value_kind]
    return "" if not word or is_canonical else word


def _no_unit(found: Heading, value_kind: str) -> str:
    """What a heading has in the place of a unit word that is none we know; "" when all is well."""
    unit = found.unit.strip()
    if value_kind in measures.CANONICAL:
        return unit if unit and measures.unit_named(unit, value_kind) is None else ""
    is_plain = value_kind not in ("money", "number", "count") or unit.casefold() in DOLLARS
    return "" if is_plain or _names_other_currency(unit) else unit


def _names_other_currency(unit: str) -> bool:
    code = unit.strip().upper()
    return code in ("EUR", "CAD", "GBP", "MXN", "AUD", "CHF", "JPY", "PESO", "EURO") or (
        code not in ("$", "US$", "USD") and len(code) <= 3 and numerals.is_foreign(code) and not code.isalpha()
    )
