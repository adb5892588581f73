"""A file's bytes, unpacked within bounds, and the mark by which the same content is known again."""

import gzip
import hashlib
import zlib
from pathlib import Path

from pipeline.errors import InputError

MOST_BYTES = 4 * 2**30  # a text table beyond this is refused: it would not fit the memory of a plain machine
MOST_UNPACKED = 2 * 2**30
STEP = 2**24


def content(path: Path) -> bytes:
    """All bytes of a file; a .gz file unpacked.

    errors: InputError naming the file
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{path} is larger than {MOST_BYTES // 2**30} GB; split it")
        return _unpacked(path) if path.suffix.lower() == ".gz" else path.read_bytes()
    except (OSError, EOFError, zlib.error) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be read: {reason}") from error


def _unpacked(path: Path) -> bytes:
    parts = []
    size = 0
    with gzip.open(path) as file:
        while part := file.read(STEP):
            parts.append(part)
            size += len(part)
            if size > MOST_UNPACKED:
                raise InputError(f"{path} unpacks to more than {MOST_UNPACKED // 2**30} GB; it is not read")
    return b"".join(parts)


def content_hash(data: bytes) -> str:
    """The mark of a content: the same bytes, the same mark (SHA-256)."""
    return hashlib.sha256(data).hexdigest()
