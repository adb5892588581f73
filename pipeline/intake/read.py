"""Files to records: each file or sheet read, checked, and parted into good rows and rows that wait."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.errors import InputError
from pipeline.intake import daily_summaries, ghcn, workbooks
from pipeline.intake.assemble import Source, assembled
from pipeline.intake.bytes_of import content, content_hash
from pipeline.intake.find import PARQUET, WORKBOOK, Found, find_files, kind_of_name, named_kind, suffix
from pipeline.intake.headers import Layout, check_settings
from pipeline.intake.kinds_of import check_kind, header_score, layout_of
from pipeline.intake.parquet import parquet_table
from pipeline.intake.raw import RawTable
from pipeline.intake.text_tables import decoded, find_header, read_rows
from pipeline.settings import Settings
from schemas.batch import FileRead, Notice

ROWS_NAMED = 10
FEWEST_HEADINGS = 2  # house rule: a sheet with fewer headings of ours is no table of records


@dataclass(frozen=True)
class Terms:
    """How files are to be read: the kind given by hand, the settings, the day of receipt.

    lay_out, score: how headings are named, and how many of a line's cells are headings
    """

    kind: str | None
    settings: Settings
    received: date
    lay_out: Callable[[Sequence[str], str | None, Settings, str], Layout] = layout_of
    score: Callable[[Sequence[str], str | None, Settings], int] = header_score


@dataclass(frozen=True)
class Table:
    """A table found, with its columns named, not yet read cell by cell.

    told: the kind given by hand or by a name; None when the columns decided
    """

    source: Source
    layout: Layout
    raw: RawTable
    told: str | None
    not_used: int = 0
    doubts: tuple[str, ...] = ()


def read_paths(
    paths: Sequence[Path], *, kind: str | None, settings: Settings, received: date
) -> Iterator[FileRead]:
    """Every file and sheet under the paths, one at a time.

    in:     kind: of all files, when their names do not tell; received: no record can be dated after it
    errors: WrongUsage for a kind there is not; InputError naming every file that could not be used,
            raised after the last file was looked at
    """
    check_kind(kind)
    return read_found(find_files(paths).files, kind=kind, settings=settings, received=received)


def read_found(
    files: Sequence[Found], *, kind: str | None, settings: Settings, received: date
) -> Iterator[FileRead]:
    """The same for files found before."""
    check_kind(kind)
    check_settings(settings)
    faults = []
    for found in files:
        try:
            yield from read_file(found, Terms(kind, settings, received))
        except InputError as fault:
            faults.append(str(fault))
    if faults:
        raise InputError("\n".join(faults))


def read_file(found: Found, terms: Terms) -> Iterator[FileRead]:
    """The records of one file: of a table, or of each sheet of a workbook.

    errors: InputError naming the file, what is wrong and the remedy
    """
    for table in tables_of(found, terms):
        yield table if isinstance(table, FileRead) else records(table, terms)


def tables_of(found: Found, terms: Terms) -> Iterator[Table | FileRead]:
    """The tables of one file, their columns named; a NOAA file, which has no columns to name, as its records.

    errors: InputError
    """
    ending = suffix(found.path)
    if ending in WORKBOOK:
        yield from _workbook_tables(found, terms)
    elif ending in PARQUET:
        yield _parquet_table(found, terms)
    else:
        yield _text_file(found, terms)


def records(table: Table, terms: Terms) -> FileRead:
    """A table's rows, good or waiting."""
    file = assembled(table.source, table.layout, table.raw, terms.received)
    doubts = [Notice(None, None, None, doubt) for doubt in table.doubts]
    return replace(file, not_used=table.not_used, warnings=(*doubts, *file.warnings))


def _text_file(found: Found, terms: Terms) -> Table | FileRead:
    name = str(found.path)
    data = content(found.path)
    source = Source(name, None, content_hash(data))
    text = decoded(data, name)
    del data
    if terms.kind in (None, "weather") and ghcn.is_fixed_width(text.data):
        return ghcn.fixed_width_file(source, text.data, terms.settings, terms.received)
    if terms.kind in (None, "weather") and ghcn.is_by_station(text.data):
        return ghcn.by_station_file(source, text.data, terms.settings, terms.received)
    doubts = () if text.encoding == "utf-8" else (f"read as {text.encoding}, since it is not UTF-8",)
    return _text_table(source, text.data, terms.kind or named_kind(found), terms, doubts)


def _text_table(source: Source, data: bytes, kind: str | None, terms: Terms, doubts: tuple[str, ...]) -> Table:
    settings, name = terms.settings, source.name
    header = find_header(data, lambda cells: _score(cells, kind, terms), name)
    if kind in (None, "weather") and daily_summaries.is_daily_summaries(header.cells):
        header = replace(header, cells=tuple(daily_summaries.our_headings(header.cells, settings, name)))
        raw, not_used = daily_summaries.sorted_out(read_rows(data, header))
        layout = terms.lay_out([column.header for column in raw.columns], "weather", settings, name)
        return Table(source, layout, raw, "weather", not_used, doubts)
    layout = terms.lay_out(header.cells, kind, settings, name)
    return Table(source, layout, read_rows(data, header), kind, doubts=doubts)


def _score(cells: Sequence[str], kind: str | None, terms: Terms) -> int:
    return len(cells) if daily_summaries.is_daily_summaries(cells) else terms.score(cells, kind, terms.settings)


def _parquet_table(found: Found, terms: Terms) -> Table:
    name = str(found.path)
    source = Source(name, None, content_hash(content(found.path)))
    raw = parquet_table(found.path)
    headers = [column.header for column in raw.columns]
    kind = terms.kind or named_kind(found)
    return Table(source, terms.lay_out(headers, kind, terms.settings, name), raw, kind)


def _workbook_tables(found: Found, terms: Terms) -> list[Table]:
    """The sheets of a workbook that hold records; a sheet that holds none is passed over and named.

    errors: InputError when no sheet holds records, or one that should does not
    """
    name = str(found.path)
    data = content(found.path)
    mark = content_hash(data)
    sheets, error_cells = workbooks.sheets(data, name)
    tables: list[Table] = []
    passed_over: list[str] = []
    for sheet in sheets:
        source = Source(name, sheet.name, mark)
        kind = terms.kind or named_kind(found, sheet.name)
        at = workbooks.header_row(sheet, lambda cells, of=kind: terms.score(cells, of, terms.settings))  # type: ignore[misc]
        headings = workbooks.headings(sheet.rows[at])
        if len(sheets) > 1 and not kind_of_name(sheet.name) and _is_no_table(headings, kind, terms):
            passed_over.append(sheet.name)
            continue
        layout = terms.lay_out(headings, kind, terms.settings, source.name)
        merged = _merged(workbooks.merged_rows(sheet, at))
        tables.append(Table(source, layout, workbooks.table(sheet, at), kind, doubts=merged))
    return _with_doubts(tables, passed_over, error_cells, name)


def _is_no_table(headings: Sequence[str], kind: str | None, terms: Terms) -> bool:
    return terms.score(headings, kind, terms.settings) < FEWEST_HEADINGS


def _with_doubts(tables: list[Table], passed_over: list[str], error_cells: int, name: str) -> list[Table]:
    if not tables:
        raise InputError(
            f"{name}: cannot tell which kind of record this is: no sheet has the headings of one; "
            "give --kind, or name a sheet after its kind"
        )
    doubts = [f"sheet {sheet} holds no records of ours and was passed over" for sheet in passed_over]
    if error_cells:
        doubts.append(f"cells that hold an error such as #N/A and read as not recorded: {error_cells}")
    return [replace(tables[0], doubts=(*doubts, *tables[0].doubts)), *tables[1:]]


def _merged(rows: Sequence[int]) -> tuple[str, ...]:
    if not rows:
        return ()
    named = ", ".join(str(row) for row in rows[:ROWS_NAMED]) + (", …" if len(rows) > ROWS_NAMED else "")
    return (
        f"merged cells begin in row {named}: what they say counts for their first cell alone, "
        "the others read as empty; unmerge them and fill each cell",
    )
