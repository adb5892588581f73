"""`areaway quote` through the command line, every promise of its answer. The firm and its records are invented."""

import csv
import json
import math
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from pipeline.cli.main import main
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.quote import Asked, quote_
from pipeline.runs.quote_request import asked_opening
from pipeline.settings import load_settings
from tests.runs.quote_asked import ONE, SIZE

HEADINGS = "opening_id,job_id,wall type,opening_work,rough width,Rough height [ft],well_type,depth below grade,crew"
FILE = f"""{HEADINGS},started_on
A,J1,poured concrete,new_cut,4',4,steel,60,,
B,J1,concrete_block,enlarge,42,3.5,none,,Heron,2026-01-10
,,brick,replace,36,3,composite,50,,
"""


@pytest.fixture
def listed(tmp_path: Path) -> str:
    """Two openings of one job and one of no job, in a file."""
    (tmp_path / "openings.csv").write_text(FILE)
    return str(tmp_path / "openings.csv")


def test_the_phases_add_up_to_the_hours_and_none_is_negative(told, listed):
    """Sum of phase means = mean of the opening; phases that cannot be are absent."""
    for opening in told.answer("--opening", listed)["openings"]:
        phases = {line["phase"]: line for line in opening["phases"]}
        assert sum(line["mean"] for line in phases.values()) == pytest.approx(opening["labour_hours"]["mean"], rel=1e-9)
        assert all(0 <= line["p10"] < line["p90"] for line in phases.values())
    assert "wall_cutting" not in phases, "nothing is cut to replace a window"


def test_the_quantiles_are_in_order_everywhere(told, listed):
    """p05 < p10 < p50 < p90 < p95 for openings, jobs and the whole."""
    answer = told.answer("--opening", listed)
    for held in (*answer["openings"], *answer["jobs"], answer["total"]):
        found = held["labour_hours"]
        in_order = [found[name] for name in ("p05", "p10", "p50", "p90", "p95")]
        assert in_order == sorted(set(in_order))


def test_the_total_is_the_sum_of_its_openings(told, listed):
    """Mean hours, expected material cost and callback allowance add up over openings."""
    answer = told.answer("--opening", listed)
    openings, total = answer["openings"], answer["total"]
    assert total["labour_hours"]["mean"] == pytest.approx(sum(o["labour_hours"]["mean"] for o in openings))
    expected = sum(line["expected_cost"] or 0 for o in openings for line in o["materials"])
    assert total["material_cost"] == pytest.approx(expected)
    assert total["callback_allowance"] == pytest.approx(sum(o["callback"]["expected_cost"] for o in openings))


def test_the_parts_add_up_to_the_cost_and_the_price_follows_from_the_margin(told):
    """expected = labour + material + other + overhead + callbacks; price = expected / (1 − margin)."""
    total = told.answer(*ONE, "--margin", "0.4")["total"]
    names = ("labour_cost", "material_cost", "other_cost", "overhead", "callback_allowance")
    assert total["expected_cost"] == pytest.approx(sum(total[name] for name in names))
    assert total["price_at_margin"] == pytest.approx(total["expected_cost"] / 0.6)
    assert total["margin"] == 0.4


def test_without_a_margin_the_firm_target_holds(told):
    """target_margin of the settings: 0.35."""
    assert told.answer(*ONE)["total"]["margin"] == 0.35


def test_the_chance_of_a_loss_is_for_the_price_asked_about(told):
    """Certain at a dollar, nil at a hundred thousand, and falling between; without --price for the price at margin."""
    chances = [
        told.answer(*ONE, "--price", price)["total"]["chance_of_loss"] for price in ("1", "4500", "5000", "100000")
    ]
    assert chances[0] == 1 and chances[-1] == 0
    assert chances == sorted(chances, reverse=True)
    at_margin = told.answer(*ONE)["total"]
    again = told.answer(*ONE, "--price", repr(at_margin["price_at_margin"]))["total"]
    assert again["chance_of_loss"] == at_margin["chance_of_loss"]


def test_orders_are_whole_packs_and_cost_what_they_say(told, listed):
    """order ÷ pack is a whole number (gasket tape comes in rolls of 25 ft here); cost = order × unit cost."""
    answer = told.answer("--opening", listed)
    for line in (line for opening in answer["openings"] for line in opening["materials"]):
        if line["unit_cost"] is not None:
            assert line["cost"] == pytest.approx(line["order_quantity"] * line["unit_cost"])
        if line["item"] == "gasket_tape":
            assert line["order_quantity"] % 25 == 0


def test_a_job_pools_its_openings_before_it_rounds(told, listed):
    """One order per job: of gasket tape never more than the openings' own whole rolls together, never less than one."""
    answer = told.answer("--opening", listed)
    job = next(job for job in answer["jobs"] if job["job_id"] == "J1")
    pooled = next(line["order_quantity"] for line in job["order"] if line["item"] == "gasket_tape")
    single = [
        line["order_quantity"]
        for opening in answer["openings"] if opening["job_id"] == "J1"
        for line in opening["materials"] if line["item"] == "gasket_tape"
    ]  # fmt: skip
    assert 25 <= pooled <= sum(single)


def test_rows_of_one_job_are_one_job_and_a_row_without_is_its_own(told, listed):
    """Two jobs out of three rows; the range of the pair is wider than if their luck were independent."""
    answer = told.answer("--opening", listed)
    assert [opening["job_id"] for opening in answer["openings"]][:2] == ["J1", "J1"]
    assert len(answer["jobs"]) == 2 and answer["openings"][2]["opening_id"]
    together = answer["jobs"][0]["labour_hours"]
    spreads = [
        math.log(o["labour_hours"]["p90"] / o["labour_hours"]["p50"]) * o["labour_hours"]["mean"]
        for o in answer["openings"][:2]
    ]
    independent = math.hypot(*spreads) / together["mean"]
    assert math.log(together["p90"] / together["p50"]) > independent


def test_crew_and_start_in_the_file_win_over_the_options(told, listed):
    """Row B names its crew and a January start; the option reaches only the rows that do not."""
    plain = told.answer("--opening", listed)["openings"]
    asked = told.answer("--opening", listed, "--crew", "Otter", "--start", "2026-07-01")["openings"]
    assert "crew" in plain[0]["assumed"] and "crew" not in asked[0]["assumed"]
    assert asked[1]["labour_hours"] == plain[1]["labour_hours"]
    assert asked[0]["labour_hours"] != plain[0]["labour_hours"]


def test_winter_digging_takes_longer_than_summer_digging_or_as_long(told):
    """--start sets the season; winter was planted in the records of the invented firm."""
    winter, summer = (
        next(
            line["mean"]
            for line in told.answer(*ONE, "--start", day)["openings"][0]["phases"]
            if line["phase"] == "excavation"
        )
        for day in ("2026-01-15", "2026-07-15")
    )
    assert winter > summer


def test_work_outside_experience_has_hours_but_no_price(told):
    """Confidence outside_experience: hours shown, price and chance null, first line says so, exit 0."""
    words = [*ONE, "--rough_width_in", "390"]
    answer = told.answer(*words)
    assert answer["openings"][0]["confidence"] == "outside_experience"
    assert answer["openings"][0]["in_range"] is False and "rough_width_in" in answer["openings"][0]["out_of_range"]
    assert answer["openings"][0]["labour_hours"]["mean"] > 0
    assert answer["total"]["price_at_margin"] is None and answer["total"]["chance_of_loss"] is None
    assert told.text(*words)[0].lower().startswith("price this by hand")


def test_similar_openings_are_in_the_book_with_what_they_took(told, firm):
    """Ids of finished openings, nearest first, each with its hours."""
    from pipeline.store.book import open_book

    opening = told.answer(*ONE)["openings"][0]
    with open_book(firm[0]) as con:
        known = {name for (name,) in con.execute("select opening_id from openings").fetchall()}
    assert opening["similar"] and set(opening["similar"]) <= known
    assert all(one["hours"] > 0 for one in opening["similar_hours"])


def test_code_checks_say_pass_fail_or_cannot_tell(told):
    """20 × 41 in clear is 820 sq in: short of the 820.8 of R310.2.1 (2021) when the sill is 50 in deep."""
    given = ["--clear_width_in", "20", "--clear_height_in", "41", "--sill_below_grade_in", "50"]
    checks = {check["rule"]: check for check in told.answer(*ONE, *given)["openings"][0]["egress"]}
    assert checks["clear_area_ft2"]["result"] == "fail" and checks["clear_area_ft2"]["section"] == "R310.2.1"
    assert checks["clear_width_in"]["result"] == "pass"
    assert checks["sill_above_floor_in"]["result"] == "cannot_tell" and checks["sill_above_floor_in"]["value"] is None


def test_what_was_not_given_is_assumed_and_said(told):
    """Columns left out stand in `assumed` with the value that was put in for them."""
    needed = (
        ["--wall_type", "brick", "--opening_work", "new_cut", *SIZE[:4], "--well_type", "none"]
    )
    opening = told.answer(*needed)["openings"][0]
    assert {"soil", "dig_method", "wall_thickness_in", "crew"} <= set(opening["assumed"])
    assert opening["assumed_values"]["wall_thickness_in"] > 0


def test_a_saved_quote_is_in_the_book_whole(told, firm):
    """--save keeps the answer under its quote_id with its date, and its order list as the job's standard."""
    from pipeline.store.book import open_book

    answer = told.answer(*ONE, "--job_id", "next job", "--save")
    with open_book(firm[0]) as con:
        [(as_of, body)] = con.execute(
            "select as_of, body from saved_quotes where quote_id = ?", [answer["quote_id"]]
        ).fetchall()
        standard = con.execute(
            "select item, quantity::double from standard_quantities where basis = 'quote' and job_id = 'next job'"
        ).fetchall()
    kept = json.loads(body)
    assert kept["total"] == answer["total"] and str(as_of) == answer["as_of"]
    assert kept["models"]["labour"] == answer["models"]["labour"]
    assert sorted(standard) == sorted((line["item"], line["order_quantity"]) for line in answer["jobs"][0]["order"])


@pytest.mark.parametrize("ending", ["csv", "xlsx", "parquet"])
def test_a_list_of_openings_reads_alike_from_every_kind_of_file(told, tmp_path, ending):
    """The same two openings as text, as a workbook with a date cell, and as Parquet: the same answer."""
    rows = {
        "wall_type": ["brick", "stone"], "opening_work": ["enlarge", "new_cut"], "rough_width_in": [44.5, 40.0],
        "rough_height_in": [46.0, 40.0], "well_type": ["none", "steel"], "reinforced": [False, True],
    }  # fmt: skip
    file, frame = tmp_path / f"list.{ending}", pl.DataFrame(rows)
    if ending == "csv":
        frame.write_csv(file)
    elif ending == "parquet":
        frame.write_parquet(file)
    else:
        with xlsxwriter.Workbook(file) as book:
            sheet = book.add_worksheet("openings")
            for at, (name, cells) in enumerate(rows.items()):
                sheet.write_column(0, at, [name, *cells])
    openings = told.answer("--opening", str(file))["openings"]
    assert openings[0]["asked"] == {
        "wall_type": "brick", "opening_work": "enlarge", "rough_width_in": 44.5, "rough_height_in": 46.0,
        "well_type": "none", "reinforced": 0.0,
    }  # fmt: skip


def test_every_fault_of_a_file_is_told_with_its_line_and_column(told, tmp_path):
    """Exit 3 and one sentence per fault: file, line, column, value, rule."""
    file = tmp_path / "list.csv"
    file.write_text(
        "wall_type,opening_work,rough_width_in,rough_height_in,well_type\n"
        "brik,new_cut,48,40,steel\nbrick,new_cut,wide,40,steel\nbrick,enlarge,48,401,none\n"
    )
    code, fault = told.fault("--opening", str(file))
    assert code == 3
    sentences = fault.splitlines()
    assert sentences[0].startswith(f"{file} line 2: wall_type is 'brik'; it must be one of")
    assert sentences[1].startswith(f"{file} line 3: rough_width_in is 'wide'; it must be")
    assert sentences[2] == f"{file} line 4: rough_height_in is '401'; it must be more than 0 and at most 400"


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((), 2, "nothing to quote"),
        ((*ONE, "--margin", "1"), 2, "--margin is 1.0; it must be a fraction from 0 to below 1"),
        ((*ONE, "--margin", "nan"), 2, "--margin"),
        ((*ONE, "--price", "-5"), 2, "--price is -5.0; it must be an amount over 0"),
        ((*ONE, "--start", "soon"), 2, "--start is 'soon'; it must be a date"),
        ((*ONE, "--opening", "x.csv"), 2, "exclude one another"),
        (("--opening", "nowhere.csv"), 3, "nowhere.csv"),
        (("--wall_type", "brick"), 3, "rough_width_in is missing"),
        ((*ONE, "--rough_width_in", "4x"), 3, "rough_width_in is '4x'; it must be"),
        ((*ONE, "--existing_width_in", "50"), 3, "must not be smaller than existing_width_in"),
        ((*ONE, "--clear_height_in", "70"), 3, "cannot be larger than the hole, rough_height_in, 48"),
        ((*ONE, "--as-of", "1999-01-01"), 4, "no prediction as of 1999-01-01: 0 finished openings by that day"),
    ],
)
def test_a_wrong_question_gets_a_sentence_and_its_exit_code(told, words, code, said):
    """2 wrong usage, 3 unusable input; nothing on standard output."""
    left, fault = told.fault(*words)
    assert left == code and said in fault


def test_a_book_without_a_fit_says_how_many_openings_it_has(tmp_path, capsys):
    """Exit 4: how many there are, how many are needed, what to do."""
    with pytest.raises(SystemExit) as left:
        main(["--book", str(tmp_path / "none.duckdb"), "quote", *ONE])
    assert left.value.code == 4 and "there is no book" in capsys.readouterr().err


def test_no_money_is_lost_to_a_missing_overhead_unsaid(told, tmp_path):
    """Without overhead in the settings the cost holds 0 of it, and the text says so."""
    bare = tmp_path / "areaway.toml"
    bare.write_text("[firm]\nstandard_hourly_cost = 40\n")
    answer = told.answer(*ONE, settings=bare)
    assert answer["overhead_set"] is False and answer["total"]["overhead"] == 0
    code, out, _ = told.run(ONE, bare)
    assert code == 0 and "overhead not set" in out


def test_the_sheet_and_the_csv_are_written_and_text_in_them_is_harmless(told, tmp_path):
    """--out: one HTML page without scripts, hostile ids escaped; a CSV in which no cell starts a formula."""
    hostile = "=cmd|' /C calc'!A0<script>alert(1)</script>"
    told.answer(*ONE, "--opening_id", hostile, "--out", str(tmp_path / "out"))
    [page] = (tmp_path / "out").glob("*.html")
    [table] = (tmp_path / "out").glob("*.csv")
    assert "<script" not in page.read_text() and "&lt;script&gt;" in page.read_text()
    with table.open(newline="") as lines:
        cells = [cell for line in csv.reader(lines) for cell in line]
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "@", "\t", "\r")]
    assert "'" + hostile in cells


HEAVY = ("pandera", "polars", "plotly", "scipy", "pint", "pandas", "pydantic")
LOADED = """
import contextlib, io, sys
from pipeline.cli.main import main
with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
    main(sys.argv[1:])
print(*(name for name in sys.modules if "." not in name))
"""


def test_a_price_list_taken_in_after_the_fit_holds_for_the_next_quote(firm, tmp_path):
    """Anchors at $9.99 from 1 October 2026: no new fit is needed, and a price by the bag is no price of one."""
    book, settings = tmp_path / "firm.duckdb", load_settings(firm[1])
    shutil.copy(firm[0], book)
    new_list = tmp_path / "prices.csv"
    new_list.write_text("item,spec,effective_on,unit,unit_cost\nanchor,,2026-10-01,ea,9.99\nshim,,2026-10-01,bag,77\n")
    ingest_(book, settings, Delivery([new_list]))
    opening = asked_opening(dict(zip([word.removeprefix("--") for word in ONE[::2]], ONE[1::2], strict=True)), settings)
    answer = quote_(book, settings, Asked([opening]), as_of=date(2026, 10, 31))
    paid = {line["item"]: line["unit_cost"] for line in answer["openings"][0]["materials"]}
    assert paid["anchor"] == 9.99
    assert paid["shim"] != 77


def test_a_quote_imports_nothing_heavy(firm):
    """numpy, duckdb and typer only: no frames, charts, units, statistics or checker of values to answer one."""
    words = ["--book", str(firm[0]), "--settings", str(firm[1]), "quote", *ONE, "--json"]
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", LOADED, *words], cwd=root, capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert "pipeline" in loaded and "numpy" in loaded
    assert not loaded & set(HEAVY)


def test_a_crew_that_is_not_in_the_records_is_said(told):
    """A misspelt crew gets any crew's hours, and the text says so by name."""
    opening = told.answer(*ONE, "--crew", "Nobody")["openings"][0]
    assert opening["crew"] == "Nobody" and "crew" in opening["assumed"]
    said = " ".join(" ".join(told.text(*ONE, "--crew", "Nobody")).split())
    assert "No finished job is by crew Nobody: the range allows for any." in said
