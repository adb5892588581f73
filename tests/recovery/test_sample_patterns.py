"""The sample scenario: its planted over-tightened anchors and wet walls are flagged unaided, its nulls are not."""

import pytest

from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.patterns import patterns_
from pipeline.settings import Settings, load_settings
from sample_data import truth
from sample_data.make import make


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """The whole scenario taken in as written for a firm, settings beside it."""
    folder = tmp_path_factory.mktemp("scenario")
    make(folder / "records", clean=True)
    settings = folder / "records" / "areaway.toml"
    ingest_(folder / "firm.duckdb", load_settings(settings), Delivery([folder / "records"]))
    return folder / "firm.duckdb", load_settings(settings)


@pytest.fixture(scope="module")
def rows(book):
    return {(row["pattern"], row["cause"]): row for row in patterns_(*book)["patterns"]}


@pytest.mark.parametrize("pair", [("over_torque", "fit"), ("set_wet", "leak")])
def test_the_planted_pair_is_flagged_with_a_cautious_ratio(rows, pair):
    """Planted hazard ratios of 5.5 (sample_data/README.md); the shrunk ratio lies between 2 and that."""
    row = rows[pair]
    assert row["flagged"]
    assert row["level"] == "strong"
    assert 2 < row["hazard_ratio"] < 5.5
    assert "if the link is causal" in row["text"]


def test_planted_nulls_are_not_flagged(rows):
    """Planted ratio 1: grout, squeeze-out, winter, rain that day, bow, anchors, diagonals."""
    nulls = [
        ("grout_missing", "leak"), ("squeeze_out_short", "leak"), ("set_in_winter", "leak"), ("rain_that_day", "leak"),
        ("frame_bow", "fit"), ("too_few_anchors", "fit"), ("diagonals_apart", "fit"),
    ]  # fmt: skip
    assert [pair for pair in nulls if rows[pair]["flagged"]] == []


def test_the_torque_threshold_is_placed_at_the_planted_limit(rows):
    """Planted: callbacks begin above 25 lbft."""
    row = rows["over_torque", "fit"]
    assert row["threshold"] == pytest.approx(truth.TORQUE_LIMIT_LBFT, abs=1.0)
    assert row["threshold_low"] <= truth.TORQUE_LIMIT_LBFT <= row["threshold_high"]


def test_without_a_limit_in_the_settings_over_torque_is_still_found_and_says_how(book):
    """The top fifth of the firm's own readings stands in for the limit."""
    rows = {(row["pattern"], row["cause"]): row for row in patterns_(book[0], Settings())["patterns"]}
    assert rows["over_torque", "fit"]["flagged"]
    assert "top fifth of our own readings" in rows["over_torque", "fit"]["text"]
