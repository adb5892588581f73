"""A raw table of a known kind to its good rows and the rows that wait."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.intake.checks import date_faults, model_faults, product_faults
from pipeline.intake.convert import DTYPES, ColumnPlan, Converted, converted, readings_of
from pipeline.intake.headers import Layout
from pipeline.intake.keys import keys
from pipeline.intake.raw import NO_FAULTS, RawColumn, RawTable
from pipeline.intake.usual import hours_far_above_usual, prices_of_a_few_dollars
from schemas.batch import BAD, PLACE, FileRead, Notice, one_fault_per_row, with_raw
from schemas.kinds import KINDS

COLUMNS_AT_ONCE = 2
NO_RECORD = "not a record; drop it: areaway quarantine --drop ID --reason TEXT"
OF_THE_EXPORT = frozenset({"quarantine_id", "source_file", "source_row", "reason"})  # columns a correction brings along
TOTAL = r"(?i)^(grand|sub)?[\s_-]*(totals?|sum)\s*:?$"


@dataclass(frozen=True)
class Source:
    """Where a table comes from."""

    path: str
    sheet: str | None
    content_hash: str

    @property
    def name(self) -> str:
        """The file as given, `FILE[Sheet]` for a workbook."""
        return self.path if self.sheet is None else f"{self.path}[{self.sheet}]"


def assembled(source: Source, layout: Layout, raw: RawTable, received: date) -> FileRead:
    """Every row of a table, either good or waiting with its reasons.

    in: received: the day of receipt, after which no record can be dated
    """
    kind = KINDS[layout.kind]
    plans = sorted(layout.plans.items(), key=lambda item: list(kind.columns()).index(item[1].name))
    results = _converted_columns(dict(plans), raw)
    text = pl.DataFrame({plan.name: raw.columns[at].text for at, plan in plans})
    retold = text.with_columns(
        result.retold.alias(name) for name, result in results.items() if result.retold is not None
    )
    values = _values(layout.kind, results, raw.height)
    no_rows = pl.concat([NO_FAULTS, *_rows_that_are_none(layout, raw)])
    whole = pl.concat([raw.faults.join(no_rows, on="_row", how="anti"), no_rows])
    cells = [result.faults for result in results.values()]
    cells += [*date_faults(layout.kind, values, text, received), model_faults(kind, values, text)]
    cells += product_faults(layout.kind, values, text)
    faults = _told_once(whole, cells, list(kind.columns()))
    rows = _placed(layout, raw, values, no_rows)
    retold = retold.insert_column(0, pl.int_range(raw.height, eager=True).alias("_row"))
    good, bad = _parted(rows, faults, retold)
    return FileRead(
        path=source.path, sheet=source.sheet, kind=layout.kind, content_hash=source.content_hash, rows=raw.height,
        good=good, bad=bad, text=retold,
        warnings=(
            *_doubts(layout, results, values), *_without_heading(raw),
            *hours_far_above_usual(layout.kind, good), *prices_of_a_few_dollars(layout.kind, good),
        ),
        readings=readings_of(list(results.values())), unexpected=layout.unexpected,
    )  # fmt: skip


def _converted_columns(plans: dict[int, ColumnPlan], raw: RawTable) -> dict[str, Converted]:
    """Every column converted, two at a time: the work is done outside the interpreter's lock."""
    with ThreadPoolExecutor(COLUMNS_AT_ONCE) as pool:
        results = pool.map(lambda at: converted(plans[at], raw.columns[at], guarded=raw.guarded), plans)
        return {plan.name: result for plan, result in zip(plans.values(), results, strict=True)}


def _values(kind: str, results: dict[str, Converted], height: int) -> pl.DataFrame:
    """All record columns of a kind in their types; a column that the file does not have is null."""
    columns = {}
    for name, column in KINDS[kind].columns().items():
        dtype = DTYPES[column.metadata["kind"]]
        nothing = pl.Series(name, [None], dtype=dtype).new_from_index(0, height)
        columns[name] = results[name].values if name in results else nothing
    return pl.DataFrame(columns)


def _placed(layout: Layout, raw: RawTable, values: pl.DataFrame, no_rows: pl.DataFrame) -> pl.DataFrame:
    """The values with the place of each row: _row, _line, _key, _quarantine_id."""
    key = keys(KINDS[layout.kind], values)
    if not no_rows.is_empty():
        key = key.set(pl.int_range(raw.height, eager=True).is_in(no_rows["_row"].implode()), None)
    tied = pl.Series("_quarantine_id", [None], dtype=pl.String).new_from_index(0, raw.height)
    if layout.quarantine_at is not None:
        tied = raw.columns[layout.quarantine_at].text.str.strip_chars()
    return values.with_columns(
        pl.int_range(raw.height, eager=True).alias("_row"),
        raw.lines.alias("_line"), key.alias("_key"), tied.alias("_quarantine_id"),
    )  # fmt: skip


def _parted(rows: pl.DataFrame, faults: pl.DataFrame, text: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    if faults.is_empty():
        return rows, pl.DataFrame(schema=BAD)
    at_fault = pl.int_range(rows.height, eager=True).is_in(faults["_row"].implode())
    waiting = rows.select(*PLACE).filter(at_fault).join(faults, on="_row", how="left", validate="1:1")
    return rows.filter(~at_fault), with_raw(waiting, text)


def _told_once(whole: pl.DataFrame, cells: Sequence[pl.DataFrame], columns: Sequence[str]) -> pl.DataFrame:
    """One line per faulty row: rows wrong as a whole first and alone, then cells in the order of the columns."""
    found = [cell for cell in cells if not cell.is_empty()]
    if not found:
        return one_fault_per_row([whole] if not whole.is_empty() else [])
    order = pl.col("column").replace_strict({name: at for at, name in enumerate(columns)}, return_dtype=pl.Int32)
    told = (
        pl.concat(found)
        .join(whole.select("_row"), on="_row", how="anti")
        .unique(["_row", "column"], keep="first", maintain_order=True)
        .sort("_row", order, maintain_order=True)
    )
    return one_fault_per_row([whole, told]).sort("_row")


def _rows_that_are_none(layout: Layout, raw: RawTable) -> list[pl.DataFrame]:
    """Lines that repeat the header or add up the rows above them."""
    own = OF_THE_EXPORT if layout.quarantine_at is not None else frozenset()
    named = [column for column in raw.columns if column.header.strip() and column.header.strip() not in own]
    if not named or not raw.height:
        return []
    cells = [pl.col(f"c{at}") for at in range(len(named))]
    filled = pl.coalesce(pl.when(cell.str.strip_chars() != "").then(cell) for cell in cells)
    candidates = _candidates(named[0])
    few = pl.DataFrame({f"c{at}": column.text.gather(candidates) for at, column in enumerate(named)})
    few = few.with_columns(candidates.alias("_row"), filled.alias("first"))
    repeats = pl.all_horizontal(
        pl.col(f"c{at}").str.strip_chars() == column.header.strip() for at, column in enumerate(named)
    )
    return [
        _whole(few.filter(repeats), f"this is the header again, {NO_RECORD}"),
        _whole(
            few.filter(pl.col("first").str.strip_chars().str.contains(TOTAL)),
            f"this is a TOTAL line, {NO_RECORD}",
        ),
    ]


def _candidates(column: RawColumn) -> pl.Series:
    """Rows whose first cell is empty, repeats its header or says total: few enough to look at closely."""
    first, header = column.text, column.header
    likely = first.is_null() | (first == header) | (first.str.strip_chars() == "")
    likely = likely | first.str.contains_any(["total", "sum"], ascii_case_insensitive=True)
    if header.strip() and header != header.strip():
        likely = likely | (first.str.strip_chars() == header.strip())
    return likely.fill_null(True).arg_true().cast(pl.Int64)


def _whole(rows: pl.DataFrame, reason: str) -> pl.DataFrame:
    return rows.select(
        "_row", pl.lit(None, dtype=pl.String).alias("column"), pl.col("first").alias("value"),
        pl.lit(reason).alias("reason"),
    ).cast(NO_FAULTS.schema)  # fmt: skip


def _without_heading(raw: RawTable) -> list[Notice]:
    """One notice per column with cells but no heading: what stands there has no name and is kept out."""
    found = [
        (at, int((column.text.str.strip_chars() != "").sum()))
        for at, column in enumerate(raw.columns, 1)
        if not column.header.strip()
    ]
    return [
        Notice(None, None, None, f"column {at} has no heading; filled cells kept out: {cells}")
        for at, cells in found
        if cells
    ]


def _doubts(layout: Layout, results: dict[str, Converted], values: pl.DataFrame) -> list[Notice]:
    """Doubts about whole columns, and about rows that only their content names."""
    doubts = [Notice(None, name, None, doubt) for name, result in results.items() for doubt in result.doubts]
    kind = KINDS[layout.kind]
    if layout.unexpected:
        named = ", ".join(layout.unexpected)
        doubts.append(Notice(None, None, None, f"columns that are none of ours were kept out: {named}"))
    if kind.natural and (without := values[kind.key[0]].null_count()):
        doubts.append(
            Notice(None, kind.key[0], None, f"rows without a number of their own: {without}; if such a row comes again "
                   "changed in another file, it counts twice; give each row a number that stays with it")
        )  # fmt: skip
    return doubts
