"""What intake hands to the book: one file or sheet read, its good rows and the rows that wait."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import polars as pl

# Columns that stand beside the record's own: `_row` counts a file's rows from 0, `_line` is where the row starts.
PLACE = {"_row": pl.Int64, "_line": pl.Int64, "_key": pl.String, "_quarantine_id": pl.String}
FAULT = {"column": pl.String, "value": pl.String, "reason": pl.String}
ALONE = {"alone": pl.String, "understood": pl.String}
BAD = {**PLACE, **FAULT, "raw": pl.String, **ALONE}


@dataclass(frozen=True)
class Notice:
    """A doubt about a row that is kept, or about a whole column (`line` None)."""

    line: int | None
    column: str | None
    value: str | None
    text: str


@dataclass(frozen=True)
class FileRead:
    """One text file, sheet or Parquet file as read; rows = good + bad, always.

    content_hash: of the whole file; the sheets of a workbook share it
    good:     record columns, typed (String, Date, Boolean, Float64, Int64), and the PLACE columns
    bad:      the BAD columns; `column` and `value` of the first fault, `reason` tells all faults,
              `raw` is the row's own cells as JSON text: our column -> text as read,
              `alone` is the reason without other rows of the same key, `understood` the values of a row that only
              those keep out, as JSON text
    text:     `_row` and, for every row good or bad, our columns as text as read; where only the heading or the rest
              of the column told how to read a cell, the text says it itself (127 in a column of cm is `127 cm`)
    not_used: weather elements that have no column of ours
    """

    path: str
    sheet: str | None
    kind: str
    content_hash: str
    rows: int
    good: pl.DataFrame
    bad: pl.DataFrame
    text: pl.DataFrame
    warnings: tuple[Notice, ...] = ()
    not_used: int = 0
    readings: tuple[str, ...] = ()
    unexpected: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The file as given, `FILE[Sheet]` for a workbook."""
        return self.path if self.sheet is None else f"{self.path}[{self.sheet}]"


def set_aside(file: FileRead, faults: pl.DataFrame) -> FileRead:
    """The file with some good rows moved to the rows that wait, because of other rows with their key.

    in: faults, one row per row to move: _row, column, value, reason
    """
    if faults.is_empty():
        return file
    faults = faults.select("_row", *FAULT)
    moved = file.good.select(*PLACE).join(faults, on="_row", how="inner", validate="1:1")
    values = file.good.select(pl.all().exclude(*PLACE).cast(pl.String))
    understood = file.good.select("_row", values.to_struct().struct.json_encode().alias("understood"))
    moved = moved.join(understood, on="_row", how="left", validate="1:1")
    bad = pl.concat([file.bad, with_raw(moved.with_columns(pl.lit(None).alias("alone")), file.text)]).sort("_row")
    good = file.good.join(faults, on="_row", how="anti", maintain_order="left")
    return replace(file, good=good, bad=bad)


def with_raw(waiting: pl.DataFrame, text: pl.DataFrame) -> pl.DataFrame:
    """Waiting rows with their own cells as JSON text beside them, in the columns of BAD."""
    cells = text.filter(pl.col("_row").is_in(waiting["_row"].implode()))
    columns = [name for name in cells.columns if name != "_row"]
    raw = cells.select("_row", pl.struct(columns).struct.json_encode().alias("raw") if columns else pl.lit("{}"))
    if "alone" not in waiting.columns:
        waiting = waiting.with_columns(pl.col("reason").alias("alone"), pl.lit(None).alias("understood"))
    return waiting.join(raw, on="_row", how="left", validate="1:1").select(
        pl.col(name).cast(dtype) for name, dtype in BAD.items()
    )


def one_fault_per_row(cells: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """Many faulty cells as one line per row: the first fault's column and value, all reasons in one text.

    in: frames of _row, column, value, reason, in the order in which faults are to be told
    """
    if not cells:
        return pl.DataFrame(schema={"_row": pl.Int64, **FAULT})
    return (
        pl.concat([cell.select("_row", *FAULT) for cell in cells])
        .group_by("_row", maintain_order=True)
        .agg(pl.col("column", "value").first(), pl.col("reason").unique(maintain_order=True).str.join("; also "))
    )
