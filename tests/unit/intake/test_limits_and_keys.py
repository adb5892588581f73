"""Limits that keep a row out, doubts that do not, and what names a row."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.intake.across import same_key_twice
from pipeline.intake.checks import PAIR_RULES, rule_in_words
from schemas.batch import set_aside
from schemas.kinds import KINDS
from tests.unit.intake.made import JOBS, LABOUR, OPENINGS, RECEIVED, read, read_text, reasons

ONE_MORE = OPENINGS.strip() + ",{}\nO,J,brick,enlarge,40,50,none,{}\n"


@pytest.mark.parametrize(
    ("column", "cell", "reason"),
    [
        ("wall_thickness_in", "-8", "it must be more than 0 and at most 36"),
        ("wall_thickness_in", "0", "it must be more than 0 and at most 36"),
        ("wall_thickness_in", "36.1", "it must be more than 0 and at most 36"),
        ("well_width_in", "401", "it must be more than 0 and at most 400"),
        ("depth_below_grade_in", "-1", "it must be at least 0 and at most 400"),
        ("existing_width_in", "41", "rough_width_in is '40'; it must not be smaller than existing_width_in (41)"),
        ("existing_height_in", "51", "rough_height_in is '50'; it must not be smaller than existing_height_in (51)"),
        ("soil", "mud", "it must be one of sand_gravel, loam, clay, hardpan"),
    ],
)
def test_limits_of_openings(tmp_path: Path, column: str, cell: str, reason: str) -> None:
    file = read_text(tmp_path, "openings.csv", ONE_MORE.format(column, cell))
    expected = reason if " is '" in reason else f"{column} is '{cell}'; {reason}"
    assert reasons(file) == {2: expected}


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("wall_thickness_in", "36"),
        ("sill_below_grade_in", "-3"),
        ("existing_width_in", "40"),
        ("existing_width_in", "0"),
        ("depth_below_grade_in", "0"),
    ],
)
def test_values_on_the_limit_go_in(tmp_path: Path, column: str, cell: str) -> None:
    assert read_text(tmp_path, "openings.csv", ONE_MORE.format(column, cell)).bad.is_empty()


@pytest.mark.parametrize(
    ("hours", "good"), [("24", True), ("24.01", False), ("0", False), ("0.00001", False), ("-1", False)]
)
def test_hours_of_one_entry_are_over_0_and_at_most_24(tmp_path: Path, hours: str, good: bool) -> None:
    assert read_text(tmp_path, "labour.csv", LABOUR + f"E,J,2025-01-01,W,{hours}\n").bad.is_empty() is good


@pytest.mark.parametrize(
    ("name", "text", "waits"),
    [
        ("labour.csv", LABOUR + "E,J,{},W,5\n", {"1989-12-31": True, "1990-01-01": False}),
        ("labour.csv", LABOUR + "E,J,{},W,5\n", {str(RECEIVED): False, "2026-07-01": True}),
        ("prices.csv", "item,effective_on,unit,unit_cost\nfoam,{},can,5\n", {"1989-12-31": True, "2030-01-01": False}),
        ("quotes.csv", "quote_id,quoted_on,openings,price,outcome\nQ,{},1,5,open\n", {"2030-01-01": False}),
        ("weather.csv", "station_id,observed_on,temp_min_f\nS,{},30\n", {"1910-03-16": False, "2026-07-01": True}),
    ],
)  # fmt: skip
def test_dates_run_from_1990_to_the_day_of_receipt(
    tmp_path: Path, name: str, text: str, waits: dict[str, bool]
) -> None:
    """Quotes and prices may lie ahead; weather stations reach further back than the firm."""
    for day, waiting in waits.items():
        assert read_text(tmp_path, name, text.format(day)).bad.height == waiting, day


def test_a_quantity_or_an_amount_may_be_negative_but_no_unit_cost(tmp_path: Path) -> None:
    text = "line_id,job_id,item,quantity,unit,unit_cost\n1,J,foam,-2,can,5\n2,J,foam,2,can,-5\n"
    assert list(reasons(read_text(tmp_path, "materials.csv", text))) == [3]
    text = "line_id,job_id,category,amount\n1,J,permit,(35.00)\n"
    assert read_text(tmp_path, "other_costs.csv", text).good["amount"].to_list() == [-35.0]


def test_all_faults_of_a_row_are_told_and_the_first_is_shown(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", JOBS + "A,,2027-01-01,free\n")
    (row,) = file.bad.iter_rows(named=True)
    assert (row["_line"], row["column"], row["value"]) == (2, "crew", None)
    assert [part.split()[0] for part in row["reason"].split("; also ")] == ["crew", "started_on", "contract_price"]
    assert row["raw"] == '{"job_id":"A","crew":null,"started_on":"2027-01-01","contract_price":"free"}'


def test_every_rule_over_two_columns_has_its_words() -> None:
    named = {check.name for kind in KINDS.values() for check in kind.model.to_schema().checks}
    assert named == set(PAIR_RULES)


def test_every_limit_of_every_column_has_words() -> None:
    for kind in KINDS.values():
        for column in kind.columns().values():
            if column.checks:
                assert rule_in_words(column.checks).startswith("it must be ")


def test_hours_far_above_the_usual_of_their_phase_are_kept_with_a_warning(tmp_path: Path) -> None:
    rows = "".join(f"E{at},J,2025-01-01,,setup,1\n" for at in range(25))
    text = "entry_id,job_id,worked_on,worker_id,phase,hours\n" + rows + "X,J,2025-01-01,,setup,11\n"
    file = read_text(tmp_path, "labour.csv", text)
    assert file.bad.is_empty()
    assert [(notice.line, notice.column, notice.text) for notice in file.warnings] == [
        (27, "hours", "'11' is far above the usual 1 of setup")
    ]


def test_a_price_of_a_few_dollars_is_kept_with_a_warning(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", JOBS + "A,n,2025-01-01,4150\nB,n,2025-01-01,4.15\nC,n,2025-01-01,0\n")
    assert file.good.height == 3
    assert [(notice.line, notice.column, notice.text) for notice in file.warnings] == [
        (3, "contract_price", "'4.15' is under $100; check that it is the whole price, in dollars")
    ]


def test_rows_without_an_id_are_named_by_what_they_are_about_and_their_number(tmp_path: Path) -> None:
    same = "J,2025-01-01,W,setup,1\n"
    text = "job_id,worked_on,worker_id,phase,hours\n" + same + same + "J,2025-01-01,,,2\nJ,x,W,setup,1\n"
    file = read_text(tmp_path, "labour.csv", text)
    keys = file.good["_key"].to_list()
    assert len(set(keys)) == 3 and None not in keys
    assert file.bad["_key"].to_list() == [None]
    assert "rows without a number of their own: 4; if such a row comes again changed in another file" in (
        file.warnings[0].text
    )


def test_a_price_without_a_spec_has_a_key_of_its_own(tmp_path: Path) -> None:
    text = "item,spec,effective_on,unit,unit_cost\nfoam,,2025-01-01,can,5\nfoam,big,2025-01-01,can,7\n"
    assert read_text(tmp_path, "prices.csv", text).good["_key"].n_unique() == 2


def test_one_key_twice_identical_rows_stay_and_different_rows_all_wait(tmp_path: Path) -> None:
    (tmp_path / "jobs a.csv").write_text(
        JOBS + "A,n,2025-01-01,5\nB,n,2025-01-01,5\nB,n,1/1/2025,$5.00\nC,n,2025-01-01,5\n"
    )
    (tmp_path / "jobs b.csv").write_text(JOBS + "A,n,2025-01-01,6\nC,n,2025-01-01,free\n")
    first, second = same_key_twice(read(tmp_path))
    assert first.good["job_id"].to_list() == ["B", "B"]
    assert reasons(first) == {
        2: f"job_id 'A' stands also on line 2 of {second.name} with different values; keep the row that is right",
        5: f"job_id 'C' stands also on line 3 of {second.name} with different values; keep the row that is right",
    }
    assert second.good.is_empty() and second.rows == 2
    assert reasons(second)[3].startswith("contract_price is 'free'; ")
    assert reasons(second)[3].endswith(
        f"; the same record stands also on line 5 of {first.name} with different values; keep the row that is right"
    )
    assert first.bad["raw"].to_list()[0] == '{"job_id":"A","crew":"n","started_on":"2025-01-01","contract_price":"5"}'


def test_a_row_without_an_id_of_its_own_is_named_by_all_that_it_is_known_by(tmp_path: Path) -> None:
    (tmp_path / "labour a.csv").write_text("job_id,worked_on,hours\nJ1,2025-01-03,3\n")
    (tmp_path / "labour b.csv").write_text("job_id,worked_on,hours\nJ1,2025-01-03,4\n")
    (tmp_path / "weather.csv").write_text("station_id,observed_on,temp_min_f\nS,2025-01-01,3\nS,2025-01-01,4\n")
    first, _, weather = same_key_twice(read(tmp_path))
    assert reasons(first)[2].startswith("job_id 'J1', worked_on '2025-01-03' stands also on line 2 of ")
    assert reasons(weather)[2].startswith("station_id 'S', observed_on '2025-01-01' stands also on line 3 with")


def test_setting_rows_aside_keeps_the_count(tmp_path: Path) -> None:
    file = read_text(tmp_path, "jobs.csv", JOBS + "A,n,2025-01-01,5\nB,,2025-01-01,5\nC,n,2025-01-01,5\n")
    faults = pl.DataFrame({"_row": [0], "column": ["job_id"], "value": ["A"], "reason": ["no"]})
    moved = set_aside(file, faults)
    assert (moved.good["job_id"].to_list(), moved.bad["_line"].to_list(), moved.rows) == (["C"], [2, 3], 3)


def test_a_waiting_row_reads_the_same_when_it_comes_back_in_another_file(tmp_path: Path) -> None:
    """What the heading or the other cells of its column decided, the text of a waiting row says itself."""
    text = "job_id;crew;started_on;contract_price;quoted_labour_hours (min);quoted_cost (EUR)\n"
    text += "A;n;14/3/2025;3,5;90;\nB;;4/3/2025;1,250;90;\nC;n;4/3/2025;2;1:30;7\n"
    file = read_text(tmp_path, "jobs.csv", text)
    assert file.bad["raw"].to_list() == [
        '{"job_id":"B","crew":null,"started_on":"2025-03-04","contract_price":"1.25",'
        '"quoted_labour_hours":"90 min","quoted_cost":null}',
        '{"job_id":"C","crew":"n","started_on":"2025-03-04","contract_price":"2",'
        '"quoted_labour_hours":"1:30","quoted_cost":"7 EUR"}',
    ]
