"""Which file contents the book holds already, so that the same file again changes nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipeline.store.book import rows
from schemas.batch import FileRead

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Repeats:
    """What of a batch is there twice.

    files: position of a file that brings no new content -> the file_id that brought or brings it
    kinds: kinds of which some key stands in more than one row of the other files
    """

    files: Mapping[int, int]
    kinds: frozenset[str]


Content = tuple[str, str, str]  # content hash, sheet ('' outside workbooks), kind


def content_of(file: FileRead) -> Content:
    """What makes two files the same: their bytes, the sheet, and the kind they were read as."""
    return file.content_hash, file.sheet or "", file.kind


def find_repeats(con: "duckdb.DuckDBPyConnection", files: Sequence[FileRead], *, again: bool) -> Repeats:
    """The files of a batch that bring nothing new, and the kinds that have a key twice.

    With `again` a file brings nothing new only when its content comes twice in this very batch.
    """
    repeated = _repeated_files(con, files, again=again)
    fresh = [file for place, file in enumerate(files) if place not in repeated]
    kinds = {file.kind for file in fresh}
    return Repeats(repeated, frozenset(kind for kind in kinds if _has_key_twice([f for f in fresh if f.kind == kind])))


def _repeated_files(con: "duckdb.DuckDBPyConnection", files: Sequence[FileRead], *, again: bool) -> dict[int, int]:
    first_id = rows(con, "next_numbers")[0]["file_id"]
    known = {} if again else _known_contents(con)
    repeated: dict[int, int] = {}
    for place, file in enumerate(files):
        content = content_of(file)
        if content in known:
            repeated[place] = known[content]
        known.setdefault(content, first_id + place)
    return repeated


def _has_key_twice(files: Sequence[FileRead]) -> bool:
    keys = pl.concat([rows["_key"] for file in files for rows in (file.good, file.bad)]).drop_nulls()
    if keys.hash().n_unique() == len(keys):  # a third of the time that the texts themselves take
        return False
    return keys.n_unique() < len(keys)


def _known_contents(con: "duckdb.DuckDBPyConnection") -> dict[Content, int]:
    return {(row["content_hash"], row["sheet"], row["kind"]): row["file_id"] for row in rows(con, "known_contents")}
