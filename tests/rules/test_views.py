"""Each SQL view: a folder of input tables and the rows expected, worked by hand.

`views/firm` is a firm of three jobs that fits in the head; every other folder is named for a view (or a macro, with the
question that calls it) and holds the rows it must give, in the columns that are listed there. Invented data.
"""

import csv
from pathlib import Path

import duckdb
import pytest

import pipeline.store
from pipeline.store.layout import bring_up_to_date

FOLDER = Path(__file__).parent / "views"
SQL = Path(pipeline.store.__file__).parent / "sql" / "views"
VIEWS = sorted(folder.name for folder in FOLDER.iterdir() if folder.is_dir() and folder.name != "firm")
PLACES = 6


@pytest.fixture(scope="module")
def book() -> duckdb.DuckDBPyConnection:
    """The firm's tables in a book in memory."""
    con = duckdb.connect()
    bring_up_to_date(con)
    for file in sorted((FOLDER / "firm").glob("*.csv"), key=lambda file: (file.stem not in ("batches", "files"), file)):
        with file.open(newline="") as lines:
            for row in csv.DictReader(lines):
                given = {name: text or None for name, text in row.items()}
                marks = ", ".join(f"${name}" for name in given)
                con.execute(f"insert into {file.stem} ({', '.join(given)}) values ({marks})", given)  # noqa: S608
    return con


def plain(cell: object) -> str:
    """A cell as text: numbers to six places, nothing as the empty text."""
    if cell is None or cell == "":
        return ""
    try:
        return f"{round(float(cell), PLACES):g}" if not isinstance(cell, bool) else str(cell).lower()
    except (TypeError, ValueError):
        return str(cell)


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_gives_the_rows_worked_by_hand(view, book):
    """The listed columns of every row, in any order."""
    question = FOLDER / view / "question.sql"
    asked = question.read_text() if question.exists() else f"select * from {view}"  # noqa: S608
    with (FOLDER / view / "expected.csv").open(newline="") as lines:
        expected = list(csv.DictReader(lines))
    columns = ", ".join(f'"{name}"' for name in expected[0])
    found = book.execute(f"select {columns} from ({asked})").fetchall()  # noqa: S608
    assert sorted(map(plain_row, found)) == sorted(plain_row(row.values()) for row in expected)


def plain_row(cells) -> tuple[str, ...]:
    """A row as texts."""
    return tuple(plain(cell) for cell in cells)


def test_every_view_has_its_folder():
    """No view or macro without rows worked by hand."""
    assert {file.stem for file in SQL.glob("*.sql")} == set(VIEWS)
