"""Every sentence of the promises of export, one test each, named after it."""

import csv
from pathlib import Path

import duckdb
import openpyxl
import polars as pl
import pytest

from schemas.kinds import KINDS
from tests.runs.commands import JOBS, LABOUR_HEAD, areaway, taken_in, waiting, written

HOSTILE = [
    "=1+1", "+1", "-2", "@SUM(A1)", "\tx", "'=1", "''-1", "'plain", "=HYPERLINK(\"http://a\",\"b\")",
    "'; drop table jobs; --", "<script>alert(1)</script>", "a,b;c\"d\"", "ünï – ½ 日本", "0012", "1e5",
]  # fmt: skip
FORMATS = ("csv", "xlsx", "parquet")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book with hostile sites, an older version and a row that waits."""
    path = tmp_path / "book.duckdb"
    jobs = pl.DataFrame({
        "job_id": [f"J{at}" for at in range(len(HOSTILE))],
        "site": HOSTILE,
        "crew": ["north"] * len(HOSTILE),
        "started_on": ["2025-03-03"] * len(HOSTILE),
        "contract_price": [9000.25] * len(HOSTILE),
    }).with_columns(pl.col("started_on").str.to_date())  # fmt: skip
    jobs.write_parquet(tmp_path / "jobs.parquet")
    taken_in(path, tmp_path / "jobs.parquet")
    taken_in(path, written(tmp_path, "labour a.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,8\n"))
    taken_in(
        path, written(tmp_path, "labour b.csv", LABOUR_HEAD + "E1,J1,2025-03-14,W1,7.5\nE2,J99,2025-03-14,W1,1:30\n")
    )
    return path


def exported(book: Path, folder: Path, form: str) -> Path:
    """The folder of an export."""
    answer = areaway(book, "export", "--out", folder, "--format", form, "--json")
    assert answer.code == 0, answer.err
    assert all(Path(one["path"]).is_file() for one in answer.document)
    return folder


def records(book: Path) -> dict[str, list[tuple[object, ...]]]:
    """The current rows of every kind, in the record's columns."""
    with duckdb.connect(str(book), read_only=True) as con:
        return {
            kind: con.table(kind).select(*model.columns()).order("all").fetchall()
            for kind, model in KINDS.items()
        }


def test_export_writes_current_rows_one_per_key_in_the_columns_of_the_record(book: Path, tmp_path: Path) -> None:
    folder = exported(book, tmp_path / "out", "csv")
    with (folder / "labour.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == list(KINDS["labour"].columns())
    assert [(row["entry_id"], float(row["hours"])) for row in rows] == [("E1", 7.5)]


def test_history_quarantine_and_views_are_files_of_their_own(book: Path, tmp_path: Path) -> None:
    folder = exported(book, tmp_path / "out", "csv")
    versions = pl.read_csv(folder / "history_labour.csv")
    assert versions.select("record", "batch", "row", "replaced_by_batch", "hours").rows() == [
        ("E1", 2, 2, 3, 8.0),
        ("E1", 3, 2, None, 7.5),
    ]
    assert pl.read_csv(folder / "view_quarantined_rows.csv")["row"].to_list() == [3]
    assert (folder / "view_job_profit.csv").is_file()


@pytest.mark.parametrize("form", FORMATS)
def test_export_and_ingest_bring_the_same_book_back(book: Path, tmp_path: Path, form: str) -> None:
    folder = exported(book, tmp_path / "out", form)
    other = tmp_path / "other.duckdb"
    document = taken_in(other, folder)
    assert document["quarantined"] == 0
    assert records(other) == records(book)


def test_in_csv_and_xlsx_text_that_a_spreadsheet_may_run_gets_a_leading_apostrophe(book: Path, tmp_path: Path) -> None:
    exported(book, tmp_path / "csv", "csv")
    with (tmp_path / "csv" / "jobs.csv").open(encoding="utf-8", newline="") as file:
        in_csv = [row["site"] for row in csv.DictReader(file)]
    exported(book, tmp_path / "xlsx", "xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "xlsx" / "jobs.xlsx").active
    assert sheet is not None
    site = [cell.value for cell in sheet[1]].index("site")
    in_sheet = [row[site] for row in sheet.iter_rows(min_row=2)]
    with duckdb.connect(str(book), read_only=True) as con:
        stored = [site for (site,) in con.execute("select site from jobs order by _line").fetchall()]
    for text, cell, sheet_cell in zip(stored, in_csv, in_sheet, strict=True):
        assert cell[0] not in "=+-@\t\r"
        assert cell in (text, f"'{text}")
        assert sheet_cell.data_type == "s"  # a string, never a formula
        assert sheet_cell.value == cell


def test_parquet_is_verbatim(book: Path, tmp_path: Path) -> None:
    folder = exported(book, tmp_path / "out", "parquet")
    stored = dict(zip(HOSTILE, pl.read_parquet(folder / "jobs.parquet")["site"].to_list(), strict=True))
    assert stored.pop("\tx") == "x"  # outer blanks are cut when a cell is read
    assert all(text == cell for text, cell in stored.items())


def test_a_workbook_has_dates_as_dates_numbers_as_numbers_and_widths_that_fit(book: Path, tmp_path: Path) -> None:
    exported(book, tmp_path / "out", "xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "out" / "jobs.xlsx").active
    assert sheet is not None
    heads = {cell.value: cell.column_letter for cell in sheet[1]}
    assert sheet[f"{heads['started_on']}2"].is_date
    price = sheet[f"{heads['contract_price']}2"]
    assert (price.value, price.number_format) == (9000.25, "#,##0.00##")
    assert sheet.column_dimensions[heads["change_order_hours"]].width >= len("change_order_hours")
    assert sheet.freeze_panes == "A2"


@pytest.mark.parametrize("name", ["corrected.csv", "corrected.xlsx"])
def test_quarantine_export_corrected_and_ingested_again_frees_the_row(book: Path, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    assert areaway(book, "quarantine", "--export", file).code == 0
    if name.endswith(".csv"):
        text = file.read_text(encoding="utf-8")
        assert text.splitlines()[0] == "quarantine_id,source_file,source_row,reason," + ",".join(
            KINDS["labour"].columns()
        )
        assert "1:30" in text  # the text as it was read
        file.write_text(text.replace("J99", "J2").replace("E2", "E77"), encoding="utf-8")
    else:
        workbook = openpyxl.load_workbook(file)
        sheet = workbook["labour"]
        for row in sheet.iter_rows(min_row=2):
            for cell in row:
                cell.value = {"J99": "J2", "E2": "E77"}.get(cell.value, cell.value)
        workbook.save(file)
    document = taken_in(book, file)
    assert (document["accepted"], document["quarantined"]) == (1, 0)
    assert waiting(book) == []  # tied by quarantine_id, though even the key was corrected
    with duckdb.connect(str(book), read_only=True) as con:
        assert con.execute("select job_id, hours::double from labour where entry_id = 'E77'").fetchall() == [
            ("J2", 1.5)
        ]


def test_quarantine_export_of_several_kinds_is_a_workbook_with_a_sheet_per_kind(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "jobs b.csv", JOBS.replace("J2", "J22").replace("7000", "much")))
    refused = areaway(book, "quarantine", "--export", tmp_path / "all.csv")
    assert (refused.code, (tmp_path / "all.csv").exists()) == (3, False)
    assert "--kind" in refused.err
    assert areaway(book, "quarantine", "--export", tmp_path / "all.xlsx").code == 0
    assert openpyxl.load_workbook(tmp_path / "all.xlsx").sheetnames == ["jobs", "labour"]
    assert areaway(book, "quarantine", "--kind", "labour", "--export", tmp_path / "some.csv").code == 0


def test_quarantined_text_cannot_act_as_a_formula(book: Path, tmp_path: Path) -> None:
    taken_in(book, written(tmp_path, "labour c.csv", LABOUR_HEAD + "=1+1,J1,2025-03-14,W1,=9*9\n"))
    areaway(book, "quarantine", "--export", tmp_path / "q.csv")
    with (tmp_path / "q.csv").open(encoding="utf-8", newline="") as file:
        (row,) = [row for row in csv.DictReader(file) if row["source_file"].endswith("labour c.csv")]
    assert (row["entry_id"], row["hours"]) == ("'=1+1", "'=9*9")


def test_a_dash_for_nothing_recorded_comes_back_from_a_quarantine_export_as_nothing(tmp_path: Path) -> None:
    """The dash gets an apostrophe on its way out; on its way in it still means not recorded."""
    book, file = tmp_path / "fresh.duckdb", tmp_path / "jobs corrected.csv"
    head = "job_id,crew,started_on,completed_on,contract_price,quoted_cost,warranty_months\n"
    taken_in(book, written(tmp_path, "jobs.csv", head + "J1,north,someday,-,9000,-,-\n"))
    assert areaway(book, "quarantine", "--export", file).code == 0
    text = file.read_text(encoding="utf-8")
    assert text.count(",'-") == 3
    file.write_text(text.replace("someday", "2025-03-03"), encoding="utf-8")
    document = taken_in(book, file)
    assert (document["accepted"], document["quarantined"]) == (1, 0)
    ((job, completed_on, quoted_cost),) = pl.read_csv(exported(book, tmp_path / "out", "csv") / "jobs.csv").select(
        "job_id", "completed_on", "quoted_cost"
    ).rows()
    assert (job, completed_on, quoted_cost) == ("J1", None, None)


@pytest.mark.parametrize("form", FORMATS)
def test_a_file_that_cannot_be_written_is_named(book: Path, tmp_path: Path, form: str) -> None:
    (tmp_path / "out" / f"jobs.{form}").mkdir(parents=True)
    answer = areaway(book, "export", "--out", tmp_path / "out", "--format", form)
    assert (answer.code, answer.out) == (3, "")
    assert f"jobs.{form} cannot be written" in answer.err


@pytest.mark.parametrize("name", ["q.csv", "q.xlsx"])
def test_a_quarantine_export_that_cannot_be_written_is_named(book: Path, tmp_path: Path, name: str) -> None:
    (tmp_path / name).mkdir()
    answer = areaway(book, "quarantine", "--export", tmp_path / name)
    assert (answer.code, answer.out) == (3, "")
    assert f"{name} cannot be written" in answer.err


def test_a_cell_that_a_workbook_cannot_hold_whole_is_never_cut(tmp_path: Path) -> None:
    """32,767 characters is the limit of spreadsheet programs; CSV and Parquet hold the cell."""
    book = tmp_path / "book.duckdb"
    head = "job_id,crew,started_on,contract_price,site\n"
    taken_in(book, written(tmp_path, "jobs.csv", head + "J1,north,2025-03-03,9000," + "x" * 40_000 + "\n"))
    answer = areaway(book, "export", "--out", tmp_path / "out", "--format", "xlsx")
    assert answer.code == 3
    assert "jobs: site has a cell of 40,000 letters" in answer.err
    assert len(pl.read_csv(exported(book, tmp_path / "csv", "csv") / "jobs.csv")["site"][0]) == 40_000


LENGTHS = [54.125, 1.25, 399.875, 1.001, 0.125, 12.5, 36.0, 100.0625, 399.999, 7.0]  # three places read in two ways


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("mark", [",", "."])
def test_what_is_exported_reads_back_the_same_under_either_decimal_mark(tmp_path: Path, form: str, mark: str) -> None:
    """Under a decimal comma 54.125 alone would be fifty-four thousand: the export writes 54.1250."""
    first, second = tmp_path / "first.duckdb", tmp_path / "second.duckdb"
    taken_in(first, written(tmp_path, "jobs.csv", JOBS + "J3,east,2025-03-03,1234.567\n"))
    lengths = pl.Series(LENGTHS)
    pl.DataFrame({
        "opening_id": [f"O{at}" for at in range(len(lengths))], "job_id": "J1", "wall_type": "brick",
        "opening_work": "new_cut", "rough_width_in": lengths, "rough_height_in": lengths[0], "well_type": "none",
    }).write_parquet(tmp_path / "openings.parquet")  # fmt: skip
    taken_in(first, tmp_path / "openings.parquet")
    bow = "opening_id,checked_on,frame_bow_in\nO0,2025-03-14,-1.1250\n"
    taken_in(first, written(tmp_path, "install_checks.csv", bow))
    settings = written(tmp_path, "firm.toml", f'[numbers]\ndecimal = "{mark}"\n')
    folder = exported(first, tmp_path / "out", form)
    answer = areaway(second, "--settings", settings, "ingest", folder, "--received", "2025-06-30", "--json")
    assert (answer.code, answer.document["quarantined"]) == (0, 0)
    assert records(second) == records(first)


def test_an_export_says_when_the_settings_would_read_it_in_another_unit(book: Path, tmp_path: Path) -> None:
    settings = written(tmp_path, "firm.toml", '[units]\nrough_width_in = "cm"\n')
    answer = areaway(book, "--settings", settings, "export", "--out", tmp_path / "out")
    assert answer.code == 0
    assert "rough_width_in in cm: leave [units] out of the settings when these files are taken in again" in answer.err
    assert "[units]" not in areaway(book, "export", "--out", tmp_path / "out").err
