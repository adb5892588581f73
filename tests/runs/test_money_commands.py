"""margins, jobs and month on the command line: the promised keys, plain words, and refusals with a remedy."""

import json
import re
from datetime import date
from pathlib import Path

import pytest

from pipeline.cli.main import main
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.settings import Settings

SMALL = Path(__file__).parents[2] / "sample_data" / "small"
ROW = {
    "group", "jobs", "revenue", "labour_cost", "material_cost", "other_cost", "gross_profit", "gross_margin",
    "overhead", "job_profit", "job_margin", "callback_cost", "profit_after_callbacks", "margin_after_callbacks",
    "profit_per_labour_hour", "actual_hours", "quoted_jobs", "quoted_hours", "hours_of_quoted_jobs",
    "labour_rate_variance", "labour_efficiency_variance", "material_price_variance", "material_usage_variance",
}  # fmt: skip


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("commands") / "book.duckdb"
    ingest_(file, Settings(), Delivery([SMALL], received=date(2026, 12, 31)))
    return file


def run(book: Path, *words: str) -> int:
    """The exit code of a command on this book."""
    try:
        main(["--book", str(book), *words])
    except SystemExit as end:
        return int(end.code or 0)
    return 0


def answer(capsys: pytest.CaptureFixture[str], book: Path, *words: str) -> dict:
    """The one JSON document a command prints."""
    assert run(book, *words, "--json") == 0
    return json.loads(capsys.readouterr().out)


def test_margins_prints_every_promised_key(book, capsys):
    result = answer(capsys, book, "margins")
    assert {"as_of", "overhead_set", "waiting_rows", "rows", "total"} <= set(result)
    assert result["as_of"] == "2026-04-01"
    for row in (*result["rows"], result["total"]):
        assert set(row) >= ROW


def test_jobs_prints_margins_rows_and_where_open_jobs_are_heading(book, capsys):
    rows = answer(capsys, book, "jobs")["rows"]
    assert {row["job_id"]: row["status"] for row in rows} == {"01": "completed", "02": "completed", "03": "open"}
    assert set(rows[0]) >= ROW
    assert {"cost_to_date", "expected_final_cost", "expected_profit", "heading_for_loss"} <= set(rows[2])
    assert [row["job_id"] for row in answer(capsys, book, "jobs", "--open")["rows"]] == ["03"]


def test_one_job_prints_its_openings_phases_callbacks_and_bridge(book, capsys):
    job = answer(capsys, book, "jobs", "02")
    assert set(job) >= ROW
    assert {"phase", "hours", "cost", "predicted_hours"} <= set(job["phases"][0])
    assert {"step", "amount"} == set(job["bridge"][0])
    assert [opening["opening_id"] for opening in job["openings"]] == ["02-A", "02-B"]
    assert [callback["callback_id"] for callback in job["callbacks"]] == ["CB3"]


def test_month_prints_sentences_with_their_numbers(book, capsys):
    told = answer(capsys, book, "month", "2026-01")
    assert {"month", "sentences", "jobs_that_explain_it"} <= set(told)
    assert all({"topic", "text", "numbers"} == set(sentence) for sentence in told["sentences"])


def test_every_figure_in_a_result_sentence_is_among_its_numbers(book, capsys):
    """Without settings 40 h take the median of the year, 35: 6,500 - 80 x 35 - 2,000 - 300 = 1,400, before overhead."""
    first = answer(capsys, book, "month", "2026-01")["sentences"][0]
    shown = {int(figure.replace(",", "")) for figure in re.findall(r"\$([\d,]+)", first["text"])}
    assert shown == {6500, 1400}
    assert {first["numbers"][name] for name in ("revenue", "job_profit")} == {6500.0, 1400.0}


@pytest.mark.parametrize("words", [("margins",), ("jobs",), ("jobs", "01"), ("month", "2026-01")])
def test_without_an_overhead_setting_every_text_says_so(book, capsys, words):
    assert run(book, *words) == 0
    assert "Overhead not set" in capsys.readouterr().out


def test_a_month_as_a_page_has_its_sentences_and_fetches_nothing(book, capsys, tmp_path):
    page = tmp_path / "new" / "january.html"
    assert run(book, "month", "2026-01", "--out", str(page)) == 0
    first = capsys.readouterr().out.splitlines()[0]
    text = page.read_text(encoding="utf-8")
    assert first in text
    assert "http://" not in text and "https://" not in text and "<script" not in text


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("margins", "--by", "moon"), 2, "it must be one of month, wall_type, crew"),
        (("margins", "--month", "2026-13"), 2, "it must be written as 2026-03"),
        (("margins", "--month", "2026-01", "--from", "2026-01-01"), 2, "give the month or the days"),
        (("margins", "--from", "2026-02-01", "--to", "2026-01-01"), 2, "the first must come first"),
        (("margins", "--as-of", "yesterday"), 2, "it must be a date"),
        (("jobs", "99"), 3, "there is no job '99'"),
        (("jobs", "01", "--open"), 2, "leave one of the two out"),
        (("month", "soon"), 2, "it must be written as 2026-03"),
        (("margins", "--after-reserve"), 4, "too few callbacks with a cost"),
    ],
)
def test_what_cannot_be_answered_is_refused_with_a_remedy_on_standard_error(book, capsys, words, code, said):
    assert run(book, *words) == code
    printed = capsys.readouterr()
    assert printed.out == ""
    assert said in printed.err


@pytest.mark.parametrize("command", ["margins", "jobs", "month"])
def test_without_a_book_each_command_says_how_to_make_one(tmp_path, capsys, command):
    assert run(tmp_path / "none.duckdb", command) == 4
    assert "ingest" in capsys.readouterr().err
    assert not (tmp_path / "none.duckdb").exists()


def test_margins_before_the_first_finished_job_are_refused_with_its_day(book, capsys):
    assert run(book, "margins", "--as-of", "1999-01-01") == 4
    told = capsys.readouterr()
    assert told.out == ""
    assert re.search(r"0 jobs finished by 1999-01-01, at least 1 is needed; the first was finished on \d{4}", told.err)
