"""Text tables as office programs and people leave them."""

import gzip
from pathlib import Path

import pytest

from pipeline.errors import InputError
from tests.unit.intake.made import JOBS, LABOUR, OPENINGS, read, read_text, reasons


def test_line_numbers_are_those_of_the_file_with_blank_lines_and_quoted_line_breaks(tmp_path: Path) -> None:
    text = 'job_id,site,crew,started_on,contract_price\nA,"one\ntwo\nthree",n,2025-01-01,5\n'
    text += "\nB,x,n,2025-01-01,-1\n,,,,\nC,x,n,2025-01-01,5\n"
    file = read_text(tmp_path, "jobs.csv", text)
    assert file.rows == 3
    assert file.good["_line"].to_list() == [2, 8]
    assert file.good["site"].to_list() == ["one\ntwo\nthree", "x"]
    assert list(reasons(file)) == [6]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_any_line_end_gives_the_same_rows(tmp_path: Path, ending: str) -> None:
    text = (JOBS + "A,n,2025-01-01,5\n\nB,n,2025-01-01,6\n").replace("\n", ending)
    file = read_text(tmp_path, "jobs.csv", text)
    assert file.good.select("job_id", "contract_price", "_line").rows() == [("A", 5.0, 2), ("B", 6.0, 4)]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_separator_is_found(tmp_path: Path, separator: str) -> None:
    text = (JOBS + 'A,"x, y; z",2025-01-01,5\n').replace(",", separator)
    expected = "x, y; z".replace(",", separator)
    assert read_text(tmp_path, "jobs.csv", text).good.select("job_id", "crew").rows() == [("A", expected)]


def test_a_first_line_that_names_the_separator_is_no_row(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", "sep=;\n" + (JOBS + "A,n,2025-01-01,5\n").replace(",", ";"))
    assert file.good.select("job_id", "_line").rows() == [("A", 3)]


@pytest.mark.parametrize(
    ("encoding", "said"),
    [("utf-8", False), ("utf-8-sig", False), ("cp1252", True), ("utf-16", True)],
)
def test_letters_survive_every_encoding(tmp_path: Path, encoding: str, said: bool) -> None:
    file = read_text(tmp_path, "jobs.csv", (JOBS + "A,Müller ½,2025-01-01,5\n").encode(encoding))
    assert file.good["crew"].to_list() == ["Müller ½"]
    assert any("it is not UTF-8" in notice.text for notice in file.warnings) is said


@pytest.mark.parametrize(
    "cell",
    ["4' 6 1/2\"", '"4\' 6 1/2"""', '"4\' 6 1/2""', '"4\' 6 1/2" "', '54.5"'],
)
def test_an_inch_mark_that_was_not_doubled_spoils_nothing(tmp_path: Path, cell: str) -> None:
    others = 'O2,J1,brick,new_cut,36",48",steel\nO3,J1,brick,new_cut,30,40,none\n'
    text = OPENINGS + f"O1,J1,brick,new_cut,{cell},40,steel\n" + others
    file = read_text(tmp_path, "openings.csv", text)
    assert file.bad.is_empty() and file.rows == 3
    assert file.good.select("opening_id", "rough_width_in", "rough_height_in", "_line").rows() == [
        ("O1", 54.5, 40.0, 2), ("O2", 36.0, 48.0, 3), ("O3", 30.0, 40.0, 4),
    ]  # fmt: skip


def test_a_quote_that_never_closes_takes_no_other_row_with_it(tmp_path: Path) -> None:
    rows = "".join(f"J{at},n,2025-01-01,5\n" for at in range(100))
    file = read_text(tmp_path, "jobs.csv", JOBS + '"J,n,2025-01-01,5\n' + rows)
    assert file.rows == 101
    assert file.good.height >= 100
    assert set(file.good["job_id"]) >= {f"J{at}" for at in range(100)}


def test_a_title_and_notes_above_the_header_are_passed_over(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", "Acme jobs 2025,,,\n,,,\nprinted 3/1/2025\n" + JOBS + "A,n,2025-01-01,5\n")
    assert file.good.select("job_id", "_line").rows() == [("A", 5)]


def test_trailing_separators_and_blanks_are_no_cells(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", JOBS + "A,n,2025-01-01,5,,\n B , n ,2025-01-01, 6 \nC,n,2025-01-01,7, ,\n")
    assert file.good.select("job_id", "crew", "contract_price").rows() == [
        ("A", "n", 5.0),
        ("B", "n", 6.0),
        ("C", "n", 7.0),
    ]


def test_a_short_line_is_a_row_whose_last_cells_are_empty(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", "job_id,crew,started_on,contract_price,site\nA,n,2025-01-01,5\nB,n\n")
    assert file.good["job_id"].to_list() == ["A"]
    assert reasons(file) == {
        3: "started_on is empty; it must be filled in; also contract_price is empty; it must be filled in"
    }


def test_too_many_cells_a_header_again_and_a_total_wait(tmp_path: Path) -> None:
    text = (
        JOBS + "A,n,2025-01-01,1,250\nB,n,2025-01-01,5\n" + JOBS + "C,n,2025-01-01,5\nTOTAL,,,10\nGrand total:,,,10\n"
    )
    file = read_text(tmp_path, "jobs.csv", text)
    assert file.good["job_id"].to_list() == ["B", "C"]
    assert reasons(file) == {
        2: "5 cells, but the header has 4; put a cell that holds a separator in quotes",
        4: "this is the header again, not a record; drop it: areaway quarantine --drop ID --reason TEXT",
        6: "this is a TOTAL line, not a record; drop it: areaway quarantine --drop ID --reason TEXT",
        7: "this is a TOTAL line, not a record; drop it: areaway quarantine --drop ID --reason TEXT",
    }
    assert file.bad.filter(file.bad["_line"] == 2)["_key"].to_list() == ["A"]


def test_a_header_and_no_rows_is_fine(tmp_path: Path) -> None:
    for text in (JOBS, JOBS.strip(), JOBS + "\n\n,,,\n"):
        file = read_text(tmp_path, "jobs.csv", text)
        assert (file.rows, file.good.height, file.bad.height) == (0, 0, 0)


def test_packed_files_read_as_unpacked_ones(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv.gz"
    path.write_bytes(gzip.compress((JOBS + "A,n,2025-01-01,5\n").encode()))
    assert read(path)[0].good["job_id"].to_list() == ["A"]


@pytest.mark.parametrize("name", ["jobs.csv", "jobs.tsv", "jobs.TXT"])
def test_the_endings_of_text_files(tmp_path: Path, name: str) -> None:
    assert read_text(tmp_path, name, JOBS + "A,n,2025-01-01,5\n").rows == 1


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("jobs.csv", b"", "jobs.csv: the file is empty"),
        ("jobs.csv", b"\n\n , ,\n", "jobs.csv: the file is empty"),
        ("jobs.csv", b"a\0b", "is not a text table"),
        ("jobs.csv", b"job_id,crew,started_on\nA,n,2025-01-01\n", "jobs.csv: column contract_price is missing"),
        ("jobs.csv", b"job_id,Job ID,crew,started_on,contract_price\n", "jobs.csv: column job_id stands twice"),
        ("stuff.csv", b"colour,size\nred,2\n", "stuff.csv: cannot tell which kind of record this is"),
        ("stuff.csv", b"job_id,worked_on\n1,2025-01-01\n", "nearly: labour (without hours)"),
        ("jobs.csv.gz", b"not packed", "jobs.csv.gz cannot be read"),
        ("jobs.xlsx", b"not a workbook", "jobs.xlsx: cannot be read as a workbook"),
        ("jobs.parquet", b"not parquet", "jobs.parquet: cannot be read as Parquet"),
        ("jobs.pdf", b"%PDF", "jobs.pdf is not a kind of file that is read"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_used_is_named_with_the_remedy(
    tmp_path: Path, name: str, content: bytes, said: str
) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(InputError, match=r".") as refused:
        read(tmp_path / name)
    assert said in str(refused.value)
    assert str(tmp_path / name) in str(refused.value)


def test_all_unusable_files_are_named_at_once(tmp_path: Path) -> None:
    for name in ("jobs.csv", "labour.csv"):
        (tmp_path / name).write_text("")
    (tmp_path / "openings.csv").write_text(LABOUR)
    with pytest.raises(InputError) as refused:
        read(tmp_path)
    assert [name in str(refused.value) for name in ("jobs.csv", "labour.csv", "openings.csv")] == [True] * 3


def test_of_lines_with_headings_of_nobody_the_fullest_is_taken_for_the_header(tmp_path: Path) -> None:
    (tmp_path / "jobs.csv").write_text("Our jobs;;\n\nNr;Wer;Wann\n1;n;2025-01-01\n")
    with pytest.raises(InputError, match="the header reads: Nr, Wer, Wann"):
        read(tmp_path / "jobs.csv")


@pytest.mark.parametrize("lines_above", [9, 10])
def test_the_header_stands_within_the_first_ten_lines(tmp_path: Path, lines_above: int) -> None:
    (tmp_path / "jobs.csv").write_text("printed\n" * lines_above + JOBS + "A,n,2025-01-01,5\n")
    if lines_above == 9:
        assert read(tmp_path / "jobs.csv")[0].good["_line"].to_list() == [11]
        return
    with pytest.raises(InputError, match="are missing"):
        read(tmp_path / "jobs.csv")


def test_a_total_line_with_empty_cells_before_it_waits_as_a_total(tmp_path: Path) -> None:
    text = 'job_id,crew,started_on,contract_price,site\nA,n,2025-01-01,5,"4"" pipe"\n,TOTAL,,5,\n'
    file = read_text(tmp_path, "jobs.csv", text)
    assert "TOTAL line" in reasons(file)[3]


def test_a_total_line_is_known_again_in_a_corrected_export(tmp_path: Path) -> None:
    text = (
        "quarantine_id,source_file,source_row,reason,entry_id,job_id,opening_id,worked_on,hours\n"
        "17,labour.csv,5,a TOTAL line,,,,Total,16\n"
    )
    (reason,) = reasons(read_text(tmp_path, "labour.csv", text)).values()
    assert reason.startswith("this is a TOTAL line, not a record; drop it: areaway quarantine --drop ")
