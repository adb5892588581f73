"""True for any table: valid rows survive writing and reading in each format, one bad cell keeps one row out, and
no bytes, headings or cells make a row vanish or a traceback show."""

import random
import re
import string
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.errors import InputError
from pipeline.intake.across import same_key_twice
from schemas.kinds import KINDS
from schemas.vocab import WORDS
from tests.unit.intake.made import RECEIVED, read

SEED = 20250314
LAW = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
PLAIN = st.text(string.ascii_letters + string.digits + " ,;'\"½é-=+@#", min_size=1, max_size=12)
Row = dict[str, Any]


TOTALS_LINE = re.compile(r"(grand|sub)?[ _-]*(totals?|sum) *:?", re.IGNORECASE)


def is_kept_as_text(text: str) -> bool:
    """Text that means itself: no word for nothing, no outer blanks, no formula guard, no name of a totals line."""
    if TOTALS_LINE.fullmatch(text):  # such a line waits, as it should
        return False
    return text == text.strip() and text.casefold() not in ("n/a", "-", "none", "?") and not text.startswith("'")


TEXT = PLAIN.filter(is_kept_as_text)
DAYS = st.dates(date(1990, 1, 1), RECEIVED)
BY_KIND: dict[str, st.SearchStrategy[Any]] = {
    "text": TEXT,
    "id": TEXT,
    "date": DAYS,
    "yes_no": st.booleans(),
    "length": st.integers(1, 36 * 16).map(lambda sixteenths: sixteenths / 16),
    "temperature": st.integers(-40, 120).map(float),
    "torque": st.integers(0, 100).map(float),
    "hours": st.integers(1, 96).map(lambda quarters: quarters / 4),
    "money": st.integers(0, 10**7).map(lambda cents: cents / 100),
    "number": st.integers(1, 10**5).map(lambda hundredths: hundredths / 100),
    "count": st.integers(1, 500),
}


def rows_of(kind: str) -> st.SearchStrategy[list[Row]]:
    """Valid rows of a kind, every key once."""
    columns = {}
    for name, column in KINDS[kind].columns().items():
        about = column.metadata
        values = st.sampled_from(list(WORDS[name])) if about["kind"] == "word" else BY_KIND[about["kind"]]
        columns[name] = st.none() | values if about["optional"] and name not in KINDS[kind].key else values
    key = KINDS[kind].key
    rows = st.fixed_dictionaries(columns).filter(is_valid)
    return st.lists(rows, min_size=1, max_size=6, unique_by=lambda row: tuple(str(row[name]) for name in key))


def is_valid(row: Row) -> bool:
    """The rules over two columns."""
    pairs = (
        ("completed_on", "started_on"),
        ("rough_width_in", "existing_width_in"),
        ("rough_height_in", "existing_height_in"),
    )
    return all(row.get(a) is None or row.get(b) is None or row[a] >= row[b] for a, b in pairs)


def frame_of(kind: str, rows: Sequence[Row]) -> pl.DataFrame:
    """Rows in the record's types."""
    types = {
        "date": pl.Date,
        "yes_no": pl.Boolean,
        "count": pl.Int64,
        "id": pl.String,
        "text": pl.String,
        "word": pl.String,
    }
    schema = {name: types.get(column.metadata["kind"], pl.Float64) for name, column in KINDS[kind].columns().items()}
    return pl.DataFrame(rows, schema=schema, orient="row")


def write_csv(frame: pl.DataFrame, path: Path) -> None:
    frame.write_csv(path)


def write_semicolons(frame: pl.DataFrame, path: Path) -> None:
    frame.write_csv(path, separator=";", line_terminator="\r\n", include_bom=True)


def write_parquet(frame: pl.DataFrame, path: Path) -> None:
    frame.write_parquet(path)


def write_workbook(frame: pl.DataFrame, path: Path) -> None:
    with xlsxwriter.Workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False}) as book:
        sheet = book.add_worksheet("Sheet1")
        as_day = book.add_format({"num_format": "yyyy-mm-dd"})
        for at, name in enumerate(frame.columns):
            sheet.write_string(0, at, name)
            for line, value in enumerate(frame[name], 1):
                if isinstance(value, date):
                    sheet.write_datetime(line, at, value, as_day)
                elif isinstance(value, str):
                    sheet.write_string(line, at, value)
                elif value is not None:
                    sheet.write(line, at, value)


FORMATS: dict[str, tuple[str, Callable[[pl.DataFrame, Path], None]]] = {
    "comma": ("csv", write_csv),
    "semicolon": ("txt", write_semicolons),
    "workbook": ("xlsx", write_workbook),
    "parquet": ("parquet", write_parquet),
}


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("kind", KINDS)
def test_any_valid_rows_survive_writing_and_reading(tmp_path: Path, kind: str, form: str) -> None:
    ending, write = FORMATS[form]

    @settings(LAW, max_examples=8)
    @given(rows_of(kind))
    def law(rows: list[Row]) -> None:
        frame = frame_of(kind, rows)
        path = tmp_path / f"{kind}.{ending}"
        write(frame, path)
        (file,) = read(path)
        assert file.bad.is_empty(), file.bad.rows()
        assert file.good.select(frame.columns).equals(frame)
        assert file.good["_line"].to_list() == list(range(2, frame.height + 2))

    law()


SPOILED = {
    "date": "not a day", "yes_no": "perhaps", "length": "-", "temperature": "warm", "torque": "tight", "hours": "long",
    "money": "€5", "number": "some", "count": "2.5", "word": "no such word",
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_one_spoiled_cell_keeps_that_row_out_and_no_other(tmp_path: Path, kind: str) -> None:
    columns = {name: column.metadata for name, column in KINDS[kind].columns().items()}
    candidates = [name for name, about in columns.items() if about["kind"] in SPOILED or not about["optional"]]

    @settings(LAW, max_examples=10)
    @given(rows_of(kind), st.sampled_from(candidates), st.integers(0, 5))
    def law(rows: list[Row], name: str, at: int) -> None:
        texts = frame_of(kind, rows).cast(pl.String)
        row = at % len(rows)
        spoiled = SPOILED.get(columns[name]["kind"], "")
        if columns[name]["kind"] == "length":
            spoiled = "long"
        texts = texts.with_columns(pl.Series(name, [*texts[name][:row], spoiled, *texts[name][row + 1 :]]))
        path = tmp_path / f"{kind}.csv"
        texts.write_csv(path)
        (file,) = read(path)
        assert file.bad["_line"].to_list() == [row + 2]
        assert file.bad["column"].to_list() == [name]
        assert file.good.height == len(rows) - 1

    law()


CELLS = (
    "", "1", "x", "-", "TOTAL", "2025-01-01", "3/4/2025", "$5", "€5", "4' 6\"", '"', '""', "'=1", "a\nb",
    "=cmd|' /C'!A0", "<script>", "'; drop table jobs; --", "½", "\u202e", "999999999999", "1e400", "-0", "nan",
    "None", "\x0b", "é" * 30,
)  # fmt: skip


def scrambled(random_: random.Random) -> bytes:
    """A file with headings of a kind, odd cells, and sometimes bytes knocked out."""
    kind = random_.choice(list(KINDS))
    headings = list(KINDS[kind].columns())
    random_.shuffle(headings)
    separator = random_.choice(",;\t")
    quoted = random_.random() < 0.5

    def cell() -> str:
        text = random_.choice(CELLS)
        return f'"{text.replace(chr(34), chr(34) * 2)}"' if quoted and random_.random() < 0.8 else text

    lines = [separator.join(headings)]
    lines += [separator.join(cell() for _ in range(random_.choice([len(headings)] * 8 + [1, 3, len(headings) + 2])))
              for _ in range(random_.randint(0, 12))]  # fmt: skip
    data = bytearray(
        random_.choice(["\n", "\r\n", "\r"])
        .join(lines)
        .encode(random_.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16"]), "replace")
    )
    for _ in range(random_.choice([0, 0, 0, 3, 30])):
        data[random_.randrange(len(data))] = random_.randrange(256)
    return bytes(data)


@pytest.mark.parametrize("part", range(6))
def test_no_text_file_whatever_is_in_it_loses_a_row_or_shows_a_traceback(tmp_path: Path, part: int) -> None:
    """Every file is read with rows = good + bad, or refused with a sentence that names it."""
    random_ = random.Random(SEED + part)
    read_well = 0
    for _ in range(40):
        path = tmp_path / random_.choice(["jobs.csv", "labour.txt", "stuff.csv", "weather.csv", "x.dly"])
        path.write_bytes(scrambled(random_))
        try:
            files = same_key_twice(read(path, kind=random_.choice([None, *KINDS])))
        except InputError as refused:
            assert str(path) in str(refused)
            continue
        read_well += 1
        for file in files:
            assert file.rows == file.good.height + file.bad.height == file.text.height
            assert file.bad["reason"].null_count() == file.bad["raw"].null_count() == 0
    assert read_well > 0


@pytest.mark.parametrize("ending", ["xlsx", "parquet", "csv.gz"])
def test_no_damaged_binary_file_shows_a_traceback(tmp_path: Path, ending: str) -> None:
    random_ = random.Random(SEED)
    days = [RECEIVED - timedelta(at) for at in range(9)]
    frame = frame_of("labour", [{"entry_id": f"E{day}", "job_id": "J", "worked_on": day, "hours": 2.0} for day in days])
    path = tmp_path / f"labour.{ending}"
    {"xlsx": write_workbook, "parquet": write_parquet, "csv.gz": write_packed}[ending](frame, path)
    whole = path.read_bytes()
    for _ in range(60):
        data = bytearray(whole)
        for _ in range(random_.choice([1, 3, 50])):
            data[random_.randrange(len(data))] = random_.randrange(256)
        path.write_bytes(data[: random_.choice([len(data), len(data) // 2])])
        try:
            files = read(path)
        except InputError as refused:
            assert str(path) in str(refused)
            continue
        assert all(file.rows == file.good.height + file.bad.height for file in files)


def write_packed(frame: pl.DataFrame, path: Path) -> None:
    import gzip

    path.write_bytes(gzip.compress(frame.write_csv().encode()))
