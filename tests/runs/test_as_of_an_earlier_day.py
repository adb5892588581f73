"""What was known on an earlier day: open callbacks, the reserve and its roll-forward agree, whenever they are asked."""

import csv
import datetime as dt
import random
from pathlib import Path

import pytest

from pipeline.callbacks.reserve import fitted_model
from pipeline.callbacks.roll_forward import cost_to_come
from pipeline.runs.callbacks import callbacks_
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.reserve import read_history, reserve_
from pipeline.settings import Settings
from pipeline.store.book import open_book
from schemas.results_warranty import CallbackRow, Reserve

COMPLAINTS = ("leak", "fit", "drainage", "finish")
START, DAYS = dt.date(2023, 1, 9), 1100
CENT = 0.005
SETTINGS = Settings()


@pytest.fixture(scope="module", params=[1, 2])
def firm(request, tmp_path_factory) -> tuple[Path, Reserve, list[CallbackRow]]:
    """A firm drawn at random, its reserve and its callbacks as they are known now."""
    book = drawn_book(tmp_path_factory.mktemp("firm"), random.Random(request.param))
    return book, reserve_(book, SETTINGS), callbacks_(book, SETTINGS)["rows"]


def drawn_book(folder: Path, draw: random.Random) -> Path:
    """Jobs of one opening, and callbacks as offices keep them: visited and closed late, doubled, undated."""
    jobs, openings = [], []
    for number in range(240):
        done = START + dt.timedelta(draw.randrange(DAYS))
        months = draw.choice(("", 12, 36))
        jobs.append(
            {"job_id": f"J{number}", "crew": "A", "started_on": done, "completed_on": done, "contract_price": 5000}
            | {"warranty_months": months}
        )
        openings.append(
            {"opening_id": f"O{number}", "job_id": f"J{number}", "wall_type": "brick", "opening_work": "new_cut"}
            | {"rough_width_in": 40, "rough_height_in": 48, "well_type": "steel"}
        )
    calls = [call for number in range(110) if (call := drawn_call(number, draw, jobs))]
    for kind, found in {"jobs": jobs, "openings": openings, "callbacks": calls}.items():
        with (folder / f"{kind}.csv").open("w", newline="") as file:
            sheet = csv.DictWriter(file, list(found[0]))
            sheet.writeheader()
            sheet.writerows(found)
    book = folder / "drawn.duckdb"
    ingest_(book, Settings(), Delivery([folder / f"{kind}.csv" for kind in ("jobs", "openings", "callbacks")]))
    return book


def drawn_call(number: int, draw: random.Random, jobs: list[dict[str, object]]) -> dict[str, object] | None:
    """One report, or none where its day would lie after the last one."""
    at = draw.randrange(len(jobs))
    done = jobs[at]["completed_on"]
    assert isinstance(done, dt.date)
    reported = done + dt.timedelta(-5 if number % 12 == 0 else draw.randrange(0, 800))
    if reported > START + dt.timedelta(DAYS):
        return None
    visited = reported + dt.timedelta(draw.randrange(0, 60))
    closed = visited + dt.timedelta(draw.randrange(0, 90))
    costed = draw.random() < 0.85
    return {
        "callback_id": f"C{number:03d}",
        "opening_id": f"O{at}",
        "reported_on": reported,
        "complaint": draw.choice(COMPLAINTS),
        "cause_found": draw.choice(("seal torn", "", "tenant did it")) if costed else "",
        "visited_on": draw.choice((visited, "")),
        "fixed": draw.choice(("yes", "")) if costed else "",
        "closed_on": draw.choice((closed, "")) if costed else "",
        "labour_cost": round(draw.uniform(40, 400), 2) if costed else "",
        "recovered": draw.choice(("", "", 55.5)) if costed else "",
        "warranty": draw.choice(("", "", "", "yes")),
    }


def last_day(month: str) -> dt.date:
    return (dt.date.fromisoformat(f"{month}-01") + dt.timedelta(days=32)).replace(day=1) - dt.timedelta(days=1)


def test_a_closing_is_what_reserve_says_of_the_last_day_of_the_month(firm):
    """To the cent, every month; for one of them the whole command, which ends its roll-forward with it."""
    book, reserve, _ = firm
    lines = reserve["roll_forward"]
    assert len(lines) == 12
    with open_book(book) as con:
        for line in lines[:-1]:
            day = last_day(line["month"])
            then = read_history(con, SETTINGS, day)
            assert line["closing"] == pytest.approx(cost_to_come(then, fitted_model(then)), abs=CENT)
    asked = reserve_(book, SETTINGS, as_of=last_day(lines[5]["month"]))
    assert asked["roll_forward"][-1]["closing"] == pytest.approx(lines[5]["closing"], abs=CENT)


def test_what_was_spent_is_the_cost_of_the_callbacks_reported_in_the_month(firm):
    """As `callbacks` lists them now: those that count, inside their warranty, with a cost."""
    _, reserve, listed = firm
    for line in reserve["roll_forward"]:
        mine = [row for row in listed if row["counts"] and row["in_warranty"]]
        costs = [row["cost"] for row in mine if f"{row['reported_on']:%Y-%m}" == line["month"]]
        paid = sum(cost for cost in costs if cost is not None)
        assert line["spent"] - line["spent_not_costed"] == pytest.approx(paid, abs=CENT)
        assert (line["spent_not_costed"] > 0) == (None in costs)


def test_a_callback_before_completion_has_a_cost_and_is_no_event(firm):
    """The drawn firms have some, five days before."""
    early = [row for row in firm[2] if row["before_completion"]]
    assert early
    assert not any(row["in_warranty"] for row in early)
    assert any(row["cost"] for row in early)


def test_a_callback_closed_later_is_open_on_the_day_before(firm):
    """On the day before a closing it waits, without cost and finding; today it is closed, whatever the date."""
    book, _, listed = firm
    now = {row["callback_id"]: row for row in listed}
    newest = max(row["closed_on"] for row in now.values() if row["closed_on"])
    assert all(row["days_open"] is None for row in now.values() if row["closed_on"])
    day = min(newest - dt.timedelta(days=40), START + dt.timedelta(DAYS - 60))
    then = {row["callback_id"]: row for row in callbacks_(book, SETTINGS, as_of=day)["rows"]}
    later = [name for name in then if now[name]["closed_on"] and now[name]["closed_on"] > day]
    assert later
    for name in later:
        told = then[name]
        assert (told["closed_on"], told["fixed"], told["cause_found"], told["work_done"]) == (None,) * 4
        assert told["cost"] in (None, 0.0)
        assert told["days_open"] is not None or told["why_not"] == "duplicate"
