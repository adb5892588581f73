"""Files to records: each file or sheet read, checked, and parted into good rows and rows that wait."""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from pipeline.errors import InputError
from pipeline.intake.assemble import Source, assembled
from pipeline.intake.bytes_of import content, content_hash
from pipeline.intake.find import Found, find_files, kind_of_file
from pipeline.intake.headers import check_settings
from pipeline.intake.kinds_of import check_kind, header_score, layout_of
from pipeline.intake.text_tables import decoded, find_header, read_rows
from pipeline.settings import Settings
from schemas.batch import FileRead


def read_paths(
    paths: Sequence[Path], *, kind: str | None, settings: Settings, received: date
) -> Iterator[FileRead]:
    """Every file and sheet under the paths, one at a time.

    in:     kind: of all files, when their names do not tell; received: no record can be dated after it
    errors: WrongUsage for a kind there is not; InputError naming every file that could not be used,
            raised after the last file was looked at
    """
    return read_found(find_files(paths).files, kind=kind, settings=settings, received=received)


def read_found(
    files: Sequence[Found], *, kind: str | None, settings: Settings, received: date
) -> Iterator[FileRead]:
    """The same for files found before."""
    check_kind(kind)
    check_settings(settings)
    faults = []
    for found in files:
        try:
            yield from read_file(found, kind=kind, settings=settings, received=received)
        except InputError as fault:
            faults.append(str(fault))
    if faults:
        raise InputError("\n".join(faults))


def read_file(found: Found, *, kind: str | None, settings: Settings, received: date) -> Iterator[FileRead]:
    """The tables of one file: one, or one per sheet of a workbook.

    errors: InputError naming the file, what is wrong and the remedy
    """
    yield _text_file(found, kind, settings, received)


def _text_file(found: Found, kind: str | None, settings: Settings, received: date) -> FileRead:
    name = str(found.path)
    data = content(found.path)
    source = Source(name, None, content_hash(data))
    text = decoded(data, name)
    kind = kind or kind_of_file(found)
    header = find_header(text.data, lambda cells: header_score(cells, kind, settings), name)
    layout = layout_of(header.cells, kind, settings, name)
    return assembled(source, layout, read_rows(text.data, header), received)
