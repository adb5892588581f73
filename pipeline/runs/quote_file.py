"""Openings to quote listed in a file: its columns under our names, its cells read as the records' own are."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.errors import InputError
from pipeline.intake.convert import ColumnPlan, Converted, converted
from pipeline.intake.find import find_files
from pipeline.intake.headers import Layout, check_settings, layout
from pipeline.intake.read import Table, Terms, tables_of
from pipeline.settings import Settings

KIND = "openings"
JOB_COLUMNS = ("crew", "started_on")  # columns of jobs that a list of openings to quote may have too
NEEDED = ("wall_type", "opening_work", "rough_width_in", "rough_height_in", "well_type")


@dataclass(frozen=True)
class ListedOpening:
    """One row: where it stands ("openings.csv line 3: "), its cells in canonical words, and what could not be read."""

    place: str
    texts: Mapping[str, str]
    faults: Sequence[str]


@dataclass(frozen=True)
class OpeningList:
    """The rows of a file, and what a reader should know: columns that are none of ours, decisions about dates."""

    rows: Sequence[ListedOpening]
    notes: Sequence[str]


def openings_in(path: Path, settings: Settings) -> OpeningList:
    """The openings listed in a CSV, XLSX or Parquet file; everyday headings are read as `inspect` understands them.

    errors: InputError naming the file and what it lacks
    """
    check_settings(settings)
    named = _everyday_headings(path, settings)
    if not named:
        return _openings_in(path, settings)
    known = settings.headers.get(KIND, {})
    listed = _openings_in(path, replace(settings, headers={**settings.headers, KIND: {**known, **named}}))
    read_as = ", ".join(f"{header} as {column}" for header, column in named.items())
    said = f"{path}: read {read_as}; [headers.{KIND}] in the settings can say otherwise"
    return replace(listed, notes=[said, *listed.notes])


def _everyday_headings(path: Path, settings: Settings) -> dict[str, str]:
    """Headings that are surely a column of openings in other words: theirs -> ours."""
    from pipeline.intake.understanding import Look, look

    terms = Terms(KIND, settings, date.max)
    looks = [one for found in find_files([path]).files for one in look(found, terms)]
    return {
        one.table.raw.columns[at].header.strip(): guess.column
        for one in looks
        if isinstance(one, Look)
        for at, guess in one.guesses.items()
        if guess.sure
    }


def _openings_in(path: Path, settings: Settings) -> OpeningList:
    terms = Terms(KIND, settings, date.max, lay_out=_lay_out)
    tables = [table for found in find_files([path]).files for table in tables_of(found, terms)]
    rows: list[ListedOpening] = []
    notes: list[str] = []
    for table in tables:
        assert isinstance(table, Table)  # only weather files come as records
        read = _columns(table, settings)
        rows += _rows(table, read)
        notes += _notes(table, read)
    if not rows:
        raise InputError(f"{path} lists no opening: there is no row under the header")
    return OpeningList(rows, notes)


def _lay_out(headers: Sequence[str], kind: str | None, settings: Settings, name: str) -> Layout:
    """The columns of openings, with crew and started_on beside them; ids may be absent."""
    found, of_jobs = layout(headers, KIND, settings), layout(headers, "jobs", settings)
    beside = {at: plan for at, plan in of_jobs.plans.items() if plan.name in JOB_COLUMNS and at not in found.plans}
    plans = {**found.plans, **beside}
    given = [plan.name for plan in plans.values()]
    _refuse_unusable(name, headers, given)
    unexpected = tuple(other for other in found.unexpected if other not in {plan.header for plan in beside.values()})
    return Layout(KIND, plans, unexpected, (), ())


def _refuse_unusable(name: str, headers: Sequence[str], given: Sequence[str]) -> None:
    shown = ", ".join(header.strip() for header in headers if header.strip()) or "nothing"
    faults = [f"{name}: column {column} stands twice; leave one of them" for column in sorted(_twice(given))]
    lacking = [column for column in NEEDED if column not in given]
    if lacking:
        faults.append(f"{name}: {', '.join(lacking)} needed for a quote, not found; the header reads: {shown}; "
                      f"[headers.{KIND}] in the settings can name them: \"their heading\" = \"our column\"")
    if faults:
        raise InputError("\n".join(faults))


def _twice(names: Sequence[str]) -> set[str]:
    return {name for name in names if names.count(name) > 1}


def _columns(table: Table, settings: Settings) -> dict[str, tuple[ColumnPlan, Converted]]:
    return {
        plan.name: (plan, converted(plan, table.raw.columns[at], guarded=table.raw.guarded))
        for at, plan in table.layout.plans.items()
    }


def _rows(table: Table, read: Mapping[str, tuple[ColumnPlan, Converted]]) -> Iterator[ListedOpening]:
    faults: dict[int, list[str]] = {}
    for found in (table.raw.faults, *(column.faults for _, column in read.values())):
        for fault in found.iter_rows(named=True):
            faults.setdefault(fault["_row"], []).append(fault["reason"])
    values = {name: column.values.to_list() for name, (_, column) in read.items()}
    for at, line in enumerate(table.raw.lines.to_list()):
        texts = {name: _canonical(cells[at]) for name, cells in values.items() if cells[at] is not None}
        yield ListedOpening(f"{table.source.name} line {line}: ", texts, faults.get(at, ()))


def _canonical(value: Any) -> str:
    """A value as text that reads back to the same value."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return value.isoformat() if isinstance(value, date) else str(value)


def _notes(table: Table, read: Mapping[str, tuple[ColumnPlan, Converted]]) -> Iterator[str]:
    name = table.source.name
    if table.layout.unexpected:
        yield f"{name}: not used, since they are no columns of openings: {', '.join(table.layout.unexpected)}"
    for _, column in read.values():
        yield from (f"{name}: {doubt}" for doubt in column.doubts)
    yield from (f"{name}: {doubt}" for doubt in table.doubts)
