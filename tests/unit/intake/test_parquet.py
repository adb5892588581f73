"""Parquet: types of their own, rows counted as index + 2, text verbatim."""

from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest

from pipeline.errors import InputError
from tests.unit.intake.made import read


def test_typed_columns_are_read_as_they_are(tmp_path: Path) -> None:
    frame = pl.DataFrame(
        {
            "entry_id": [123456789012.0, 7.0],
            "job_id": [10, 11],
            "worked_on": [datetime(2025, 1, 1, 7, 30), None],
            "hours": [time(1, 30), time(0, 45)],
            "hourly_cost": [Decimal("41.25"), Decimal("40.00")],
        }
    )
    frame.write_parquet(tmp_path / "labour.parquet")
    (file,) = read(tmp_path / "labour.parquet")
    assert file.good.select("entry_id", "job_id", "worked_on", "hours", "hourly_cost", "_line").rows() == [
        ("123456789012", "10", date(2025, 1, 1), 1.5, 41.25, 2)
    ]
    assert file.bad.select("_line", "column", "_key").rows() == [(3, "worked_on", "7")]


def test_not_a_number_is_not_recorded(tmp_path: Path) -> None:
    frame = pl.DataFrame({"job_id": ["A"], "crew": ["n"], "started_on": ["2025-01-01"], "contract_price": [5.0],
                          "quoted_cost": [float("nan")]})  # fmt: skip
    frame.write_parquet(tmp_path / "jobs.parquet")
    assert read(tmp_path / "jobs.parquet")[0].good["quoted_cost"].to_list() == [None]


def test_text_that_begins_like_a_guarded_formula_stays_as_it_is(tmp_path: Path) -> None:
    frame = pl.DataFrame({"job_id": ["'=A"], "crew": ["'-n"], "started_on": ["2025-01-01"], "contract_price": [5]})
    frame.write_parquet(tmp_path / "jobs.parquet")
    assert read(tmp_path / "jobs.parquet")[0].good.select("job_id", "crew").rows() == [("'=A", "'-n")]


def test_columns_of_lists_are_refused_by_name(tmp_path: Path) -> None:
    pl.DataFrame({"job_id": [["A"]]}).write_parquet(tmp_path / "jobs.parquet")
    with pytest.raises(InputError, match=r"jobs\.parquet: column job_id holds lists"):
        read(tmp_path / "jobs.parquet")
