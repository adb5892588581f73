"""What waits in quarantine: listed, dropped with a reason, laid out to be corrected in a spreadsheet."""

import json
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from pipeline.errors import InputError
from pipeline.store.book import question, rows
from pipeline.store.steps import column_names, fill_in, words_of

if TYPE_CHECKING:
    import duckdb

PLACE_COLUMNS = ("quarantine_id", "source_file", "source_row", "reason")


def waiting_rows(con: "duckdb.DuckDBPyConnection", kind: str | None = None) -> list[dict[str, Any]]:
    """Every row that waits: quarantine_id, kind, file, row, column, value, reason, raw (its cells as JSON text)."""
    return rows(con, "waiting_rows", {"kind": kind})


def drop(con: "duckdb.DuckDBPyConnection", names: Sequence[str], *, reason: str) -> None:
    """Take entries out of quarantine for good, the reason kept; the caller holds the transaction.

    errors: InputError naming every quarantine_id that does not wait
    """
    waiting = {row["quarantine_id"]: row["_batch_id"] for row in waiting_rows(con)}
    unknown = [name for name in names if name not in waiting]
    if unknown:
        raise InputError(
            f"nothing waits under {', '.join(unknown)}; areaway quarantine lists what waits; nothing was dropped"
        )
    after = con.execute("select max(batch_id) from batches").fetchall()[0][0]
    for name in dict.fromkeys(names):
        entry = [name, waiting[name], reason, datetime.now(), after]
        con.execute("insert into drops values (?, ?, ?, ?, ?)", entry)
    con.execute(question("drop_again"), {"batch_id": after})


def sheet_to_correct(con: "duckdb.DuckDBPyConnection", kind: str) -> list[dict[str, Any]]:
    """What waits of one kind, to be corrected and taken in again.

    out: one dict per row: quarantine_id, source_file, source_row, reason, then the columns of the kind with the
         text as it was read; `_faulty` names the column of the first fault
    """
    return [
        {
            "quarantine_id": row["quarantine_id"],
            "source_file": row["file"],
            "source_row": row["row"],
            "reason": row["reason"],
            **_cells(con, row, kind),
            "_faulty": row["column"],
        }
        for row in waiting_rows(con, kind)
    ]


def _cells(con: "duckdb.DuckDBPyConnection", row: dict[str, Any], kind: str) -> dict[str, str | None]:
    """The cells of a row that waits: as read, or, where it was readable and its text is not kept, as understood."""
    columns = column_names(kind)
    if row["raw"] is not None:
        read = json.loads(row["raw"])
        return {name: read.get(name) for name in columns}
    text = fill_in("select COLUMNS from waiting.KIND where _batch_id = ? and _key = ?", words_of(con, kind))
    understood = con.execute(text, [row["_batch_id"], row["_key"]]).fetchall()[0]
    return {name: None if cell is None else str(cell) for name, cell in zip(columns, understood, strict=True)}
