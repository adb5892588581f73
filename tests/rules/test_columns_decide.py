"""Dates and numbers with two readings are decided from the whole column, by hand-checkable columns."""

from datetime import date

import polars as pl
import pytest

from pipeline.intake.convert import ColumnPlan, Converted, converted
from pipeline.intake.raw import RawColumn


def column(kind: str, *cells: str | None, **plan: str) -> Converted:
    """A column of texts, converted."""
    raw = RawColumn("c", pl.Series(list(cells), dtype=pl.String))
    return converted(ColumnPlan("c", kind, "c", **plan), raw, guarded=True)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("cells", "values"),
    [
        (["3/4/2025", "14/3/2025"], [date(2025, 4, 3), date(2025, 3, 14)]),
        (["3/4/2025", "3/14/2025"], [date(2025, 3, 4), date(2025, 3, 14)]),
        (["3/4/2025", "2025-12-31"], [date(2025, 3, 4), date(2025, 12, 31)]),
        (["5/5/2025"], [date(2025, 5, 5)]),
    ],
)
def test_one_date_that_demands_an_order_decides_for_the_column(cells: list[str], values: list[date]) -> None:
    result = column("date", *cells)
    assert result.values.to_list() == values
    assert result.faults.is_empty()


def test_day_first_is_said_with_its_reason() -> None:
    assert column("date", "3/4/2025", "14/3/2025").readings == ("c: day first, because '14/3/2025' demands it",)


def test_undecided_dates_are_month_first_with_a_warning() -> None:
    result = column("date", "3/4/2025")
    assert result.values.to_list() == [date(2025, 3, 4)]
    assert "nothing decides" in result.doubts[0] and "[dates] c" in result.doubts[0]


def test_a_date_with_equal_day_and_month_raises_no_doubt() -> None:
    assert column("date", "5/5/2025", "2025-01-01").doubts == ()


def test_where_a_column_of_dates_contradicts_itself_only_undecidable_rows_wait() -> None:
    result = column("date", "14/3/2025", "3/14/2025", "3/4/2025", "5/5/2025")
    assert result.values.to_list() == [date(2025, 3, 14), date(2025, 3, 14), None, date(2025, 5, 5)]
    assert result.faults["_row"].to_list() == [2]


@pytest.mark.parametrize(
    ("order", "value"), [("dmy", date(2025, 4, 3)), ("mdy", date(2025, 3, 4)), (None, date(2025, 3, 4))]
)
def test_the_settings_settle_dates(order: str, value: date) -> None:
    assert column("date", "3/4/2025", order=order).values.to_list() == [value]
    if order:
        assert column("date", "3/4/2025", order=order).doubts == ()


def test_year_first_with_two_digits_is_read_when_the_settings_say_so() -> None:
    assert column("date", "25-03-04", order="ymd").values.to_list() == [date(2025, 3, 4)]


@pytest.mark.parametrize(
    ("cells", "values"),
    [
        (["3,5", "1.250"], [3.5, 1250.0]),
        (["3,5", "1,250"], [3.5, 1.25]),
        (["3.5", "1,250"], [3.5, 1250.0]),
        (["12.50", "1.250"], [12.5, 1.25]),
        (["1.250,00", "7,125"], [1250.0, 7.125]),
        (["1,250.00", "7,125"], [1250.0, 7125.0]),
        (["1.250.000", "1.250"], [1250000.0, 1250.0]),
        (["0,125", "1,250"], [0.125, 1.25]),
        (["7", "12"], [7.0, 12.0]),
    ],
)
@pytest.mark.parametrize("kind", ["number", "money"])
def test_one_number_that_demands_a_mark_decides_for_the_column(
    kind: str, cells: list[str], values: list[float]
) -> None:
    result = column(kind, *cells)
    assert result.values.to_list() == values
    assert result.doubts == ()


@pytest.mark.parametrize(("cell", "value"), [("1,250", 1250.0), ("1.250", 1.25)])
def test_undecided_numbers_take_the_point_with_a_warning(cell: str, value: float) -> None:
    result = column("number", cell, "7")
    assert result.values.to_list() == [value, 7.0]
    assert "nothing decides" in result.doubts[0]


def test_where_a_column_of_numbers_contradicts_itself_only_undecidable_rows_wait() -> None:
    result = column("number", "3,5", "12.5", "1,250", "1.250", "7")
    assert result.values.to_list() == [3.5, 12.5, None, None, 7.0]


@pytest.mark.parametrize("unread", ["4,9OO", "about 4,50", "7,5?"])
@pytest.mark.parametrize("kind", ["money", "number"])
def test_a_number_that_cannot_be_read_decides_nothing(kind: str, unread: str) -> None:
    result = column(kind, "4,150", "12,500", unread)
    assert result.values.to_list() == [4150.0, 12500.0, None]


def test_a_day_that_no_calendar_has_decides_nothing() -> None:
    assert column("date", "3/4/2025", "31/2/2025").values.to_list() == [date(2025, 3, 4), None]


@pytest.mark.parametrize("odd", ["4,90", "5,0000"])
def test_an_amount_that_alone_demands_a_comma_among_thousands_waits(odd: str) -> None:
    """Amounts end at the cent, so $4,150 and $12,500 are no 4.15 and 12.50."""
    result = column("money", "4,150", odd, "12,500")
    assert result.values.to_list() == [4150.0, None, 12500.0]
    assert "theirs stand before the thousands" in result.faults["reason"][0]
    assert result.readings[0].endswith("because 2 cells such as '12,500' have a comma before their thousands")


def test_a_file_with_decimal_commas_keeps_them_beside_thousands_points() -> None:
    assert column("money", "1.250,00", "980,50", "1.100").values.to_list() == [1250.0, 980.5, 1100.0]


def test_where_a_few_commas_decide_for_many_that_could_be_thousands_it_is_said() -> None:
    """A quantity can have three decimal places, so the comma stands, and the doubt is told."""
    result = column("number", "1,250", "2,500", "3,9")
    assert result.values.to_list() == [1.25, 2.5, 3.9]
    assert "2 cells such as '1,250' are read as '1.250'" in result.doubts[0]


def test_a_letter_that_looks_like_a_digit_is_named() -> None:
    """Expected words by hand: the fault of 4,9OO is its letter, no currency."""
    for kind in ("money", "number", "hours"):
        reason = column(kind, "4,9OO").faults["reason"][0]
        assert reason.endswith("it has the letter O where a digit should stand")
        assert "currency" not in reason


def test_the_apostrophe_that_guards_a_formula_is_not_in_the_reason() -> None:
    assert column("number", "'-3x").faults["reason"][0].startswith("c is '-3x'; ")


@pytest.mark.parametrize(("decimal", "value"), [(",", 1.25), (".", 1250.0)])
def test_the_settings_settle_numbers(decimal: str, value: float) -> None:
    assert column("number", "1,250", decimal=decimal).values.to_list() == [value]


@pytest.mark.parametrize(
    ("kind", "unit", "cells", "values"),
    [
        ("length", "cm", ["127", '50"', "4' 2\"", "1.27 m"], [50.0, 50.0, 50.0, 50.0]),
        ("length", "ft", ["4 1/2", "4.5"], [54.0, 54.0]),
        ("hours", "min", ["90", "1:30", "1.5 h"], [1.5, 1.5, 1.5]),
        ("temperature", "C", ["0", "54 °F"], [32.0, 54.0]),
    ],
)
def test_bare_numbers_take_the_unit_of_the_column(kind: str, unit: str, cells: list[str], values: list[float]) -> None:
    assert column(kind, *cells, unit=unit).values.to_list() == pytest.approx(values, rel=1e-12)


def test_exact_numbers_of_a_workbook_have_one_reading_only() -> None:
    """A numeric cell 7.125 stays 7.125 in a column whose texts have a decimal comma."""
    raw = RawColumn("c", pl.Series(["7.125", "3,5"]), numbers=pl.Series([7.125, None]))
    assert converted(ColumnPlan("c", "number", "c"), raw, guarded=True).values.to_list() == [7.125, 3.5]


def test_a_counted_number_cell_with_a_part_waits() -> None:
    raw = RawColumn("c", pl.Series(["8.5", "8"]), numbers=pl.Series([8.5, 8.0]))
    result = converted(ColumnPlan("c", "count", "c"), raw, guarded=True)
    assert result.values.to_list() == [None, 8]
    assert result.faults["reason"].to_list() == ["c is '8.5'; it must be a whole number"]


def test_empty_columns_convert_to_nothing() -> None:
    for kind in ("text", "id", "yes_no", "date", "length", "hours", "money", "number", "count"):
        assert column(kind).values.to_list() == []
        assert column(kind, None, "", "  ").values.to_list() == [None, None, None]


def test_firm_words_are_read_whatever_their_case_and_spacing() -> None:
    raw = RawColumn("phase", pl.Series(["Dig Out", "dig-out", "setup"]))
    plan = ColumnPlan("phase", "word", "phase", words={"dig out": "excavation"})
    assert converted(plan, raw, guarded=True).values.to_list() == ["excavation", "excavation", "setup"]
