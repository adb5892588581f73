"""`info`: what the book holds."""

from pathlib import Path
from typing import cast

from pipeline.store.book import open_book, rows
from pipeline.store.layout import schema_version
from schemas.results_store import BatchHeld, InfoResult, KindHeld, ModelHeld, WarningHeld


def info_(book: Path, *, warnings: bool = False) -> InfoResult:
    """Counts, date ranges, batches, model versions and size of the book; with `warnings` every doubt about kept rows.

    errors: NotEnoughRecords when there is no book
    """
    with open_book(book) as con:
        result = InfoResult(
            book=str(book),
            size_bytes=book.stat().st_size,
            schema_version=schema_version(con),
            as_of=rows(con, "newest_date")[0]["newest"],
            kinds=cast("list[KindHeld]", rows(con, "kinds_held")),
            batches=cast("list[BatchHeld]", rows(con, "batches_held")),
            models=cast("list[ModelHeld]", rows(con, "models_held")),
        )
        if warnings:
            result["warnings"] = cast("list[WarningHeld]", rows(con, "warnings_held"))
    return result
