"""Workbooks: the cells that spreadsheets really hold, and workbooks made to do harm."""

import io
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from pipeline.errors import InputError
from pipeline.intake import zip_guard
from tests.unit.intake.made import read, reasons, workbook

JOBS = ["job_id", "crew", "started_on", "contract_price"]
LABOUR = ["entry_id", "job_id", "worked_on", "hours"]


def test_real_dates_serials_numbers_as_text_and_ids_of_digits(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(str(tmp_path / "jobs.xlsx")) as book:
        sheet = book.add_worksheet("Sheet1")
        sheet.write_row(0, 0, JOBS)
        sheet.write_row(1, 0, [1024, "n"])
        sheet.write_datetime(1, 2, datetime(2025, 3, 14), book.add_format({"num_format": "d-mmm-yy"}))
        sheet.write_number(1, 3, 1250.5)
        sheet.write_row(2, 0, ["007", "n", 45730, "1,250.50"])
        sheet.write_row(4, 0, ["A", "n", "3/14/2025", "$5.00"])
    (file,) = read(tmp_path / "jobs.xlsx")
    assert file.name.endswith("jobs.xlsx[Sheet1]")
    assert file.good.select("job_id", "started_on", "contract_price", "_line").rows() == [
        ("1024", date(2025, 3, 14), 1250.5, 2),
        ("007", date(2025, 3, 14), 1250.5, 3),
        ("A", date(2025, 3, 14), 5.0, 5),
    ]


def test_clock_cells_are_hours(tmp_path: Path) -> None:
    """An hour is 1/24 of a serial: 0.0625 shown as h:mm is 1:30; 1.5 days shown as [h]:mm is 36 hours, over 24."""
    with xlsxwriter.Workbook(str(tmp_path / "labour.xlsx")) as book:
        sheet = book.add_worksheet("Sheet1")
        sheet.write_row(0, 0, LABOUR)
        for at, (serial, shown) in enumerate([(0.0625, "h:mm"), (0.25, "[h]:mm"), (1.5, "[h]:mm"), (1.5, "h:mm")], 1):
            sheet.write_row(at, 0, [f"E{at}", "J1", "2025-03-14"])
            sheet.write_number(at, 3, serial, book.add_format({"num_format": shown}))
    (file,) = read(tmp_path / "labour.xlsx")
    assert file.good.select("entry_id", "hours").rows() == [("E1", 1.5), ("E2", 6.0)]
    assert reasons(file) == dict.fromkeys((4, 5), "hours is '36:00'; it must be more than 0 and at most 24")


def test_formulas_read_as_the_value_last_computed_and_errors_as_not_recorded(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(str(tmp_path / "jobs.xlsx")) as book:
        sheet = book.add_worksheet("Sheet1")
        sheet.write_row(0, 0, [*JOBS, "quoted_cost"])
        sheet.write_row(1, 0, ["A", "n", "2025-01-01"])
        sheet.write_formula(1, 3, "=2*625", None, 1250)
        sheet.write_formula(1, 4, "=1/0", None, "#DIV/0!")
    (file,) = read(tmp_path / "jobs.xlsx")
    assert file.good.select("contract_price", "quoted_cost").rows() == [(1250.0, None)]
    assert [notice.text for notice in file.warnings] == [
        "cells that hold an error such as #N/A and read as not recorded: 1"
    ]


def test_one_sheet_per_kind_with_merged_titles(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(str(tmp_path / "all.xlsx")) as book:
        for name, headings, row in (
            ("Jobs 2025", JOBS, ["A", "n", "2025-01-01", 5]),
            ("LABOUR", LABOUR, ["E", "A", "2025-01-01", 5]),
        ):
            sheet = book.add_worksheet(name)
            sheet.merge_range(0, 0, 1, 3, "Our records")
            sheet.write_row(3, 0, headings)
            sheet.write_row(4, 0, row)
        book.add_worksheet("Notes").write(0, 0, "call the supplier")
        book.add_worksheet("Empty")
    files = read(tmp_path / "all.xlsx")
    assert [(file.sheet, file.kind, file.rows, file.good["_line"].to_list()) for file in files] == [
        ("Jobs 2025", "jobs", 1, [5]), ("LABOUR", "labour", 1, [5]),
    ]  # fmt: skip
    assert files[0].warnings[0].text == "sheet Notes holds no records of ours and was passed over"


def test_the_name_of_the_file_tells_when_the_sheet_does_not(tmp_path: Path) -> None:
    files = read(workbook(tmp_path / "labour-2025.xlsx", Jan=[LABOUR, ["E", "A", "2025-01-01", 5]], Feb=[LABOUR]))
    assert [(file.sheet, file.kind, file.rows) for file in files] == [("Jan", "labour", 1), ("Feb", "labour", 0)]


def test_a_sheet_named_after_a_kind_must_hold_it(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"all\.xlsx\[jobs\]: columns job_id, crew, .* are missing"):
        read(workbook(tmp_path / "all.xlsx", jobs=[["a", "b"], [1, 2]], labour=[LABOUR]))


def test_a_workbook_that_another_program_wrote(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.title = "jobs"
    book.active.append(JOBS)
    book.active.append(["A", "n", date(2025, 1, 2), 5])
    book.save(tmp_path / "x.xlsx")
    (file,) = read(tmp_path / "x.xlsx")
    assert file.good.select("job_id", "started_on", "contract_price").rows() == [("A", date(2025, 1, 2), 5.0)]


def test_text_that_looks_like_a_formula_loses_the_apostrophe_that_guards_it(tmp_path: Path) -> None:
    (file,) = read(workbook(tmp_path / "jobs.xlsx", jobs=[JOBS, ["'=1+1", "''@x", "2025-01-01", 5]]))
    assert file.good.select("job_id", "crew").rows() == [("=1+1", "'@x")]


def packed(path: Path, entries: dict[str, bytes]) -> bytes:
    """A workbook with some of its parts replaced."""
    workbook(path, jobs=[JOBS, ["A", "n", "2025-01-01", 5]])
    changed = io.BytesIO()
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as after:
        for entry in before.infolist():
            after.writestr(entry.filename, entries.get(entry.filename, before.read(entry)))
    path.write_bytes(changed.getvalue())
    return changed.getvalue()


def test_a_workbook_that_expands_past_the_bound_is_not_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bound is 1 GB; here it is lowered to 1 MB so that the test stays small."""
    monkeypatch.setattr(zip_guard, "MOST_EXPANDED", 10**6)
    packed(tmp_path / "jobs.xlsx", {"docProps/app.xml": b"<a>" + b"<b/>" * 300_000 + b"</a>"})
    with pytest.raises(InputError, match=r"jobs\.xlsx: expands to more than 1 GB"):
        read(tmp_path / "jobs.xlsx")


def test_a_workbook_whose_header_lies_about_its_size_is_not_opened(tmp_path: Path) -> None:
    data = bytearray(packed(tmp_path / "jobs.xlsx", {"docProps/app.xml": b"<a>" + b"<b/>" * 300_000 + b"</a>"}))
    true_size = (7 + 4 * 300_000).to_bytes(4, "little")
    assert data.count(true_size) >= 2
    (tmp_path / "jobs.xlsx").write_bytes(bytes(data).replace(true_size, (100).to_bytes(4, "little")))
    with pytest.raises(InputError, match="larger than they say"):
        read(tmp_path / "jobs.xlsx")


def with_long_text(path: Path, size: int) -> None:
    """A workbook whose texts include one of `size` letters, where the first heading stood."""
    packed(path, {})
    with zipfile.ZipFile(path) as before:
        texts = before.read("xl/sharedStrings.xml")
    long_one = b"<si><t>" + b"x" * size + b"</t></si></sst>"
    packed(path, {"xl/sharedStrings.xml": texts.replace(b"</sst>", long_one)})


def test_a_cell_over_a_megabyte_is_refused_by_name(tmp_path: Path) -> None:
    with_long_text(tmp_path / "jobs.xlsx", 2_000_000)
    with pytest.raises(InputError, match=r"jobs\.xlsx: a cell holds more than 1 MB"):
        read(tmp_path / "jobs.xlsx")


def test_a_cell_just_under_a_megabyte_is_read(tmp_path: Path) -> None:
    with_long_text(tmp_path / "jobs.xlsx", 999_999)
    assert read(tmp_path / "jobs.xlsx")[0].good["job_id"].to_list() == ["A"]


@pytest.mark.parametrize("cell", ["XFD1048576", "BA1048576"])
def test_a_sheet_with_one_cell_at_the_end_of_the_world_is_refused(tmp_path: Path, cell: str) -> None:
    row = cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    sheet = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
        f'<row r="1"><c r="A1"><v>1</v></c></row><row r="{row}"><c r="{cell}"><v>1</v></c></row></sheetData>'
        "</worksheet>"
    )
    packed(tmp_path / "jobs.xlsx", {"xl/worksheets/sheet1.xml": sheet.encode()})
    with pytest.raises(InputError, match=r"jobs\.xlsx: a sheet reaches to row 1,048,576"):
        read(tmp_path / "jobs.xlsx")


def test_old_workbooks_and_passwords_are_refused_with_the_remedy(tmp_path: Path) -> None:
    (tmp_path / "jobs.xlsx").write_bytes(b"\xd0\xcf\x11\xe0" + bytes(600))
    with pytest.raises(InputError, match="old format or has a password; save it as XLSX"):
        read(tmp_path / "jobs.xlsx")


@pytest.mark.parametrize("cut", range(1, 30))
def test_a_mark_cut_in_half_between_two_steps_is_seen_once(cut: int) -> None:
    part = b'<row r="1048576"><c r="XFD1048576" t="e"><v>#N/A</v></c></row>'
    sheet = zip_guard._Sheet()
    for piece in (part[:cut], part[cut:], b"<row>"):
        sheet.look(piece)
    assert (sheet.rows, sheet.columns, sheet.errors) == (1_048_576, 16_384, 1)


def test_merged_cells_under_the_header_are_said(tmp_path: Path) -> None:
    """Only the first cell of a merged range holds its text (ECMA-376); the rows below read as empty, and it is told."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "jobs"
    sheet.append(["job_id", "crew", "started_on", "contract_price"])
    for row in (["A", "n", "2025-01-01", 5], ["B", None, "2025-01-01", 5]):
        sheet.append(row)
    sheet.merge_cells("B2:B3")
    book.save(tmp_path / "jobs.xlsx")
    (file,) = read(tmp_path / "jobs.xlsx")
    assert reasons(file) == {3: "crew is empty; it must be filled in"}
    assert file.warnings[0].text.startswith("merged cells begin in row 2: what they say counts for their first cell")
