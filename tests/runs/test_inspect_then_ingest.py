"""From a firm's own messy folder to its records in the book: inspect, then ingest with the settings it wrote."""

from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.cli.main import app
from pipeline.errors import InputError
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.inspect import inspect_
from pipeline.settings import Settings, load_settings
from schemas.results_intake import InspectedFile
from schemas.results_store import IngestResult
from tests.unit.intake.made import workbook

RECEIVED = date(2026, 6, 30)
JOBS = """Invented Basements: jobs 2025;;;;;;
as of 2 Jan;;;;;;
;;;;;;
Job #;Crew;Start;Finished;Price;Est. Hrs;Notes
0101;Blue;14.03.2025;16.03.2025;$4.250,00;18,5;fence
0102;Blue;20.03.2025;22.03.2025;$3.900,00;16;
0103;Green;25.03.2025;;$5.100,00;22,5;
"""
OPENINGS = """Opening #,Job No,Wall,Work,W,H,Dig,Well
1,0101,Poured,New,48 1/2",54",60,metal
2,0101,CMU,New,48½,4' 6",5',metal
3,0102,Brick,Replace,36",4' 6",,none
"""
LABOUR = """Date;Job #;Opening No;Who;Task;Hrs
14.03.2025;0101;1;AK;Digging;3,5
15.03.2025;0101;2;AK;Set frame;4,25
20.03.2025;0102;;BT;Travel time;1:30
TOTAL;;;;;9,25
"""
CALLS = "No,Window No,Called,Problem,Cause,Fixed\nC1,1,4/22/2025,leaking,gap in the tape,yes\n"


def folder_of_a_firm(folder: Path) -> Path:
    """Invented, for this test: titles above headers, separators, decimal commas, inch marks, words of their own."""
    (folder / "2025").mkdir(parents=True)
    (folder / "Job list 2025.csv").write_text(JOBS)
    (folder / "2025" / "OPENINGS.csv").write_text(OPENINGS)
    (folder / "2025" / "Time sheets.csv").write_text(LABOUR, encoding="cp1252")
    (folder / "call backs.csv").write_text(CALLS)
    costs = [["Paid", "Job", "Type", "Cost"], ["3/13/2025", "0101", "Permits", 90], ["3/30/2025", "0102", "Dump", 55.5]]
    buys = [["Job", "Item", "Qty", "Unit", "Price each"], ["0101", "windows", 2, "pcs", 410.5]]
    workbook(folder / "money.xlsx", **{"Other costs": costs, "Materials": buys, "Ideas": [["remember the van"]]})
    return folder


def taken_in(folder: Path, out: Path) -> tuple[list[InspectedFile], IngestResult]:
    """The folder looked at, then taken in with the settings that were written, unedited."""
    looked = inspect_([folder], Settings(), out / "areaway.toml")
    settings = load_settings(Path(looked["settings_path"]))
    return looked["files"], ingest_(out / "b.duckdb", settings, Delivery([folder], received=RECEIVED))


def test_a_messy_folder_goes_in_with_the_settings_that_inspect_writes(tmp_path: Path) -> None:
    """Every row but the TOTAL line goes in, without a line of the settings edited."""
    files, result = taken_in(folder_of_a_firm(tmp_path / "records"), tmp_path)
    assert {file["kind"]: (file["rows"], file["accepted"]) for file in result["files"]} == {
        "jobs": (3, 3), "openings": (3, 3), "labour": (4, 3), "callbacks": (1, 1), "other_costs": (2, 2),
        "materials": (1, 1),
    }  # fmt: skip
    assert result["quarantined"] == 1
    assert [(file["kind"], file["good"], file["waiting"]) for file in files] == [
        (file["kind"], file["accepted"], file["quarantined"]) for file in result["files"]
    ]


def test_what_went_in_is_what_stood_in_the_cells(tmp_path: Path) -> None:
    taken_in(folder_of_a_firm(tmp_path / "records"), tmp_path)
    out = tmp_path / "out"
    CliRunner().invoke(app, ["--book", str(tmp_path / "b.duckdb"), "export", "--out", str(out), "--format", "csv"])
    assert (out / "jobs.csv").read_text().splitlines()[1].startswith("0101,,,Blue,,2025-03-14,2025-03-16,4250.0,")
    openings = (out / "openings.csv").read_text().splitlines()
    assert openings[2].startswith("2,0101,concrete_block,,new_cut,48.5,54.0,,,60.0")
    assert "0102,,2025-03-20,BT,travel,1.5" in (out / "labour.csv").read_text()


def test_a_file_whose_kind_cannot_be_told_is_labelled_and_has_no_part_in_the_settings(tmp_path: Path) -> None:
    """Ingest would stop there, and inspect says so."""
    (tmp_path / "misc.csv").write_text("Job #,Stuff\n1,2\n")
    (file,) = inspect_([tmp_path / "misc.csv"], Settings(), tmp_path / "s.toml")["files"]
    assert file["kind_doubt"] is not None and file["good"] is None
    assert "Job #" not in (tmp_path / "s.toml").read_text()
    told = CliRunner().invoke(app, ["inspect", str(tmp_path / "misc.csv"), "--out", str(tmp_path / "t.toml")]).stdout
    assert "misc.csv: kind not known, 1 row" in told and "ingest stops here (exit 3)" in told
    with pytest.raises(InputError, match="cannot tell which kind of record this is"):
        ingest_(tmp_path / "b.duckdb", load_settings(tmp_path / "s.toml"), Delivery([tmp_path / "misc.csv"]))


def test_a_heading_that_another_file_of_the_kind_uses_otherwise_is_left_to_a_person(tmp_path: Path) -> None:
    """In one file Date is the day worked; in the other, which has worked_on, it is something else."""
    (tmp_path / "labour a.csv").write_text("job_id,Date,hours\n1,2025-01-01,2\n")
    (tmp_path / "labour b.csv").write_text("job_id,worked_on,Date,hours\n1,2025-01-01,2025-02-01,2\n")
    inspect_([tmp_path / "labour a.csv", tmp_path / "labour b.csv"], Settings(), tmp_path / "s.toml")
    assert '# "Date" = "worked_on"   # another file of this kind has a column for it already' in (
        tmp_path / "s.toml"
    ).read_text()
    assert load_settings(tmp_path / "s.toml").headers == {"labour": {}}


def test_at_most_three_cells_that_cannot_be_read_are_shown_and_the_rest_counted(tmp_path: Path) -> None:
    lines = [f"1,2025-01-01,word{at},2" for at in range(30)]
    (tmp_path / "labour.csv").write_text("\n".join(["job_id,worked_on,phase,hours", *lines]) + "\n")
    out = tmp_path / "s.toml"
    told = CliRunner().invoke(app, ["inspect", str(tmp_path / "labour.csv"), "--out", str(out)]).stdout
    assert told.count("cannot be read; it must be one of") == 3
    assert "phase: … and 27 more that cannot be read" in told
    assert "phase holds too many different texts to be words of a list" in out.read_text()
    assert "our word" not in out.read_text()
