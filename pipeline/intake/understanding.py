"""How the columns of a new firm's files are understood, with doubts, before anything is taken in."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches

import polars as pl

from pipeline.intake.convert import ColumnPlan, Converted, converted
from pipeline.intake.find import Found, kind_of_file, kind_of_name
from pipeline.intake.headers import SUFFIXES, Heading, plain, plan_of
from pipeline.intake.kinds_of import likeliest_layout
from pipeline.intake.raw import RawColumn
from pipeline.intake.read import Table, Terms, records, tables_of
from schemas.batch import FileRead
from schemas.kinds import KINDS
from schemas.results_intake import CellExample, InspectedColumn, InspectedFile, RefusedCell

NO_KIND = "neither the name nor a heading tells which kind of record this is; give --kind"
REFUSED_SHOWN = 20
# Headings that offices use, and the columns of ours they usually mean, the likeliest first: common practice, no source.
COMMON_HEADINGS = {
    "date": ("worked_on", "bought_on", "incurred_on", "reported_on", "checked_on", "observed_on", "quoted_on"),
    "day": ("worked_on", "checked_on"),
    "bought": ("bought_on",),
    "number": ("job_id",),
    "job_no": ("job_id",),
    "ticket": ("entry_id",),
    "line": ("line_id",),
    "who": ("worker_id", "installer"),
    "worker": ("worker_id",),
    "name": ("worker_id", "installer"),
    "employee": ("worker_id",),
    "task": ("phase",),
    "activity": ("phase",),
    "time": ("hours",),
    "man_hours": ("hours",),
    "rate": ("hourly_cost",),
    "wage": ("hourly_cost",),
    "qty": ("quantity",),
    "what": ("item",),
    "material": ("item",),
    "size_or_model": ("spec", "window_spec"),
    "per": ("unit",),
    "each": ("unit_cost",),
    "price_each": ("unit_cost",),
    "cost": ("amount", "unit_cost"),
    "price": ("contract_price", "unit_cost", "price"),
    "address": ("site",),
    "foreman": ("crew",),
    "team": ("crew",),
    "start": ("started_on",),
    "finish": ("completed_on",),
    "end": ("completed_on",),
    "wall": ("wall_type",),
    "thickness": ("wall_thickness_in",),
    "width": ("rough_width_in",),
    "height": ("rough_height_in",),
    "depth": ("depth_below_grade_in",),
    "problem": ("complaint",),
}
ALIKE = 0.6  # share of letters two headings must have in common to be called alike


def understood(found: Found, terms: Terms) -> Iterator[InspectedFile]:
    """Every table of a file: what each column is taken for, which cells cannot be read, what is missing.

    errors: InputError when the file cannot be opened at all
    """
    lenient = replace(terms, lay_out=likeliest_layout)
    for table in tables_of(found, lenient):
        if isinstance(table, FileRead):
            yield _noaa(table)
            continue
        told = terms.kind or kind_of_name(table.source.sheet or "") or kind_of_file(found)
        guessed = not told and not table.layout.plans
        yield _table(table, terms, [NO_KIND] if guessed else [])


def _noaa(file: FileRead) -> InspectedFile:
    doubts = [f"{file.not_used} values of other elements have no column of ours"] if file.not_used else []
    return InspectedFile(
        path=file.path, sheet=file.sheet, kind=file.kind, rows=file.rows, good=file.good.height,
        waiting=file.bad.height, columns=[], missing=[], doubts=["a NOAA GHCN-Daily file", *file.readings, *doubts],
    )  # fmt: skip


def _table(table: Table, terms: Terms, doubts: list[str]) -> InspectedFile:
    layout = table.layout
    doubts += [f"column {name} stands twice; leave one of them" for name in layout.repeated]
    usable = not layout.missing and not layout.repeated
    file = records(table, terms) if usable else None
    if file is not None:
        doubts += [notice.text for notice in file.warnings if notice.column is None and notice.line is None]
    spare = [name for name in KINDS[layout.kind].columns() if name not in {plan.name for plan in layout.plans.values()}]
    columns = [
        _known(layout.plans[at], column, table) if at in layout.plans else _unknown(column, table, terms, spare)
        for at, column in enumerate(table.raw.columns)
        if column.header.strip()
    ]
    return InspectedFile(
        path=table.source.path, sheet=table.source.sheet, kind=layout.kind, rows=table.raw.height,
        good=file.good.height if file else None, waiting=file.bad.height if file else None,
        columns=columns, missing=list(layout.missing), doubts=doubts,
    )  # fmt: skip


def _known(plan: ColumnPlan, column: RawColumn, table: Table) -> InspectedColumn:
    result = converted(plan, column, guarded=table.raw.guarded)
    return InspectedColumn(
        header=column.header.strip(), column=plan.name, read_as=plan.kind,
        unit=plan.unit or str(KINDS[table.layout.kind].columns()[plan.name].metadata["unit"]) or None,
        filled=int(result.values.count()), examples=_examples(plan, column, result), refused=_refused(result),
        readings=list(result.readings), doubts=list(result.doubts), nearest=None,
    )  # fmt: skip


def _examples(plan: ColumnPlan, column: RawColumn, result: Converted) -> list[CellExample]:
    """Texts that became something else; where none did, the first cell with a value."""
    if result.examples:
        return [CellExample(text=text, value=value) for text, value in result.examples]
    at = result.values.is_not_null().arg_true().head(1)
    return [CellExample(text=str(column.text[i]), value=str(result.values[i])) for i in at]


def _refused(result: Converted) -> list[RefusedCell]:
    distinct = result.faults.unique("value", keep="first", maintain_order=True).head(REFUSED_SHOWN)
    rules = distinct.with_columns(pl.col("reason").str.split("'; ").list.last().alias("rule"))
    return [RefusedCell(text=row["value"], rule=row["rule"]) for row in rules.iter_rows(named=True)]


def _unknown(column: RawColumn, table: Table, terms: Terms, spare: Sequence[str]) -> InspectedColumn:
    """A column of theirs; where it is like one of ours, read as it would be under that name."""
    like = nearest(column.header, spare)
    if like is not None:
        plan = plan_of(Heading(like), table.layout.kind, column.header, terms.settings)
        read = _known(plan, column, table)
        read["column"], read["nearest"] = None, like
        return read
    return InspectedColumn(
        header=column.header.strip(), column=None, read_as=None, unit=None, filled=int(column.text.count()),
        examples=[], refused=[], readings=[], doubts=[], nearest=None,
    )  # fmt: skip


def nearest(header: str, spare: Sequence[str]) -> str | None:
    """The column of ours that a heading is most like, by custom or by its letters; None when it is like none."""
    usual = [name for name in COMMON_HEADINGS.get(plain(header), ()) if name in spare]
    if usual:
        return usual[0]
    by_name = {**{_short(name): name for name in spare}, **{name: name for name in spare}}
    found = get_close_matches(plain(header), list(by_name), n=1, cutoff=ALIKE)
    return by_name[found[0]] if found else None


def _short(name: str) -> str:
    for suffix in (*SUFFIXES, "_on"):
        name = name.removesuffix(suffix)
    return name
