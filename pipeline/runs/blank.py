"""`blank`: a workbook to hand out and a check card to print."""

from pathlib import Path

from pipeline.errors import InputError
from pipeline.runs.blank_workbook import write_blank_workbook
from pipeline.runs.check_card import check_card
from pipeline.settings import Settings
from schemas.results_intake import Written


def blank_(folder: Path, settings: Settings) -> list[Written]:
    """Write the empty workbook and the check card; files of these names are written anew.

    errors: InputError when the folder cannot be written to
    """
    workbook, card = folder / "areaway-blank.xlsx", folder / "check-card.html"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        card.write_text(check_card(settings), encoding="utf-8")
        with workbook.open("wb"):
            pass  # says now, in one line, when the workbook is open elsewhere or the folder is read-only
        write_blank_workbook(workbook)
    except OSError as error:
        raise InputError(f"{folder} cannot be written to: {error.strerror}; give another folder with --out") from error
    return [
        Written(path=str(workbook), what="a sheet for every kind of record, to fill in", rows=0),
        Written(path=str(card), what="the check card, to print", rows=0),
    ]
