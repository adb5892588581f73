"""`inspect` and `blank` from end to end."""

import json
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from pipeline.cli.main import app
from pipeline.errors import InputError
from pipeline.intake.read import read_paths
from pipeline.runs.blank import blank_
from pipeline.runs.inspect import inspect_
from pipeline.settings import Limit, Settings, load_settings
from schemas.kinds import KINDS
from schemas.vocab import WORDS
from tests.unit.intake.made import RECEIVED

LABOUR = "Job No;Date;Crew member;hours;phase\nJ1;3/4/2025;W;3,5;Digging\nJ1;4/5/2025;W;1,250;setup\n"


def test_inspect_tells_how_each_column_is_understood_and_what_is_missing(tmp_path: Path) -> None:
    (tmp_path / "labour.csv").write_text(LABOUR.replace("Date", "Mondays"))
    (file,) = inspect_([tmp_path / "labour.csv"], Settings(), tmp_path / "areaway.toml")["files"]
    assert (file["kind"], file["rows"], file["good"], file["waiting"]) == ("labour", 2, None, None)
    assert file["missing"] == ["worked_on"]
    columns = {column["header"]: column for column in file["columns"]}
    assert columns["Job No"]["column"] is None and columns["Job No"]["nearest"] == "job_id"
    assert columns["Mondays"]["column"] is None and columns["Mondays"]["nearest"] is None
    assert columns["hours"]["readings"] == ["hours: decimal comma, because '3,5' demands it"]
    assert columns["hours"]["examples"] == [{"text": "1,250", "value": "1.25"}, {"text": "3,5", "value": "3.5"}]
    assert columns["phase"]["refused"] == []


def test_the_settings_that_inspect_writes_load_and_are_in_force_where_they_are_sure(tmp_path: Path) -> None:
    (tmp_path / "labour.csv").write_text(LABOUR.replace("setup", "Zorking"))
    written = Path(inspect_([tmp_path / "labour.csv"], Settings(), tmp_path / "areaway.toml")["settings_path"])
    assert load_settings(written) == Settings(
        headers={"labour": {"Job No": "job_id", "Date": "worked_on", "Crew member": "worker_id"}},
        words={"phase": {"Digging": "excavation"}},
    )
    text = written.read_text().replace('# "Zorking" = "our word"', '"Zorking" = "setup"')
    written.write_text(text.replace("# worked_on = ", "worked_on = "))
    (file,) = read_paths([tmp_path / "labour.csv"], kind=None, settings=load_settings(written), received=RECEIVED)
    assert file.good.select("job_id", "worked_on", "phase", "hours").rows() == [
        ("J1", date(2025, 4, 3), "excavation", 3.5), ("J1", date(2025, 5, 4), "setup", 1.25),
    ]  # fmt: skip


def test_inspect_never_writes_over_settings(tmp_path: Path) -> None:
    (tmp_path / "areaway.toml").write_text("[firm]\n")
    (tmp_path / "labour.csv").write_text(LABOUR)
    result = inspect_([tmp_path / "labour.csv"], Settings(), tmp_path / "areaway.toml")
    assert (tmp_path / "areaway.toml").read_text() == "[firm]\n"
    assert result["settings_path"] == str(tmp_path / "areaway.new.toml")


def test_inspect_names_a_file_that_cannot_be_opened(tmp_path: Path) -> None:
    (tmp_path / "jobs.xlsx").write_text("no workbook")
    with pytest.raises(InputError, match=r"jobs\.xlsx: cannot be read as a workbook"):
        inspect_([tmp_path], Settings(), tmp_path / "areaway.toml")
    assert not (tmp_path / "areaway.toml").exists()


def test_inspect_prints_one_json_list_of_what_was_read_and_written(tmp_path: Path) -> None:
    (tmp_path / "labour.csv").write_text(LABOUR)
    out = tmp_path / "start.toml"
    result = CliRunner().invoke(app, ["inspect", str(tmp_path / "labour.csv"), "--out", str(out), "--json"])
    document = json.loads(result.stdout)
    assert [entry["path"] for entry in document] == [str(tmp_path / "labour.csv"), str(out)]
    told = CliRunner().invoke(app, ["inspect", str(tmp_path / "labour.csv"), "--out", str(out)])
    assert "with the starting settings 2 rows can go in, none would wait" in told.stdout
    assert f"{out} was there already and stays as it is" in told.stderr


def test_the_blank_workbook_has_every_kind_column_and_word_list(tmp_path: Path) -> None:
    """Read with an independent reader of workbooks."""
    blank_(tmp_path, Settings())
    book = openpyxl.load_workbook(tmp_path / "areaway-blank.xlsx")
    assert book.sheetnames == [*KINDS, "Words"]
    for kind in KINDS.values():
        sheet = book[kind.name]
        assert [cell.value for cell in sheet[3]] == list(kind.columns())
        listed = sum(column.metadata["kind"] in ("word", "yes_no") for column in kind.columns().values())
        assert len(sheet.data_validations.dataValidation) == listed
    words = [(row[0].value, row[1].value) for row in book["Words"].iter_rows(min_row=2)]
    assert words == [(name, word) for name, words in WORDS.items() for word in words]


def test_a_drop_down_offers_the_words_of_its_own_column(tmp_path: Path) -> None:
    blank_(tmp_path, Settings())
    book = openpyxl.load_workbook(tmp_path / "areaway-blank.xlsx")
    sheet = book["openings"]
    columns = list(KINDS["openings"].columns())
    rules = {next(iter(rule.sqref.ranges)).min_col: rule for rule in sheet.data_validations.dataValidation}
    soil = rules[columns.index("soil") + 1]
    place = soil.formula1.removeprefix("Words!").replace("$", "")
    assert [cell[0].value for cell in book["Words"][place]] == list(WORDS["soil"])


def test_the_blank_workbook_reads_back_and_so_does_what_is_filled_in(tmp_path: Path) -> None:
    blank_(tmp_path, Settings())
    path = tmp_path / "areaway-blank.xlsx"
    book = openpyxl.load_workbook(path)
    columns = list(KINDS["jobs"].columns())
    for name, value in {"job_id": "007", "crew": "n", "started_on": "3/14/2025", "contract_price": 5}.items():
        book["jobs"].cell(4, columns.index(name) + 1, value)
    book.save(path)
    files = list(read_paths([path], kind=None, settings=Settings(), received=RECEIVED))
    assert [file.kind for file in files] == list(KINDS)
    assert [file.rows for file in files] == [1, *([0] * 9)]
    assert files[0].good.select("job_id", "_line").rows() == [("007", 4)]


def test_the_check_card_has_every_reading_the_firm_s_limits_and_the_cautions(tmp_path: Path) -> None:
    blank_(tmp_path, Settings(limits={"anchor_torque_max_lbft": Limit(None, 20.0)}))
    card = (tmp_path / "check-card.html").read_text()
    assert all(f">{name}<" in card for name in KINDS["install_checks"].columns())
    assert "20 at most (our limit)" in card
    assert "call 811" in card and "OSHA 29 CFR 1926.652(a)" in card and "not a clearance" in card


def test_blank_says_when_it_cannot_write(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="cannot be written to"):
        blank_(tmp_path / "file" / "folder", Settings())
