"""`withdraw`: a batch taken back."""

from pathlib import Path

from pipeline.store.book import open_book, rows
from pipeline.store.withdraw import withdraw_batch
from pipeline.store.write import one_transaction
from schemas.results_store import WithdrawnFile


def withdraw_(book: Path, batch_id: int) -> list[WithdrawnFile]:
    """Take a batch back: the book then equals one that never received it.

    out:    the files of the batch
    errors: InputError when there is no such batch, or it is withdrawn already
    """
    with open_book(book, write=True) as con, one_transaction(con):
        withdraw_batch(con, batch_id)
        files = rows(con, "withdrawn_files", {"batch_id": batch_id})
    return [WithdrawnFile(**row) for row in files]  # type: ignore[typeddict-item]
