"""`withdraw`: a batch taken back."""

from collections.abc import Callable
from pathlib import Path

from pipeline.settings import Settings
from pipeline.store.book import open_book, rows
from pipeline.store.firm_settings import remember
from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from schemas.results_store import WithdrawnFile


def withdraw_(
    book: Path, settings: Settings, batch_id: int, *, progress: Callable[[str], None] | None = None
) -> list[WithdrawnFile]:
    """Take a batch back: the book then equals one that never received it.

    in:     progress: told how far the work is
    out:    the files of the batch
    errors: InputError when there is no such batch, or it is withdrawn already
    """
    with open_book(book, write=True) as con, one_transaction(con):
        withdraw_batch(con, batch_id, progress=progress)
        remember(con, settings)
        files = rows(con, "withdrawn_files", {"batch_id": batch_id})
    return [WithdrawnFile(**row) for row in files]  # type: ignore[typeddict-item]
