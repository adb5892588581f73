"""Which file contents the book holds already, so that the same file again changes nothing."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pipeline.store.book import rows
from schemas.batch import FileRead

if TYPE_CHECKING:
    import duckdb

Content = tuple[str, str, str]  # content hash, sheet ('' outside workbooks), kind


def content_of(file: FileRead) -> Content:
    """What makes two files the same: their bytes, the sheet, and the kind they were read as."""
    return file.content_hash, file.sheet or "", file.kind


def repeated_files(
    con: "duckdb.DuckDBPyConnection", files: Sequence[FileRead], *, again: bool
) -> dict[int, int]:
    """Files of a batch that bring no new content: position in the batch -> the file_id that brought or brings it.

    With `again` only a content that comes twice in this very batch is left out.
    """
    first_id = rows(con, "next_numbers")[0]["file_id"]
    known = {} if again else _known_contents(con)
    repeated: dict[int, int] = {}
    for place, file in enumerate(files):
        content = content_of(file)
        if content in known:
            repeated[place] = known[content]
        known.setdefault(content, first_id + place)
    return repeated


def _known_contents(con: "duckdb.DuckDBPyConnection") -> dict[Content, int]:
    return {
        (row["content_hash"], row["sheet"], row["kind"]): row["file_id"] for row in rows(con, "known_contents")
    }
