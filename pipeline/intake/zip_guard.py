"""A workbook looked at before it is opened: how far it expands, how large its cells and its sheets are."""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.errors import InputError

MOST_EXPANDED = 2**30  # house rule: a workbook that expands past 1 GB is refused
MOST_IN_A_CELL = 10**6  # house rule: so is one with a cell over 1 MB
MOST_CELLS = 30_000_000  # a sheet is held in memory as a rectangle; this many cells take about 1 GB
TAG = 1000  # the longest tag that may stand before a cell's text; the text alone is measured once it is read
STEP = 2**20
LOCAL_HEADER = 30  # bytes of a zip entry's own header before its name
OLD_FORMAT = b"\xd0\xcf\x11\xe0"  # first bytes of the old binary workbooks, and of those with a password
SPAN = 64  # bytes that two steps share, so that no mark is cut in half

_SHEET = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_ROW = re.compile(rb"<(?:\w+:)?row[^>]{0,40}?\sr=[\"'](\d{5,})[\"']")
_WIDE_CELL = re.compile(rb"\sr=[\"']([A-Z]{2,3})(\d+)[\"']")
_ERROR_CELL = re.compile(rb"\st=[\"']e[\"']")


@dataclass
class _Sheet:
    """The furthest row and column of a sheet, and how many of its cells hold an error such as #N/A."""

    tail: bytes = b""
    rows: int = 1
    columns: int = 26  # columns A to Z are not looked for one by one
    errors: int = 0

    def look(self, part: bytes) -> None:
        seen = len(_ERROR_CELL.findall(self.tail))
        part = self.tail + part
        self.tail = part[-SPAN:]
        self.rows = max([self.rows, *(int(row) for row in _ROW.findall(part))])
        for letters, row in _WIDE_CELL.findall(part):
            self.columns = max(self.columns, _column(letters))
            self.rows = max(self.rows, int(row))
        self.errors += len(_ERROR_CELL.findall(part)) - seen


def checked_workbook(data: bytes, name: str) -> int:
    """Look through every part of a workbook without keeping any.

    out:    how many cells hold an error such as #N/A; they read as empty
    errors: InputError when it is no workbook, expands past 1 GB, holds a cell over 1 MB or an endless sheet
    """
    if data.startswith(OLD_FORMAT):
        raise InputError(
            f"{name}: cannot be read as a workbook: it is of the old format or has a password; "
            "save it as XLSX without a password"
        )
    try:
        return _look_through(data, name)
    except (zipfile.BadZipFile, zlib.error, struct.error, NotImplementedError, ValueError, OSError) as error:
        raise InputError(
            f"{name}: cannot be read as a workbook: it is damaged, or another kind of file under this name; "
            "open it in a spreadsheet program and save it anew as XLSX or CSV"
        ) from error


def _look_through(data: bytes, name: str) -> int:
    errors = 0
    with zipfile.ZipFile(io.BytesIO(data)) as workbook:
        entries = workbook.infolist()
    if sum(entry.file_size for entry in entries) > MOST_EXPANDED:
        raise InputError(f"{name}: expands to more than 1 GB and is not opened; save the sheet as CSV")
    for entry in entries:
        sheet = _Sheet()
        run = 0
        for part in _parts(data, entry, name):
            run = _longest_run(part, run, name)
            if _SHEET.fullmatch(entry.filename):
                sheet.look(part)
        if sheet.rows * sheet.columns > MOST_CELLS:
            raise InputError(
                f"{name}: a sheet reaches to row {sheet.rows:,} and column {sheet.columns}, too far to be read; "
                "delete the empty rows and columns beyond the table, or save it as CSV"
            )
        errors += sheet.errors
    return errors


def _parts(data: bytes, entry: zipfile.ZipInfo, name: str) -> Iterator[bytes]:
    """An entry's content in steps; never more than its header says."""
    if entry.flag_bits & 1:
        raise InputError(f"{name}: has a password; save it without one")
    lengths = struct.unpack_from("<HH", data, entry.header_offset + LOCAL_HEADER - 4)
    start = entry.header_offset + LOCAL_HEADER + sum(lengths)
    packed = memoryview(data)[start : start + entry.compress_size]
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise InputError(f"{name}: is packed in a way that is not read; save it anew as XLSX")
    size = 0
    for part in _inflated(packed) if entry.compress_type == zipfile.ZIP_DEFLATED else _stored(packed):
        size += len(part)
        if size > entry.file_size:
            raise InputError(f"{name}: cannot be read as a workbook: its parts are larger than they say; save it anew")
        yield part


def _stored(packed: memoryview) -> Iterator[bytes]:
    for at in range(0, len(packed), STEP):
        yield bytes(packed[at : at + STEP])


def _inflated(packed: memoryview) -> Iterator[bytes]:
    inflate = zlib.decompressobj(-zlib.MAX_WBITS)
    for at in range(0, len(packed), STEP):
        waiting = bytes(packed[at : at + STEP])
        while waiting:
            yield inflate.decompress(waiting, STEP)
            waiting = inflate.unconsumed_tail
    yield inflate.flush()


def _longest_run(part: bytes, before: int, name: str) -> int:
    """Length of the text that a part ends with, after a check of all texts in it."""
    runs = [len(run) for run in part.split(b"<")]
    runs[0] += before
    if max(runs) > MOST_IN_A_CELL + TAG:
        raise InputError(f"{name}: a cell holds more than 1 MB; it is not opened")
    return runs[-1]


def _column(letters: bytes) -> int:
    at = 0
    for letter in letters:
        at = at * 26 + letter - ord("A") + 1
    return at
