"""`areaway fit` on a small book: what it stores, what it says, what it needs."""

import json
import subprocess
import sys
from datetime import date

import pytest

from pipeline.cli.fit import lines
from pipeline.errors import NotEnoughRecords
from pipeline.runs.fit import fit_
from pipeline.settings import load_settings
from pipeline.store.book import open_book
from pipeline.store.models import load_model
from tests.runs.fitted_book import sample_book


@pytest.fixture(scope="module")
def fitted(tmp_path_factory):
    book, settings = sample_book(tmp_path_factory.mktemp("fit"), jobs=110)
    return book, load_settings(settings), fit_(book, load_settings(settings))


KEYS = {
    "labour": {
        "jobs", "openings", "holdout_openings", "median_ape", "mape", "bias", "coverage_80", "coverage_90",
        "by_wall_type",
    },
    "materials": {"jobs", "holdout_jobs", "cost_error", "bias", "by_item"},
    "callbacks": {"openings", "events", "observed_over_expected", "slope", "c_index"},
}  # fmt: skip


def test_the_answer_has_the_promised_keys(fitted):
    result = fitted[2]
    assert set(result) == {"as_of", "labour", "materials", "callbacks", "not_fitted"}
    for part, keys in KEYS.items():
        assert keys <= set(result[part]), part
    assert set(result["labour"]["by_wall_type"][0]) == {"wall_type", "openings", "median_ape", "pooled"}


def test_every_model_is_kept_as_plain_json(fitted):
    with open_book(fitted[0]) as con:
        for part in ("labour", "materials", "callbacks", "quote", "measured"):
            assert json.dumps(load_model(con, part), allow_nan=False)


def test_each_job_has_standard_quantities(fitted):
    with open_book(fitted[0]) as con:
        jobs = con.execute("select count(distinct job_id) from standard_quantities where basis = 'takeoff'").fetchall()
        known = con.execute("select count(distinct job_id) from openings").fetchall()
    assert jobs == known


def test_the_words_name_error_ranges_and_the_firms_own_quotes(fitted):
    said = "\n".join(lines(fitted[2]))
    for words in ("had not seen", "half of them within", "plain average", "Your own quoted hours", "Materials:"):
        assert words in said, words


def test_a_plain_average_that_does_as_well_is_said(fitted):
    labour = fitted[2]["labour"]
    as_good = {**labour, "yardsticks": [{**row, "beaten": False} for row in labour["yardsticks"]]}
    said = "\n".join(lines({**fitted[2], "labour": as_good}))
    assert said.count("A plain average does as well on this book") == 2
    assert "Better than" not in said


def test_what_is_not_shown_of_a_list_is_said_and_where_it_stands(fitted):
    """Seven odd figures, one job kept back, two openings without hours: five shown, the rest pointed to."""
    odd = {"opening_id": "O1", "phase": "cleanup", "hours": 9.0, "expected_hours": 1.0}
    labour = {**fitted[2]["labour"], "check_these": [odd] * 7, "openings_without_hours": 2}
    labour["yardsticks"] = [{**row, "beaten": False, "standard_error": None} for row in labour["yardsticks"]]
    said = "\n".join(lines({**fitted[2], "labour": labour}))
    assert "and 2 more: areaway fit --json lists all under labour, check_these" in said
    assert "since no hour was booked to them: 2 more openings" in said
    assert said.count("One job kept back is too few to say") == 2 and "A plain average does as well" not in said


def test_a_quote_reads_the_model_without_heavy_libraries():
    """Prediction needs numpy alone: importing it brings in neither frames nor scipy nor charts."""
    code = "import sys, pipeline.estimators.predict, pipeline.estimators.materials, pipeline.estimators.job_total\n"
    code += "print(sorted({'polars', 'scipy', 'pandera', 'plotly'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_the_same_book_gives_the_same_fit(fitted):
    book, settings, first = fitted
    said: list[str] = []
    again = fit_(book, settings, progress=said.append)
    assert 6 <= len(said) <= 12, "a line for each step, no flood"
    for part in ("hours: learning from", "hours: predicting", "materials: measuring", "callbacks: learning"):
        assert any(part in line for line in said), part
    assert again["labour"]["median_ape"] == first["labour"]["median_ape"]
    assert again["materials"] == first["materials"]


def test_an_early_day_holds_too_little_and_leaves_the_book_alone(fitted):
    book, settings, _ = fitted
    with open_book(book) as con:
        before = con.execute("select count(*) from models").fetchall()
    with pytest.raises(NotEnoughRecords, match="at least 12 are needed"):
        fit_(book, settings, as_of=date(2017, 1, 1))
    with open_book(book) as con:
        assert con.execute("select count(*) from models").fetchall() == before
