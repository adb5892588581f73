"""Shapes handed out about files before they are taken in: how each column is understood, and what was written."""

from typing import TypedDict


class CellExample(TypedDict):
    """A text as it stands in a file and the value it becomes."""

    text: str
    value: str


class RefusedCell(TypedDict):
    """A text that cannot be read, and the rule it breaks."""

    text: str
    rule: str


class InspectedColumn(TypedDict):
    """How one column of a file is understood.

    header:  as it stands in the file; column: ours; None = it is none of ours and would be kept out
    read_as: kind of value; unit: of bare numbers; filled: cells with something in them
    refused_more: texts that cannot be read beyond those listed
    nearest: of a header that is none of ours, the column of ours that it is taken for
    why_unsure: what speaks against that guess; null = nothing, so that the starting settings have it in force
    """

    header: str
    column: str | None
    read_as: str | None
    unit: str | None
    filled: int
    examples: list[CellExample]
    refused: list[RefusedCell]
    refused_more: int
    readings: list[str]
    doubts: list[str]
    nearest: str | None
    why_unsure: str | None


class InspectedFile(TypedDict):
    """How one file or sheet is understood, were it taken in with the starting settings.

    kind_doubt: why its kind cannot be told; ingest would stop there
    good, waiting: rows; null when ingest would stop: a kind not told, a column that must be there missing or twice
    units_to_say: column -> a unit it may be in, of a file that is refused until the settings say the unit
    """

    path: str
    sheet: str | None
    kind: str
    kind_doubt: str | None
    rows: int
    good: int | None
    waiting: int | None
    columns: list[InspectedColumn]
    missing: list[str]
    doubts: list[str]
    units_to_say: dict[str, str]


class InspectResult(TypedDict):
    """All files looked at, and the settings file that was written."""

    files: list[InspectedFile]
    settings_path: str


class Written(TypedDict):
    """A file that was written; rows: records in it."""

    path: str
    what: str
    rows: int
