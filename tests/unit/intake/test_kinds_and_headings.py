"""Which file is what, and whose heading is whose column."""

from datetime import date
from pathlib import Path

import pytest

from pipeline.errors import InputError, WrongUsage
from pipeline.intake.find import find_files, kind_of_name
from pipeline.settings import Settings
from tests.unit.intake.made import JOBS, LABOUR, OPENINGS, read, read_text

JOB_ROW = "A,n,2025-01-01,5\n"


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Jobs 2025", "jobs"), ("labour-north", "labour"), ("LABOUR_2024_final", "labour"), ("labor", "labour"),
        ("Install Checks", "install_checks"), ("other costs 24", "other_costs"), ("prices", "prices"),
        ("call backs", "callbacks"), ("Check cards 2025", "install_checks"), ("job list", "jobs"),
        ("Material", "materials"), ("Time sheets", "labour"), ("job hours", None), ("jobsite notes", None),
        ("2025 jobs", "jobs"), ("my openings", None), ("", None),
    ],
)  # fmt: skip
def test_the_first_word_of_a_name_tells_the_kind(name: str, kind: str | None) -> None:
    assert kind_of_name(name) == kind


def test_the_folder_tells_the_kind_when_the_name_does_not(tmp_path: Path) -> None:
    (tmp_path / "labour").mkdir()
    (tmp_path / "labour" / "north-branch.csv").write_text(LABOUR)
    assert [file.kind for file in read(tmp_path)] == ["labour"]
    assert [file.kind for file in read(tmp_path / "labour" / "north-branch.csv")] == ["labour"]


def test_the_columns_tell_the_kind_when_exactly_one_fits(tmp_path: Path) -> None:
    assert read_text(tmp_path, "export-17.csv", JOBS + JOB_ROW).kind == "jobs"


def test_a_heading_of_signs_alone_is_kept_out_and_can_be_named(tmp_path: Path) -> None:
    text = "#,,job_id,crew,started_on,contract_price\n7,,A,n,2025-01-01,5\n"
    assert read_text(tmp_path, "jobs.csv", text).unexpected == ("#",)
    settings = Settings(headers={"jobs": {"#": "branch"}})
    assert read_text(tmp_path, "jobs.csv", text, settings=settings).good["branch"].to_list() == ["7"]


def test_a_kind_given_by_hand_wins_and_must_exist(tmp_path: Path) -> None:
    assert read_text(tmp_path, "labour.csv", JOBS + JOB_ROW, kind="jobs").kind == "jobs"
    with pytest.raises(WrongUsage, match="there is no kind 'wages'; the kinds are jobs,"):
        read(tmp_path, kind="wages")


def test_a_folder_is_searched_to_the_bottom_and_other_files_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / "2025" / "june").mkdir(parents=True)
    for name in ("jobs.csv", "2025/labour.tsv", "2025/june/prices.xlsx", "photo.jpg", "~$prices.xlsx", ".hidden.csv"):
        (tmp_path / name).touch()
    found = find_files([tmp_path, tmp_path / "jobs.csv"])
    assert sorted(file.path.relative_to(tmp_path).as_posix() for file in found.files) == [
        "2025/june/prices.xlsx", "2025/labour.tsv", "jobs.csv",
    ]  # fmt: skip
    assert sorted(path.name for path in found.passed_over) == [".hidden.csv", "photo.jpg", "~$prices.xlsx"]


def test_paths_that_do_not_exist_are_all_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no file or folder .*a\.csv.*\n.*b\.csv"):
        find_files([tmp_path / "a.csv", tmp_path / "b.csv"])
    with pytest.raises(InputError, match="holds no file to read"):
        find_files([tmp_path])


@pytest.mark.parametrize(
    ("heading", "cell", "value"),
    [
        ("rough_width_in", "50", 50.0), ("ROUGH WIDTH IN", "50", 50.0), ("Rough Width", "50", 50.0),
        ("Rough width (in)", "50", 50.0), ("rough_width_in (cm)", "127", 50.0), ("Rough width [cm]", "127", 50.0),
        ("rough_width_cm", "127", 50.0), ("Rough width (ft)", "4", 48.0), ("rough-width (inches)", "4' 2\"", 50.0),
        ("Rough width (of the hole)", "50", 50.0),
    ],
)  # fmt: skip
def test_headings_in_any_case_with_spaces_and_units(tmp_path: Path, heading: str, cell: str, value: float) -> None:
    text = f"opening_id;job_id;wall_type;opening_work;{heading};rough_height_in;well_type\n"
    text += f"O;J;brick;new_cut;{cell};40;none\n"
    assert read_text(tmp_path, "openings.csv", text).good["rough_width_in"].to_list() == [pytest.approx(value)]


def test_a_firm_s_own_headings_words_and_units_come_from_the_settings(tmp_path: Path) -> None:
    settings = Settings(
        headers={"openings": {"Öffnung Nr.": "opening_id", "W": "rough_width_in", "H (outer)": "rough_height_in"}},
        words={"wall_type": {"Ziegel": "brick"}},
        units={"rough_width_in": "cm"},
    )
    text = "Öffnung Nr.;job_id;wall_type;opening_work;W;h (OUTER);well_type\nO;J;ziegel;new cut;127;40;none\n"
    file = read_text(tmp_path, "openings.csv", text, settings=settings)
    assert file.good.select("opening_id", "wall_type", "rough_width_in", "rough_height_in").rows() == [
        ("O", "brick", 50.0, 40.0)
    ]


def test_a_heading_in_another_currency_makes_its_amounts_wait(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", "job_id,crew,started_on,contract_price (EUR)\nA,n,2025-01-01,5\n")
    assert file.bad["reason"].to_list() == [
        "contract_price is '5'; it must be in US dollars; another currency is not read"
    ]


def test_settings_that_name_no_column_of_ours_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\[headers.jobs\] Nr is 'number'; it must be one of job_id,"):
        read_text(tmp_path, "jobs.csv", JOBS, settings=Settings(headers={"jobs": {"Nr": "number"}}))
    with pytest.raises(InputError, match=r"\[units\] rough_width_in is 'stones'"):
        text = "opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type\n"
        read_text(tmp_path, "openings.csv", text, settings=Settings(units={"rough_width_in": "stones"}))


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (Settings(units={"widht": "cm"}), r"settings: \[units\] widht is no such column; .*rough_width_in"),
        (Settings(units={"rough_width_in": "furlong"}), r"\[units\] rough_width_in is 'furlong'; it must be one of"),
        (Settings(units={"crew": "cm"}), r"\[units\] crew is no such column"),
        (Settings(dates={"worked": "dmy"}), r"\[dates\] worked is no such column; it must be one of .*worked_on"),
    ],
)  # fmt: skip
def test_a_unit_or_an_order_of_dates_for_no_column_of_ours_is_refused(
    tmp_path: Path, settings: Settings, said: str
) -> None:
    with pytest.raises(InputError, match=said):
        read_text(tmp_path, "jobs.csv", JOBS, settings=settings)


def test_unknown_columns_are_kept_out_and_said_once(tmp_path: Path) -> None:
    text = "job_id,Foreman,crew,started_on,contract_price,x,\nA,Z,n,2025-01-01,5000,y,\n"
    file = read_text(tmp_path, "jobs.csv", text)
    assert file.unexpected == ("Foreman", "x")
    assert [notice.text for notice in file.warnings] == ["columns that are none of ours were kept out: Foreman, x"]


def test_a_corrected_quarantine_file_ties_its_rows_back(tmp_path: Path) -> None:
    text = (
        "quarantine_id,source_file,source_row,reason,"
        + JOBS
        + "17,jobs.csv,5,crew is empty,"
        + JOB_ROW
        + "18,jobs.csv,9,x,B,,2025-01-01,5\n"
    )
    file = read_text(tmp_path, "jobs corrected.csv", text)
    assert file.good.select("job_id", "_quarantine_id").rows() == [("A", "17")]
    assert file.bad.select("_key", "_quarantine_id").rows() == [("B", "18")]
    assert file.unexpected == ()


def test_absent_optional_columns_are_null_in_their_type(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", JOBS + JOB_ROW)
    assert file.good.select("completed_on", "warranty_months", "change_orders").rows() == [(None, None, None)]
    assert file.good["started_on"].to_list() == [date(2025, 1, 1)]


def test_cells_under_no_heading_are_kept_out_and_said(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", "job_id,crew,started_on,contract_price,,\nA,n,2025-01-01,5000,late,\n")
    assert file.good["job_id"].to_list() == ["A"]
    assert [notice.text for notice in file.warnings] == ["column 5 has no heading; filled cells kept out: 1"]


def test_a_unit_that_is_none_we_know_is_doubted(tmp_path: Path) -> None:
    """Sizes in hands would otherwise be taken for inches without a word."""
    text = OPENINGS.replace("rough_width_in", "Rough Width (hands)").replace("rough_height_in", "Rough Height (cm)")
    file = read_text(tmp_path, "openings.csv", text + "O1,J1,brick,new_cut,12,122,none\n")
    assert [(notice.column, notice.text) for notice in file.warnings] == [
        ("rough_width_in", "the heading says (hands), which is no unit we know; bare numbers are read as in")
    ]


def test_a_unit_in_the_brackets_of_a_firm_s_own_heading_still_counts(tmp_path: Path) -> None:
    """`"H (cm)" = "rough_height_in"` reads 101.6 as centimetres: 40 in, as any heading with a unit does."""
    settings = Settings(headers={"openings": {"H (cm)": "rough_height_in"}})
    text = "opening_id,job_id,wall_type,opening_work,rough_width_in,H (cm),well_type\nO,J,brick,new_cut,50,101.6,none\n"
    file = read_text(tmp_path, "openings.csv", text, settings=settings)
    assert file.good["rough_height_in"].to_list() == [pytest.approx(40)]


def test_another_currency_in_a_firm_s_own_heading_makes_its_amounts_wait(tmp_path: Path) -> None:
    """`"Price (EUR)" = "contract_price"` never reads euros as dollars."""
    settings = Settings(headers={"jobs": {"Price (EUR)": "contract_price"}})
    text = "job_id,crew,started_on,Price (EUR)\nA,n,2025-01-01,5\n"
    file = read_text(tmp_path, "jobs.csv", text, settings=settings)
    assert (file.good.height, file.bad.height) == (0, 1)


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("openings", OPENINGS.replace("rough_height_in", "H (furlong)") + "O,J,brick,new_cut,9,9,none\n",
         "the heading says (furlong), which is no unit we know; bare numbers are read as in"),
        ("jobs", "job_id,crew,started_on,contract_price (furlong)\nA,n,2025-01-01,5000\n",
         "the heading says (furlong), which is not read; its numbers are taken as they stand"),
    ],
)  # fmt: skip
def test_what_stands_in_the_brackets_of_a_heading_and_is_not_read_is_said(
    tmp_path: Path, kind: str, text: str, said: str
) -> None:
    settings = Settings(headers={"openings": {"H (furlong)": "rough_height_in"}})
    file = read_text(tmp_path, f"{kind}.csv", text, settings=settings)
    assert (file.good.height, [notice.text for notice in file.warnings]) == (1, [said])
    dollars = JOBS.replace("contract_price", "contract_price ($)") + JOB_ROW.replace(",5\n", ",5000\n")
    assert read_text(tmp_path, "jobs.csv", dollars).warnings == ()
