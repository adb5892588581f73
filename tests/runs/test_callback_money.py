"""reserve, crews and callbacks through the command line: promised shapes, sums that agree, faults in one sentence."""

import json
from datetime import date
from pathlib import Path

import pytest

from pipeline.cli.main import main
from pipeline.runs.callbacks import callbacks_
from pipeline.runs.case_file import case_of_callback, case_of_opening
from pipeline.runs.checks import checks_
from pipeline.runs.crews import crews_
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.reserve import reserve_
from pipeline.settings import Settings, load_settings
from tests.runs.fitted_book import sample_book

JOBS = """job_id,crew,started_on,completed_on,contract_price,weather_station,warranty_months
J1,North,2023-03-01,2023-03-03,5000,S1,24
J2,South,2023-04-03,2023-04-05,5000,S1,12
J3,North,2024-02-01,,5000,S1,24
"""
OPENINGS = """opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type
O1,J1,brick,new_cut,40,48,steel
O2,J2,stone,new_cut,40,48,steel
O3,J3,brick,new_cut,40,48,steel
"""
CALLBACKS = """callback_id,opening_id,reported_on,complaint,cause_found,work_done,fixed,closed_on,\
labour_cost,material_cost,recovered
C1,O1,2023-06-01,leak,gasket torn,resealed,yes,2023-06-09,150,50,20
C2,O1,2023-06-08,leak,,,,,100,10,
C3,O2,2023-09-01,fit,customer slammed it,eased,yes,2023-09-05,80,,
C4,O2,2024-01-10,leak,gasket gap,resealed,no,2024-01-20,210,30,
C5,O1,2024-02-20,drainage,,,,,,,
C6,O2,2024-03-01,leak,high spots,reset,yes,2024-03-04,300,,
"""
WEATHER = """station_id,observed_on,temp_min_f,temp_max_f,precipitation_in
S1,2023-05-30,50,70,0
S1,2023-05-31,50,70,0.9
S1,2023-06-01,48,66,1.4
"""
LABOUR = """job_id,opening_id,worked_on,phase,hours,hourly_cost
J1,O1,2023-03-02,frame_setting,1.5,40
J2,O2,2023-04-04,frame_setting,1.5,40
"""
FILES = {"jobs": JOBS, "openings": OPENINGS, "callbacks": CALLBACKS, "weather": WEATHER, "labour": LABOUR}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("small")
    for kind, text in FILES.items():
        (folder / f"{kind}.csv").write_text(text)
    book = folder / "small.duckdb"
    ingest_(book, Settings(), Delivery([folder / f"{kind}.csv" for kind in FILES]))
    return book


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Settings]:
    book, settings = sample_book(tmp_path_factory.mktemp("sample"), jobs=160)
    return book, load_settings(settings)


def answer(capsys, book, *options):
    """What a command that succeeds prints."""
    with pytest.raises(SystemExit) as stop:
        main(["--book", str(book), *options])
    assert stop.value.code == 0
    return capsys.readouterr().out


def test_the_list_says_what_counts_what_it_cost_and_how_long_it_waits(small):
    """C2 repeats C1 within 14 days; C3 is the customer's; C5 is open and not costed: 10 days on 1 March 2024."""
    rows = {row["callback_id"]: row for row in callbacks_(small, Settings())["rows"]}
    shown = {name: (row["counts"], row["why_not"], row["cost"], row["days_open"]) for name, row in rows.items()}
    assert shown == {
        "C1": (True, None, 180.0, None),
        "C2": (False, "duplicate", 0.0, None),
        "C3": (False, "not ours to pay", 80.0, None),
        "C4": (True, None, 240.0, None),
        "C5": (True, None, None, 10),
        "C6": (True, None, 300.0, None),
    }


def test_open_ones_alone(small):
    assert [row["callback_id"] for row in callbacks_(small, Settings(), only_open=True)["rows"]] == ["C5"]


def test_reports_after_the_date_asked_for_are_left_out(small):
    rows = callbacks_(small, Settings(), as_of=date(2023, 7, 1))["rows"]
    assert sorted(row["callback_id"] for row in rows) == ["C1", "C2"]


def test_a_case_file_holds_the_days_the_rain_and_the_money(small):
    """Set on 2 March, rain of 1.4 in on the day of the call; 200 spent, 20 got back."""
    case = case_of_callback(small, Settings(), "C1")
    assert case["cost"]["net_cost"] == 180.0
    assert [(str(row["date"]), row["what"], row["precipitation_in"]) for row in case["weather"]][:4] == [
        ("2023-03-02", "setting day", None),
        ("2023-05-30", "before the call", 0.0),
        ("2023-05-31", "before the call", 0.9),
        ("2023-06-01", "day of the call", 1.4),
    ]
    events = [entry["event"] for entry in case["timeline"]]
    assert events.index("frame setting: 1.5 h") < events.index("callback C1: leak reported")
    assert {row["callback_id"] for row in case["similar"]} == {"C4", "C6"}
    assert sum(row["share"] for row in case["likely_causes"]) == pytest.approx(1)


def test_a_duplicate_s_case_file_shows_the_visit_s_cost(small):
    """C2 is the same visit as C1, whose record is the dearer."""
    assert case_of_callback(small, Settings(), "C2")["cost"]["net_cost"] == 180.0


def test_a_duplicate_marked_at_another_opening_shows_the_visit_where_it_stands(tmp_path, capsys):
    """D2 at O2 is marked as a repeat of D1 at O1, which cost 150 + 50 - 20: asked for by either name, $180 at O1."""
    head, first = CALLBACKS.splitlines()[0].replace("\\", ""), "D1,O1,2023-06-01,leak,gasket torn,resealed,yes,"
    text = f"{head},duplicate_of\n{first}2023-06-09,150,50,20,\nD2,O2,2023-07-01,leak,,,,,100,10,,D1\n"
    for kind, records in (FILES | {"callbacks": text}).items():
        (tmp_path / f"{kind}.csv").write_text(records)
    book = tmp_path / "crossed.duckdb"
    answer(capsys, book, "ingest", *(str(tmp_path / f"{kind}.csv") for kind in FILES))
    for asked in (["D2"], ["--opening", "O2"]):
        case = json.loads(answer(capsys, book, "callbacks", *asked, "--json"))
        assert (case["callback"]["callback_id"], case["cost"]["net_cost"]) == ("D2", 180.0)
        assert "Cost: $180, on the visit at opening O1" in answer(capsys, book, "callbacks", *asked)
    doubts = json.loads(answer(capsys, book, "info", "--warnings", "--json"))["warnings"]
    assert [(doubt["column"], doubt["row"], doubt["value"]) for doubt in doubts if doubt["row"]] == [
        ("duplicate_of", 3, "D1")
    ]


def test_an_opening_without_callbacks_has_a_case_file_too(small):
    case = case_of_opening(small, Settings(), "O3")
    assert case["callback"] is None
    assert case["cost"]["net_cost"] is None
    assert sum(row["share"] for row in case["likely_causes"]) == pytest.approx(1)


def test_a_case_file_knows_no_completion_after_its_date(small):
    """J2 was completed on 5 April 2023: on the 4th its warranty had not begun."""
    from datetime import date

    case = case_of_opening(small, Settings(), "O2", as_of=date(2023, 4, 4))
    assert (case["opening"]["completed_on"], case["opening"]["warranty_ends_on"]) == (None, None)
    assert [entry["event"] for entry in case["timeline"]] == ["job started by crew South", "frame setting: 1.5 h"]


def test_a_case_file_shows_readings_only_and_no_column_of_our_own(sample):
    """The book's own columns begin with an underscore; none of them is a fact about an opening."""
    book, settings = sample
    with_card = next(row["opening_id"] for row in checks_(book, settings)["rows"])
    case = case_of_opening(book, settings, with_card)
    assert "substrate_temp_f" in case["checks"][0]
    assert not [name for part in (case["opening"], *case["checks"]) for name in part if name.startswith("_")]


def test_the_page_to_print_is_written_where_it_was_asked_for(small, tmp_path, capsys):
    said = answer(capsys, small, "callbacks", "C1", "--out", str(tmp_path / "new"))
    page = tmp_path / "new" / "case-C1.html"
    assert str(page) in said
    assert "gasket torn" in page.read_text()


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["callbacks", "C9"], 3, "no callback 'C9'"),
        (["callbacks", "--opening", "O9"], 3, "no opening 'O9'"),
        (["callbacks", "C1", "--opening", "O1"], 2, "not both"),
        (["callbacks", "C1", "--open"], 2, "--open"),
        (["callbacks", "--out", "x"], 2, "--out"),
        (["crews", "--as-of", "soon"], 2, "--as-of"),
        (["reserve", "--as-of", "2023-07-01"], 4, "at least 3 are needed"),
    ],
)
def test_a_fault_is_one_sentence_with_its_exit_code(small, capsys, options, code, words):
    with pytest.raises(SystemExit) as stop:
        main(["--book", str(small), *options])
    said = capsys.readouterr()
    assert (stop.value.code, said.out) == (code, "")
    assert words in said.err


def test_a_small_reserve_says_it_is_an_order_of_magnitude(small, capsys):
    assert "too few for more than an order of magnitude" in answer(capsys, small, "reserve")


def test_reserve_months_complaints_and_closing_agree(sample):
    book, settings = sample
    found = reserve_(book, settings)
    total = found["expected_cost"]
    assert sum(row["expected_cost"] for row in found["by_month"]) == pytest.approx(total)
    assert sum(row["expected_cost"] for row in found["by_complaint"]) == pytest.approx(total)
    assert sum(row["expected_callbacks"] for row in found["by_month"]) == pytest.approx(found["expected_callbacks"])
    assert found["roll_forward"][-1]["closing"] == pytest.approx(total)
    march = next(line for line in found["roll_forward"] if line["month"].endswith("-03"))
    then = reserve_(book, settings, as_of=date(int(march["month"][:4]), 3, 31))
    assert then["expected_cost"] == pytest.approx(march["closing"], abs=0.005)
    assert found["low_95"] < found["low_80"] < total < found["high_80"] < found["high_95"]


def test_reserve_json_has_the_promised_keys(sample, capsys):
    book, _ = sample
    document = json.loads(answer(capsys, book, "reserve", "--json"))
    assert set(document) >= {
        "as_of", "openings_under_warranty", "expected_callbacks", "expected_cost", "low_80", "high_80",
        "low_95", "high_95", "reported_not_costed", "by_month", "roll_forward",
    }  # fmt: skip
    assert set(document["reported_not_costed"]) == {"callbacks", "expected_cost"}
    assert set(document["roll_forward"][0]) >= {"month", "opening", "accrued", "spent", "change_in_estimate", "closing"}


def test_crews_json_has_the_promised_keys(sample, capsys):
    book, settings = sample
    rows = json.loads(answer(capsys, book, "crews", "--json"))["rows"]
    assert set(rows[0]) == {
        "crew", "openings", "callbacks", "expected", "ratio", "low", "high", "shrunk_ratio", "level", "outside_limits",
        "chance_alone", "chance_any",
    }  # fmt: skip
    assert [row["crew"] for row in rows] == sorted(row["crew"] for row in crews_(book, settings)["rows"])


def test_case_file_json_has_the_promised_keys(sample, capsys):
    book, settings = sample
    first = callbacks_(book, settings)["rows"][0]["callback_id"]
    document = json.loads(answer(capsys, book, "callbacks", first, "--json"))
    assert set(document) == {
        "callback", "opening", "checks", "weather", "patterns_present", "likely_causes", "similar", "cost", "timeline",
    }  # fmt: skip
