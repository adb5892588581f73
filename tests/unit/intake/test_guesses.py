"""What headings of offices are taken for, and what their cells say to that; common practice, no source."""

from collections.abc import Sequence

import polars as pl
import pytest

from pipeline.intake.guesses import Guess, guesses, word_guesses
from pipeline.intake.headers import layout
from pipeline.intake.raw import RawColumn, RawTable
from pipeline.settings import Settings


def guessed(kind: str, **columns: Sequence[str | None]) -> dict[str, Guess]:
    """Heading -> guess, of a table of texts."""
    return guessed_under(kind, list(columns), list(columns.values()))


def guessed_under(kind: str, headers: Sequence[str], cells: Sequence[Sequence[str | None]]) -> dict[str, Guess]:
    raw = RawTable(
        [RawColumn(header, pl.Series(texts, dtype=pl.String)) for header, texts in zip(headers, cells, strict=True)],
        pl.Series(range(2, 2 + len(cells[0])), dtype=pl.Int64),
    )
    found = guesses(layout(headers, kind, Settings()), raw, Settings())
    return {headers[at]: guess for at, guess in found.items()}


@pytest.mark.parametrize(
    ("kind", "header", "cell", "column"),
    [
        ("labour", "Opening No", "7", "opening_id"), ("labour", "Job #", "25-1", "job_id"),
        ("labour", "Job number", "25-1", "job_id"), ("labour", "JobID", "25-1", "job_id"),
        ("labour", "Hrs", "3:30", "hours"), ("jobs", "Quoted Hrs", "18", "quoted_labour_hours"),
        ("jobs", "Finished", "14-Mar-25", "completed_on"), ("jobs", "Done", "3/14/25", "completed_on"),
        ("jobs", "Start", "3/14/25", "started_on"), ("jobs", "Price", "$4,250", "contract_price"),
        ("openings", "W", '48 1/2"', "rough_width_in"), ("openings", "Height (cm)", "127", "rough_height_in"),
        ("openings", "R.O. Width", "48", "rough_width_in"), ("openings", "Old W", "32", "existing_width_in"),
        ("install_checks", "Wall temp", "54", "substrate_temp_f"), ("install_checks", "Bow", "1/16", "frame_bow_in"),
        ("install_checks", "Gasket breaks", "1/2", "gasket_gap_in"), ("jobs", "Customer address", "4 Elm", "site"),
        ("install_checks", "Foam", "y", "foam_complete"), ("materials", "Qty", "4", "quantity"),
        ("materials", "Price each", "$4", "unit_cost"), ("prices", "Price", "$4", "unit_cost"),
        ("other_costs", "Cost", "$90", "amount"), ("callbacks", "Problem", "leaking", "complaint"),
        ("callbacks", "Cause", "gap in tape", "cause_found"), ("callbacks", "Closed", "4/9/2025", "closed_on"),
        ("quotes", "Bid price", "$4,000", "price"), ("quotes", "No. of windows", "2", "openings"),
    ],
)  # fmt: skip
def test_usual_headings_are_sure(kind: str, header: str, cell: str, column: str) -> None:
    assert guessed_under(kind, [header], [[cell]]) == {header: Guess(column)}


def test_the_cells_decide_between_two_meanings_of_a_heading() -> None:
    """A wall of 8 in is a thickness, one of block is a material; a dig of 60 is a depth, one by hand a method."""
    assert guessed("openings", Wall=["8", "10"]) == {"Wall": Guess("wall_thickness_in")}
    assert guessed("openings", Wall=["CMU", "brick"]) == {"Wall": Guess("wall_type")}
    assert guessed("openings", Dig=["60", "5'"]) == {"Dig": Guess("depth_below_grade_in")}
    assert guessed("openings", Dig=["by hand", "mini"]) == {"Dig": Guess("dig_method")}


def test_a_guess_whose_cells_cannot_be_read_is_dropped() -> None:
    assert guessed("jobs", Finished=["yes", "no", "yes"]) == {}
    assert guessed("labour", Hrs=["all day", "morning"]) == {}
    assert guessed("labour", Opened=["3/14/25"]) == {}


def test_what_hangs_on_a_doubtful_heading_is_said() -> None:
    rate = guessed("labour", Rate=["38.50"])["Rate"]
    assert rate.column == "hourly_cost" and not rate.sure and "taxes and insurance" in rate.doubt
    row = guessed_under("labour", ["#"], [["1", "2"]])["#"]
    assert row.column == "entry_id" and "the later one wins" in row.doubt


def test_values_beyond_the_limits_of_a_column_make_a_guess_doubtful() -> None:
    """A wall of 200 is in millimetres; no wall of ours is over 36 in (house rule)."""
    thickness = guessed("openings", Thickness=["200", "250", "8"])["Thickness"]
    assert (thickness.column, thickness.sure) == ("wall_thickness_in", False)
    assert "is the unit right?" in thickness.doubt


def test_one_column_is_never_given_twice() -> None:
    named = guessed("labour", Who=["A"], Name=["B"])
    assert [guess.column for guess in named.values()] == ["worker_id"]
    assert "Name may be it as well" in named["Who"].doubt
    assert guessed("labour", job_id=["1"], Project=["2"]) == {}


def test_a_misspelt_heading_is_a_doubtful_guess() -> None:
    assert guessed("jobs", Compleated=["3/14/25"])["Compleated"].sure is False
    assert guessed("jobs", Compleated=["3/14/25"])["Compleated"].column == "completed_on"


def test_words_that_offices_use_are_known_and_others_are_left_to_the_firm() -> None:
    assert word_guesses("wall_type", ["CMU", "Poured", "Ziegel"]) == {
        "CMU": "concrete_block", "Poured": "poured_concrete",
    }  # fmt: skip
