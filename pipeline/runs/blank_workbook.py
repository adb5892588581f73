"""The workbook to hand out: a sheet per kind with headings, units, meanings and drop-downs."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from schemas.kinds import KINDS, Kind
from schemas.vocab import WORDS

HEADING_ROW = 2  # counted from 0: a title and a line of units stand above it
ROWS_PREPARED = 2000  # rows with drop-downs and formats; more can be added by copying one
WIDEST, NARROWEST = 34, 12
WORDS_SHEET = "Words"
YES_NO = ["yes", "no"]
IN_WORDS: Mapping[str, str] = {
    "text": "text",
    "id": "text as it stands, zeros in front kept",
    "word": "one of the list",
    "yes_no": "yes or no",
    "date": "date",
    "length": "inches",
    "temperature": "°F",
    "torque": "lb-ft",
    "hours": "hours",
    "money": "US dollars",
    "number": "number",
    "count": "whole number",
}
FORMATS: Mapping[str, str] = {"id": "@", "text": "@", "date": "yyyy-mm-dd", "money": "#,##0.00"}
MEANINGS: Mapping[str, str] = {name: str(kind.model.__doc__).split("\n")[0] for name, kind in KINDS.items()}


def write_blank_workbook(path: Path) -> None:
    """A sheet for each kind and one with the word lists; what is filled in reads back as it stands.

    errors: OSError when the file cannot be written
    """
    import xlsxwriter

    with xlsxwriter.Workbook(str(path)) as workbook:
        lists = _word_places()
        for kind in KINDS.values():
            _kind_sheet(workbook, kind, lists)
        _words_sheet(workbook)


def _word_places() -> dict[str, str]:
    """Where each word list stands on its sheet, as a formula for drop-downs."""
    places = {}
    at = 2
    for name, words in WORDS.items():
        places[name] = f"={WORDS_SHEET}!$B${at}:$B${at + len(words) - 1}"
        at += len(words)
    return places


def _kind_sheet(workbook: Any, kind: Kind, lists: Mapping[str, str]) -> None:
    sheet = workbook.add_worksheet(kind.name)
    bold = workbook.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = workbook.add_format({"bottom": 1, "text_wrap": True, "valign": "top"})
    small = workbook.add_format({"font_size": 8, "font_color": "#595959", "text_wrap": True, "valign": "top"})
    sheet.write_string(0, 0, f"{kind.name}: {MEANINGS[kind.name]} Bold headings must be filled in.")
    for at, (name, column) in enumerate(kind.columns().items()):
        about = column.metadata
        sheet.write_string(HEADING_ROW - 1, at, IN_WORDS[about["kind"]], small)
        sheet.write_string(HEADING_ROW, at, name, plain if about["optional"] else bold)
        sheet.write_comment(HEADING_ROW, at, about["meaning"])
        number_format = FORMATS.get(about["kind"])
        shape = workbook.add_format({"num_format": number_format}) if number_format else None
        sheet.set_column(at, at, max(NARROWEST, min(WIDEST, len(name) + 2)), shape)
        _drop_down(sheet, at, name, about["kind"], lists)
    sheet.freeze_panes(HEADING_ROW + 1, 1)


def _drop_down(sheet: Any, at: int, name: str, value_kind: str, lists: Mapping[str, str]) -> None:
    if value_kind not in ("word", "yes_no"):
        return
    sheet.data_validation(
        HEADING_ROW + 1,
        at,
        HEADING_ROW + ROWS_PREPARED,
        at,
        {
            "validate": "list",
            "source": YES_NO if value_kind == "yes_no" else lists[name],
            "error_type": "warning",
            "error_message": "This word is not on the list; the row will wait until it is.",
        },
    )


def _words_sheet(workbook: Any) -> None:
    sheet = workbook.add_worksheet(WORDS_SHEET)
    sheet.write_row(0, 0, ["List", "Word", "Meaning"], workbook.add_format({"bold": True, "bottom": 1}))
    at = 1
    for name, words in WORDS.items():
        for word, meaning in words.items():
            sheet.write_row(at, 0, [name, word, meaning])
            at += 1
    sheet.set_column(0, 1, 18)
    sheet.set_column(2, 2, 60)
    sheet.freeze_panes(1, 0)
