"""A quote from a young book: what it refuses, what it leans on, and what it says is missing. Records are invented."""

import json
from pathlib import Path
from typing import Any

import pytest

from pipeline.cli.main import main

ONE = [
    "--wall_type", "brick", "--opening_work", "new_cut", "--rough_width_in", "40", "--rough_height_in", "40",
    "--well_type", "none",
]  # fmt: skip
SETTINGS = "[firm]\nstandard_hourly_cost = 40\n"
STARTER = SETTINGS + "[starter_rates]\nexcavation = 1.0\nsetup = 2.0\n"


@pytest.fixture
def areaway(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run commands on one book in a folder; gives exit code, output and errors."""

    def run(*words: str, settings: str = SETTINGS) -> tuple[int, str, str]:
        file = tmp_path / "areaway.toml"
        file.write_text(settings)
        with pytest.raises(SystemExit) as left:
            main(["--book", str(tmp_path / "firm.duckdb"), "--settings", str(file), *words])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return run


def take_in(areaway: Any, tmp_path: Path, jobs: int) -> None:
    """So many finished jobs of one opening, 20 hours each in one phase, with nothing bought and nothing called back."""
    lines = [f"J{n},2026-03-{1 + n % 28:02d},2026-04-0{1 + n % 9}" for n in range(jobs)] or ["J0,2026-03-01,"]
    (tmp_path / "jobs.csv").write_text(
        "\n".join(["job_id,started_on,completed_on,crew,contract_price", *(f"{line},Heron,5000" for line in lines)])
    )
    files = [str(tmp_path / "jobs.csv")]
    if jobs:
        (tmp_path / "openings.csv").write_text(
            "\n".join(
                ["opening_id,job_id,wall_type,opening_work,rough_width_in,rough_height_in,well_type"]
                + [f"O{n},J{n},brick,new_cut,{36 + n % 8},{40 + n % 5},none" for n in range(jobs)]
            )
        )
        (tmp_path / "labour.csv").write_text(
            "\n".join(
                ["job_id,worked_on,phase,hours"]
                + [
                    f"J{n},2026-03-{1 + n % 28:02d},{phase},{2 + n % 3}"
                    for n in range(jobs)
                    for phase in ("setup", "excavation")
                ]
            )
        )
        files += [str(tmp_path / "openings.csv"), str(tmp_path / "labour.csv")]
    assert areaway("ingest", *files)[0] == 0


def test_eleven_openings_are_too_few_and_the_sentence_says_how_many_are_needed(areaway, tmp_path):
    """Exit 4 without starter rates below 12 finished openings."""
    take_in(areaway, tmp_path, 11)
    areaway("fit")
    code, out, err = areaway("quote", *ONE)
    assert code == 4 and out == ""
    assert "11 finished openings" in err and "at least 12 are needed" in err


def test_twelve_openings_answer_once_they_are_learned_from(areaway, tmp_path):
    """Before `fit` the sentence says to run it; after it there is a quote that names what it leaves out."""
    take_in(areaway, tmp_path, 12)
    code, _, err = areaway("quote", *ONE)
    assert code == 4 and "12 finished openings" in err and "areaway fit" in err
    assert areaway("fit")[0] == 0
    code, out, _ = areaway("quote", *ONE, "--json")
    answer = json.loads(out)
    assert code == 0 and answer["learned_from"].items() >= {
        "jobs": 12, "openings": 12, "starter_rates": False, "material_jobs": None, "callback_visits": None,
    }.items()  # fmt: skip
    assert answer["left_out"] == ["materials", "permit, disposal and other costs", "callbacks"]
    assert answer["total"]["material_cost"] == 0


def buy(areaway: Any, tmp_path: Path, jobs: int) -> None:
    """Ten anchors for each of so many jobs."""
    lines = [f"J{n},anchor,{10 + 10 * (n % 2)},ea,2" for n in range(jobs)]
    (tmp_path / "materials.csv").write_text("\n".join(["job_id,item,quantity,unit,unit_cost", *lines]))
    assert areaway("ingest", str(tmp_path / "materials.csv"))[0] == 0


def call_back(areaway: Any, tmp_path: Path, visits: int) -> None:
    """A leak at each of so many openings."""
    lines = [f"C{n},O{n},2026-06-{1 + n:02d},leak" for n in range(visits)]
    (tmp_path / "callbacks.csv").write_text("\n".join(["callback_id,opening_id,reported_on,complaint", *lines]))
    assert areaway("ingest", str(tmp_path / "callbacks.csv"))[0] == 0


def fitted(areaway: Any) -> tuple[Any, dict[str, str]]:
    """The answer of fit, and the reason of each part that was not fitted."""
    answer = json.loads(areaway("fit", "--json")[1])
    return answer, {part["part"]: part["reason"] for part in answer["not_fitted"]}


def test_three_jobs_fit_nothing_and_each_part_says_what_it_needs(areaway, tmp_path):
    """Exit 4, nothing on standard output, and for hours, materials and callbacks how many there are and are needed."""
    take_in(areaway, tmp_path, 3)
    buy(areaway, tmp_path, 3)
    code, out, err = areaway("fit")
    assert code == 4 and out == ""
    for said in ("3 finished openings with labour", "3 finished jobs with purchases", "0 first visits under warranty"):
        assert said in err, said
    assert err.count("at least 12 are needed") == 2 and "at least 5 are needed" in err


@pytest.mark.parametrize(("jobs", "enough"), [(11, False), (12, True)])
def test_materials_need_twelve_jobs_with_purchases(areaway, tmp_path, jobs, enough):
    """One fewer: null, with how many there are and how many are needed. Counts are the house's own rule."""
    take_in(areaway, tmp_path, 14)
    buy(areaway, tmp_path, jobs)
    answer, reasons = fitted(areaway)
    assert (answer["materials"] is not None) is enough
    if not enough:
        assert "11 finished jobs with purchases in the book, at least 12 are needed" in reasons["materials"]


@pytest.mark.parametrize(("visits", "enough"), [(0, False), (4, False), (5, True)])
def test_callbacks_need_five_first_visits(areaway, tmp_path, visits, enough):
    """None and four are null with the reason; five give every opening one rate, and nothing to test it on."""
    take_in(areaway, tmp_path, 14)
    call_back(areaway, tmp_path, visits) if visits else None
    answer, reasons = fitted(areaway)
    assert (answer["callbacks"] is not None) is enough
    if enough:
        assert answer["callbacks"]["one_rate_for_all"] and answer["callbacks"]["c_index"] is None
    else:
        assert f"{visits} first visits under warranty at 14" in reasons["callbacks"]


def test_a_quote_says_what_it_rests_on(areaway, tmp_path):
    """Jobs and openings behind the hours, jobs behind the materials, visits behind the callbacks."""
    take_in(areaway, tmp_path, 14)
    buy(areaway, tmp_path, 13)
    call_back(areaway, tmp_path, 6)
    assert areaway("fit")[0] == 0
    out = areaway("quote", *ONE)[1]
    assert "hours on 14 finished jobs with 14 openings" in out
    assert "materials on the purchases of 13 jobs; callbacks on 6 first visits" in out


def test_what_every_opening_needs_but_no_job_bought_is_missing_from_the_price(areaway, tmp_path):
    """Anchors are all that was ever bought: a price without window, frame and gasket is no whole price."""
    take_in(areaway, tmp_path, 14)
    buy(areaway, tmp_path, 13)
    areaway("fit")
    missing = json.loads(areaway("quote", *ONE, "--json")[1])["left_out"]
    assert missing[:3] == ["window (never bought)", "frame (never bought)", "gasket tape (never bought)"]
    assert "permit, disposal and other costs" in missing


def test_a_part_that_can_no_longer_be_fitted_does_not_answer_from_an_earlier_fit(areaway, tmp_path):
    """Materials of 13 jobs fitted, the purchases withdrawn, fitted again: the quote has none and `info` lists none."""
    take_in(areaway, tmp_path, 14)
    buy(areaway, tmp_path, 13)
    areaway("fit")
    batch = json.loads(areaway("info", "--batches", "--json")[1])["batches"][-1]["batch_id"]
    assert areaway("withdraw", str(batch))[0] == 0
    areaway("fit")
    assert "materials" in json.loads(areaway("quote", *ONE, "--json")[1])["left_out"]
    assert "materials" not in {model["part"] for model in json.loads(areaway("info", "--json")[1])["models"]}


def test_a_price_without_materials_says_so_in_its_first_line(areaway, tmp_path):
    """Nobody should read a price that lacks its materials as a whole one."""
    take_in(areaway, tmp_path, 12)
    areaway("fit")
    code, out, _ = areaway("quote", *ONE)
    first = out.splitlines()[0]
    assert (code == 0 and "WITHOUT materials" in first) or first.startswith("Price this by hand")


def test_no_callback_on_record_is_not_a_chance_of_zero(areaway, tmp_path):
    """Chances are null and the allowance is said to be missing."""
    take_in(areaway, tmp_path, 12)
    areaway("fit")
    opening = json.loads(areaway("quote", *ONE, "--json")[1])["openings"][0]
    assert [opening["callback"][cause] for cause in ("leak", "fit", "drainage")] == [None, None, None]
    assert any("too few callbacks" in said for said in opening["assumed"])


@pytest.mark.parametrize("jobs", [0, 1])
def test_starter_rates_answer_from_no_job_on_and_are_named(areaway, tmp_path, jobs):
    """With [starter_rates] there is a quote at 0 finished jobs; it says what it leans on and is never sure."""
    take_in(areaway, tmp_path, jobs)
    assert areaway("fit", settings=STARTER)[0] == 0
    code, out, _ = areaway("quote", *ONE, "--json", settings=STARTER)
    answer = json.loads(out)
    assert code == 0 and answer["learned_from"].items() >= {
        "jobs": jobs, "openings": jobs, "starter_rates": True, "material_jobs": None, "callback_visits": None,
    }.items()  # fmt: skip
    assert answer["openings"][0]["confidence"] == "few_like_it"
    assert answer["total"]["labour_hours"]["p90"] > 3 * answer["total"]["labour_hours"]["p10"]
    assert "starter rates" in areaway("quote", *ONE, settings=STARTER)[1]


def test_without_any_cost_of_an_hour_there_is_no_quote(areaway, tmp_path):
    """Hours without cost and no standard in the settings: exit 4, naming the setting."""
    take_in(areaway, tmp_path, 12)
    areaway("fit")
    code, _, err = areaway("quote", *ONE, settings="")
    assert code == 4 and "standard_hourly_cost" in err
