"""How a cell's text becomes a value, as a table of text and value; expected values are checkable by hand."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from pipeline.intake.convert import ColumnPlan, converted
from pipeline.intake.raw import RawColumn

TABLE = Path(__file__).with_name("how_values_are_read.txt")
ROWS = [
    tuple(part.strip() for part in line.split(" | "))
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if line.strip() and not line.startswith("#")
]


def expected_value(kind: str, text: str) -> object:
    """The table's own value, typed by the kind of the column."""
    if text == "nothing":
        return None
    if kind in ("id", "text") or kind.startswith("word"):
        return text
    if kind == "yes_no":
        return text == "true"
    return date.fromisoformat(text) if kind == "date" else float(text)


@pytest.mark.parametrize(("kind", "text", "value"), ROWS, ids=[f"{row[0]} {row[1]}" for row in ROWS])
def test_a_cell_becomes_the_value_of_the_table(kind: str, text: str, value: str) -> None:
    kind_of_value, _, name = kind.partition(":")
    plan = ColumnPlan(name or "column", kind_of_value, "column")
    result = converted(plan, RawColumn("column", pl.Series([text])), guarded=True)
    if value == "waits":
        assert result.values.to_list() == [None]
        assert result.faults["value"].to_list() == [text]
        assert result.faults["reason"][0].startswith(f"{plan.name} is '{text}'; it must")
        return
    assert result.faults.is_empty()
    expected = expected_value(kind_of_value, value)
    exact = pytest.approx(expected, rel=1e-12) if isinstance(expected, float) else expected
    assert result.values.to_list() == [exact]
