"""`quarantine`: what waits and why; written out to be corrected, or dropped with a reason."""

import re
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.errors import InputError, WrongUsage
from pipeline.settings import Settings
from pipeline.store.book import open_book
from pipeline.store.firm_settings import remember
from pipeline.store.quarantine import PLACE_COLUMNS, drop, sheet_to_correct, waiting_rows
from pipeline.store.sheets import write_csv, write_workbook
from pipeline.store.steps import column_names
from pipeline.store.write import one_transaction
from schemas.kinds import KINDS
from schemas.links import LINKS
from schemas.results_store import QuarantineResult, QuarantineRow

PARENTS = {(link.kind, link.column): link.parent for link in LINKS}
NAMED = re.compile(r"(\w+) is '(.*?)'; that \w+ is not in the book yet")  # as the reason of such a row says it
ANOTHER_FAULT = "; also "


def quarantine_(book: Path, *, kind: str | None = None, export: Path | None = None) -> QuarantineResult:
    """What waits, of one kind or all; with `export` also written to a CSV or workbook to be corrected.

    errors: WrongUsage for a kind or an ending there is not; InputError when several kinds wait and the file is a CSV
    """
    if kind is not None and kind not in KINDS:
        raise WrongUsage(f"--kind is '{kind}'; it must be one of {', '.join(KINDS)}")
    if export is not None and export.suffix.lower() not in (".csv", ".xlsx"):
        raise WrongUsage(f"--export is '{export}'; it must end in .csv or .xlsx")
    with open_book(book) as con:
        everything = waiting_rows(con)
        waiting = [row for row in everything if kind in (None, row["kind"])]
        if export is not None:
            kinds = sorted({row["kind"] for row in waiting}, key=list(KINDS).index)
            _write(export, {name: sheet_to_correct(con, name) for name in kinds}, kind)
    known = {(row["kind"], row["_key"]) for row in everything}
    told = [_told(row, follows=_follows(row, known)) for row in waiting]
    return QuarantineResult(rows=told, total=len(told), exported=str(export) if export else None, dropped=[])


def drop_(book: Path, settings: Settings, names: Sequence[str], *, reason: str) -> QuarantineResult:
    """Entries taken out of quarantine for good, the reason kept; then what still waits.

    errors: WrongUsage without a reason; InputError when an id does not wait, and then nothing is dropped
    """
    if not reason.strip():
        raise WrongUsage("--drop needs --reason TEXT: why these rows are not needed")
    with open_book(book, write=True) as con, one_transaction(con):
        drop(con, names, reason=reason)
        remember(con, settings)
    return {**quarantine_(book), "dropped": list(dict.fromkeys(names))}


def _told(row: Mapping[str, Any], *, follows: bool) -> QuarantineRow:
    return QuarantineRow(
        quarantine_id=row["quarantine_id"], kind=row["kind"], file=row["file"], row=row["row"],
        column=row["column"], value=row["value"], reason=row["reason"], follows=follows,
    )  # fmt: skip


def _follows(row: Mapping[str, Any], known: Collection[tuple[str, str]]) -> bool:
    """Whether a row waits only for a record that waits itself; known: kind and key of all that waits."""
    named = NAMED.findall(row["reason"])
    if row["cause"] != "link" or len(named) != row["reason"].count(ANOTHER_FAULT) + 1:
        return False
    return all((PARENTS[row["kind"], column], value) in known for column, value in named)


def _write(path: Path, sheets: dict[str, list[dict[str, object]]], kind: str | None) -> None:
    if not path.parent.is_dir():
        raise InputError(f"there is no folder {path.parent}; make it first")
    frames = {name: _frame(name, rows) for name, rows in sheets.items()}
    if path.suffix.lower() == ".xlsx":
        faulty = {name: [row["_faulty"] for row in rows] for name, rows in sheets.items()}
        write_workbook(path, frames or {"nothing waits": _frame(None, [])}, faulty=faulty)  # type: ignore[arg-type]
    elif len(frames) > 1:
        raise InputError(f"rows of {', '.join(frames)} wait; a CSV holds one kind: add --kind, or give a .xlsx file")
    else:
        write_csv(path, next(iter(frames.values()), _frame(kind, [])))


def _frame(kind: str | None, rows: list[dict[str, object]]) -> pl.DataFrame:
    names = (*PLACE_COLUMNS, *(column_names(kind) if kind else ()))
    schema = {name: pl.Int64 if name == "source_row" else pl.String for name in names}
    return pl.DataFrame([{name: row[name] for name in names} for row in rows], schema=schema)
