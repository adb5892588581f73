"""The one list of callbacks that count: small tables of records in, the visits expected out.

Every case is a house rule worked by hand: who pays, which reports are one visit, whose cost counts,
what ends with the warranty.
"""

import datetime as dt
from pathlib import Path

import duckdb
import pytest

import pipeline.store

VIEWS = Path(pipeline.store.__file__).parent / "sql" / "views"
EARLY, JULY_2023 = dt.date(2020, 1, 1), dt.date(2023, 7, 1)
STANDARD = [{"valid_from": EARLY, "value": 50}, {"valid_from": JULY_2023, "value": 60}]
WARRANTY = [{"valid_from": EARLY, "value": 24}]
JOBS = "('J1', '2023-01-01', null), ('J2', '2023-01-01', 12), ('J3', null, null)"
OPENINGS = "('O1', 'J1'), ('O2', 'J2'), ('O3', 'J3'), ('O4', 'J1')"
COLUMNS = """callback_id varchar, opening_id varchar, reported_on date, complaint varchar,
cause_found varchar, visited_on date, closed_on date, labour_hours decimal(10,4), labour_cost decimal(14,4),
material_cost decimal(14,4), recovered decimal(14,4), duplicate_of varchar, warranty boolean"""


def visits(
    records: str, *, as_of: str = "2026-01-01", columns: str = "callback_id, visit_id, why_not"
) -> list[str]:
    """Run the view on callbacks typed as 'id | opening | reported | complaint | column=value ...' lines."""
    book = duckdb.connect()
    book.execute("create table jobs(job_id varchar, completed_on date, warranty_months integer)")
    book.execute("create table openings(opening_id varchar, job_id varchar)")
    book.execute(f"create table callbacks({COLUMNS})")
    book.execute(f"insert into jobs values {JOBS}")  # noqa: S608
    book.execute(f"insert into openings values {OPENINGS}")  # noqa: S608
    for line in records.strip().splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        row = dict(zip(("callback_id", "opening_id", "reported_on", "complaint"), cells, strict=False))
        row |= dict(cell.split("=", 1) for cell in cells[4:])
        names = ", ".join(row)
        marks = ", ".join(f"${name}" for name in row)
        book.execute(f"insert into callbacks ({names}) values ({marks})", row)  # noqa: S608
    book.execute("create table labour(worked_on date)")
    for name in ("book_known_until", "callback_visits"):
        book.execute((VIEWS / f"{name}.sql").read_text(encoding="utf-8"))
    found = book.execute(
        f"select {columns} from callback_visits($as_of, $standard, $warranty) order by callback_id",  # noqa: S608
        {"as_of": as_of, "standard": STANDARD, "warranty": WARRANTY},
    ).fetchall()
    return [" ".join("-" if cell is None else str(cell) for cell in row) for row in found]


@pytest.mark.parametrize(
    ("given", "counts"),
    [
        ("cause_found=gasket torn at the sill", "True"),
        ("cause_found=Homeowner left the well cover open", "False"),
        ("cause_found=customer's SPRINKLER head", "False"),
        ("cause_found=left sash open in the storm", "False"),
        ("cause_found=sash left unlatched", "True"),
        ("cause_found=the well cover had been left wide open", "False"),
        ("cause_found=Left the basement window open", "False"),
        ("cause_found=gate left open", "False"),
        ("cause_found=gasket torn at left jamb, corner open", "True"),
        ("cause_found=left sash would not close, latch open", "True"),
        ("cause_found=seal at the left side of the window open", "True"),
        ("cause_found=crew left the seam under the frame open", "True"),
        ("cause_found=powner of the frame", "True"),
        ("cause_found=tenant | warranty=true", "True"),
        ("cause_found=gasket torn | warranty=false", "False"),
    ],
)
def test_ours_to_pay_is_the_given_value_else_the_word_list_on_the_cause_found(given, counts):
    """A `warranty` value wins; without one, words for the customer's side make the visit not ours."""
    assert visits(f"A | O1 | 2023-05-01 | leak | {given}", columns="counts") == [counts]


def test_a_report_at_most_fourteen_days_after_the_one_before_is_the_same_visit():
    """1, 15 and 29 May are one chain (14 days each); 13 June is 15 days on and a visit of its own."""
    records = """
    A | O1 | 2023-05-01 | leak
    B | O1 | 2023-05-15 | leak
    C | O1 | 2023-05-29 | leak
    D | O1 | 2023-06-13 | leak
    """
    assert visits(records) == ["A A -", "B A duplicate", "C A duplicate", "D D -"]


def test_another_complaint_or_another_opening_is_another_visit():
    records = """
    A | O1 | 2023-05-01 | leak
    B | O1 | 2023-05-02 | fit
    C | O4 | 2023-05-02 | leak
    """
    assert visits(records) == ["A A -", "B B -", "C C -"]


def test_marked_duplicates_are_followed_through_chains_and_the_unmarked_record_leads():
    """C is marked as B, B as A; E is marked as a later record F, so F leads though E was first reported."""
    records = """
    A | O1 | 2023-05-01 | leak
    B | O1 | 2023-07-01 | leak | duplicate_of=A
    C | O4 | 2023-08-01 | fit  | duplicate_of=B
    E | O2 | 2023-05-01 | leak | duplicate_of=F
    F | O2 | 2023-06-01 | leak
    """
    assert visits(records, columns="callback_id,visit_id,visit_reported_on,records") == [
        "A A 2023-05-01 3",
        "B A 2023-05-01 3",
        "C A 2023-05-01 3",
        "E F 2023-05-01 2",
        "F F 2023-05-01 2",
    ]


def test_two_records_marked_as_each_other_are_still_one_visit_with_one_leader():
    records = """
    A | O1 | 2023-05-01 | leak | duplicate_of=B
    B | O1 | 2023-09-01 | leak | duplicate_of=A
    """
    assert visits(records) == ["A A -", "B A duplicate"]


def test_the_dearest_records_cost_stands_on_the_leader_and_the_others_carry_nothing():
    """120 + 30 = 150 is dearer than 90 + 40 = 130; what was got back on that record (25) comes off: 125."""
    records = """
    A | O1 | 2023-05-01 | leak | labour_cost=90  | material_cost=40
    B | O1 | 2023-05-05 | leak | labour_cost=120 | material_cost=30 | recovered=25
    """
    money = "callback_id, labour_cost::int, material_cost::int, recovered::int, net_cost::int"
    assert visits(records, columns=money) == [
        "A 120 30 25 125",
        "B 0 0 0 0",
    ]


def test_hours_without_a_cost_take_the_standard_of_the_day_worked_and_are_marked():
    """2 h x 50 before July 2023; 2 h x 60 when the visit itself was in July."""
    records = """
    A | O1 | 2023-06-28 | leak | labour_hours=2
    B | O4 | 2023-06-28 | leak | labour_hours=2 | visited_on=2023-07-03
    C | O2 | 2023-06-28 | leak | labour_hours=2 | labour_cost=70
    """
    assert visits(records, columns="callback_id, net_cost::int, marked_standard") == [
        "A 100 True",
        "B 120 True",
        "C 70 False",
    ]


def test_a_visit_without_hours_and_costs_is_not_costed_yet():
    assert visits("A | O1 | 2023-06-28 | leak", columns="counts, net_cost") == ["True -"]


def test_after_the_warranty_the_cost_counts_and_the_hazard_does_not():
    """12 months are 365.25 days from 2023-01-01: day 365 is inside, day 366 outside; both cost money."""
    records = """
    A | O2 | 2024-01-01 | fit | labour_cost=80
    B | O2 | 2024-01-02 | leak | labour_cost=80
    """
    assert visits(records, columns="callback_id, counts, in_warranty, net_cost::int") == [
        "A True True 80",
        "B True False 80",
    ]


def test_before_completion_the_cost_counts_and_the_hazard_does_not():
    """The job was finished on 2023-01-01: a report of the day before is no event, one of the day itself is."""
    records = """
    A | O1 | 2022-12-31 | leak | labour_cost=80
    B | O4 | 2023-01-01 | leak | labour_cost=80
    """
    assert visits(records, columns="callback_id, counts, in_warranty, net_cost::int") == [
        "A True False 80",
        "B True True 80",
    ]


def test_an_open_job_has_no_warranty_clock_yet():
    assert visits("A | O3 | 2023-06-28 | leak", columns="counts, in_warranty") == ["True -"]


def test_records_reported_after_the_as_of_date_are_left_out_and_tie_nothing():
    records = """
    A | O1 | 2023-05-01 | leak | duplicate_of=B
    B | O1 | 2024-09-01 | leak
    """
    assert visits(records, as_of="2023-12-31") == ["A A -"]


def test_the_last_given_value_decides_for_the_whole_visit():
    """First booked as ours, then found not to be: the visit and both its reports are not ours."""
    records = """
    A | O1 | 2023-05-01 | leak | warranty=true
    B | O1 | 2023-05-05 | leak | warranty=false
    """
    assert visits(records, columns="callback_id, counts, why_not") == [
        "A False not ours to pay",
        "B False duplicate",
    ]


LEARNED_LATER = """
A | O1 | 2023-06-01 | leak | visited_on=2023-06-05 | closed_on=2023-06-05 | labour_cost=80
B | O2 | 2023-06-01 | leak | visited_on=2023-08-05 | labour_hours=2 | cause_found=tenant left it open
C | O4 | 2023-06-01 | leak | visited_on=2023-06-05 | closed_on=2023-08-05 | material_cost=30 | recovered=10
D | O2 | 2023-06-01 | fit  | labour_cost=40
"""
COUNTED = "callback_id, counts, net_cost::int, recovered::int, outcome_known"


def test_what_is_learned_after_an_earlier_as_of_date_is_not_known_yet():
    """On 1 July: A was visited in June; B is visited in August, C closed in August; D's cost has no day and counts."""
    later = LEARNED_LATER + "E | O3 | 2023-09-01 | leak"
    assert visits(later, as_of="2023-07-01", columns=COUNTED) == [
        "A True 80 0 True", "B True - 0 False", "C True - 0 False", "D True 40 0 True",
    ]  # fmt: skip
    assert visits(later, as_of="2023-08-31", columns=COUNTED) == [
        "A True 80 0 True", "B False 120 0 True", "C True 20 10 True", "D True 40 0 True",
    ]  # fmt: skip


def test_on_the_newest_day_of_the_book_all_that_is_in_it_is_known():
    """The newest day is 1 June, when all four were reported: what was dated later is in the book, so it is known."""
    assert visits(LEARNED_LATER, as_of="2023-06-01", columns=COUNTED) == [
        "A True 80 0 True", "B False 120 0 True", "C True 20 10 True", "D True 40 0 True",
    ]  # fmt: skip
