"""Which files to read, and what kind of record a name says they hold."""

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import InputError
from schemas.kinds import HISTORY, KINDS, VIEW

TEXT = (".csv", ".tsv", ".txt", ".csv.gz")
WORKBOOK = (".xlsx",)
PARQUET = (".parquet",)
STATION = (".dly", ".dly.gz")
MOST_WORDS = 3  # words that the longest name of a kind has
# What files are called beside the kinds themselves, letters only: common practice, no source.
_OTHER_NAMES = {
    **dict.fromkeys(("labor", "timesheet", "timesheets", "timecard", "timecards", "hours"), "labour"),
    **dict.fromkeys(("checkcard", "checkcards", "installcheck"), "install_checks"),
    **dict.fromkeys(("othercost", "misccosts", "miscellaneouscosts"), "other_costs"),
    **dict.fromkeys(("warrantycall", "warrantycalls", "warrantyclaims", "servicecall", "servicecalls"), "callbacks"),
    **dict.fromkeys(("purchase", "purchases"), "materials"),
}
_LISTS = ("list", "log", "register", "schedule")  # a job list is jobs; job notes are not
_SINGULAR = {
    "job": "jobs", "opening": "openings", "material": "materials", "callback": "callbacks",
    "price": "prices", "quote": "quotes",
}  # fmt: skip
_KIND_NAMES = {
    **{kind.replace("_", ""): kind for kind in KINDS},
    **_OTHER_NAMES,
    **{f"{one}{of}": kind for one, kind in _SINGULAR.items() for of in _LISTS},
}
READABLE = (*TEXT, *WORKBOOK, *PARQUET, *STATION)


@dataclass(frozen=True)
class Found:
    """A file to read: its path as given, and the folders under what was given, nearest last."""

    path: Path
    folders: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finding:
    """What a search found: files to read, and files passed over because they are of another sort."""

    files: tuple[Found, ...]
    passed_over: tuple[Path, ...]


def suffix(path: Path) -> str:
    """The end of a file's name by which we know how to read it; "" when we do not."""
    name = path.name.lower()
    return next((end for end in sorted(READABLE, key=len, reverse=True) if name.endswith(end)), "")


def find_files(paths: Sequence[Path]) -> Finding:
    """The files to read, folders searched to the bottom, each file once.

    errors: InputError naming every path that does not exist, cannot be read or holds nothing to read
    """
    files: dict[Path, Found] = {}
    passed_over: list[Path] = []
    faults: list[str] = []
    for path in paths:
        if closed := _closed_folders(path):
            faults += [f"the folder {folder} may not be opened; ask for the right to read it" for folder in closed]
        elif path.is_dir():
            inside = sorted(child for child in path.rglob("*") if child.is_file())
            readable = [child for child in inside if suffix(child) and not _is_no_record(child.relative_to(path))]
            passed_over += sorted(set(inside) - set(readable))
            for child in readable:
                files.setdefault(child.resolve(), Found(child, _folders(path, child)))
            if not readable:
                faults.append(f"{path} holds no file to read; the kinds of file are {', '.join(READABLE)}")
        elif not path.exists():
            faults.append(f"there is no file or folder {path}; check the name")
        elif not suffix(path):
            faults.append(f"{path} is not a kind of file that is read; save it as CSV, XLSX or Parquet")
        else:
            files.setdefault(path.resolve(), Found(path, (path.parent.name,)))
    if faults:
        raise InputError("\n".join(faults))
    return Finding(tuple(files.values()), tuple(passed_over))


def _closed_folders(path: Path) -> list[Path]:
    """Folders over or under a path that may not be looked into, so that nothing in them is passed over in silence."""
    above = next((folder for folder in reversed(path.parents) if not os.access(folder, os.X_OK)), None)
    if above is not None:
        return [above] if above.is_dir() else []
    inside = [child for child in path.rglob("*") if not _is_no_record(child.relative_to(path))] if path.is_dir() else []
    return [folder for folder in [path, *inside] if folder.is_dir() and not os.access(folder, os.R_OK | os.X_OK)]


def _is_no_record(inside: Path) -> bool:
    """Hidden files, lock files of office programs, a disk's own folder, what an export writes beside the records."""
    hidden = any(part.startswith((".", "~$", "lost+found")) for part in inside.parts)
    return hidden or inside.name.startswith((HISTORY, VIEW))


def _folders(root: Path, child: Path) -> tuple[str, ...]:
    return (root.resolve().name, *child.relative_to(root).parts[:-1])


def kind_of_name(name: str) -> str | None:
    """The kind that the first words of a name join to, whatever its case: `Jobs 2025`, `labour-north`, `call backs`."""
    words = [word for word in re.split(r"[^a-z]+", name.casefold()) if word]
    firsts = ("".join(words[:count]) for count in range(1, MOST_WORDS + 1))
    found = next((_KIND_NAMES[first] for first in firsts if first in _KIND_NAMES), None)
    return found or _SINGULAR.get("".join(words))


def named_kind(found: Found, sheet: str | None = None) -> str | None:
    """The kind that names tell: of the sheet, else of the file, else of the nearest folder; None when none does."""
    return kind_of_name(sheet or "") or kind_of_file(found)


def kind_of_file(found: Found) -> str | None:
    """The kind that a file's own name says, else that of the nearest folder."""
    name = found.path.name[: len(found.path.name) - len(suffix(found.path))]
    return kind_of_name(name) or kind_of_folders(found.folders)


def kind_of_folders(folders: Iterable[str]) -> str | None:
    """The kind that the nearest folder says."""
    return next((kind for folder in reversed(list(folders)) if (kind := kind_of_name(folder))), None)
