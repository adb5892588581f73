"""The live form's script against the command: the same fitted parts, the same openings, the same answers.

The firm is the invented one of the sample scenario; the openings are drawn at random, a third of the optional
inputs left out.
"""

import json
import random
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from pipeline.intake.measures import measure
from pipeline.intake.numerals import Style, Unreadable
from pipeline.quote.build import build_quote
from pipeline.quote.request import QuoteParts
from pipeline.runs.quote import quote_parts
from pipeline.runs.quote_page import models_for_page
from pipeline.runs.quote_request import AskedOpening, quote_request
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book
from schemas.quote_words import assumed_sentences
from schemas.vocab import DIG_METHOD, DRAIN, OPENING_WORK, SOIL, WALL_TYPE, WELL_TYPE
from tests.pages.quote_page import page_with_scripts

pytestmark = pytest.mark.page

OPENINGS = 1000
RELATIVE = 1e-6
ONE_DRAW = 1 / 2048
SIZES = {
    "wall_thickness_in": (3, 26),
    "rough_width_in": (18, 90),
    "rough_height_in": (18, 84),
    "depth_below_grade_in": (0, 110),
    "well_width_in": (24, 100),
    "well_projection_in": (20, 60),
    "well_depth_in": (10, 90),
    "clear_width_in": (16, 60),
    "clear_height_in": (16, 60),
    "sill_above_floor_in": (20, 60),
    "sill_below_grade_in": (-20, 70),
}
NEEDED_SIZES = ("rough_width_in", "rough_height_in")
WORDS = {"soil": SOIL, "dig_method": DIG_METHOD, "drain": DRAIN}
NEEDED_WORDS = {"wall_type": WALL_TYPE, "opening_work": OPENING_WORK, "well_type": WELL_TYPE}
STARTS = ("2026-01-15", "2026-07-01", "2026-12-03", "2024-04-10")


@pytest.fixture(scope="module")
def fitted(firm: tuple[Path, Settings, Path]) -> tuple[dict[str, QuoteParts], dict[str, Any]]:
    """The fitted parts as the command reads them for each start, and as the page holds them."""
    book, settings, _ = firm
    with open_book(book) as con:
        on = newest_date(con)
        starts = {day: date.fromisoformat(day) if day else None for day in ("", *STARTS)}
        parts = {day: quote_parts(con, settings, on, start=start) for day, start in starts.items()}
        return parts, json.loads(json.dumps(models_for_page(con, settings, on), allow_nan=False))


def random_opening(luck: random.Random, crews: list[str]) -> dict[str, Any]:
    """One opening in the page's form; sizes to a quarter inch, now and then far outside what the firm has done."""

    def perhaps(value: Any, nothing: Any) -> Any:
        return nothing if luck.random() < 1 / 3 else value

    opening: dict[str, Any] = {name: luck.choice(list(words)) for name, words in NEEDED_WORDS.items()}
    opening |= {name: perhaps(luck.choice(list(words)), "") for name, words in WORDS.items()}
    drawn = {name: round(4 * luck.uniform(low, high)) / 4 for name, (low, high) in SIZES.items()}
    opening |= {name: size if name in NEEDED_SIZES else perhaps(size, None) for name, size in drawn.items()}
    for side in ("width", "height"):
        old = round(luck.uniform(0, opening[f"rough_{side}_in"]))
        opening[f"existing_{side}_in"] = perhaps(old, None)
    start = perhaps(luck.choice(STARTS), "")
    return opening | {
        "reinforced": luck.choice([True, False, None]),
        "window_spec": perhaps("no such model", ""),
        "well_spec": "",
        "start": start,
        "crew": luck.choice([*crews, "", "a crew nobody knows"]),
        "month": int(start[5:7]) if start else 0,
    }


def by_command(parts_on: dict[str, QuoteParts], opening: dict[str, Any], price: float | None) -> Any:
    """What `areaway quote` answers."""
    names = {name for name in opening if name not in ("start", "month", "crew")}
    values = {name: opening[name] if opening[name] != "" else None for name in names}
    start = date.fromisoformat(opening["start"]) if opening["start"] else None
    asked = AskedOpening(values, crew=opening["crew"], start=start)
    request = quote_request([asked], crew="", start=None, margin=0.35, price=price)
    return build_quote(parts_on[opening["start"]], request)


@pytest.fixture(scope="module")
def answers(
    browser: Browser, fitted: Any, tmp_path_factory: pytest.TempPathFactory
) -> list[tuple[dict[str, Any], Any, Any]]:
    """Each opening with the command's answer and the script's."""
    parts, models = fitted
    luck = random.Random(20261030)
    openings = [random_opening(luck, crews_of(models)) for _ in range(OPENINGS)]
    prices = [None if at % 2 else 3000.0 + 5 * at for at in range(OPENINGS)]
    with page_with_scripts(browser, tmp_path_factory.mktemp("page"), models) as page:
        scripted = page.evaluate(SCRIPT, [openings, prices])
    commanded = [by_command(parts, opening, price) for opening, price in zip(openings, prices, strict=True)]
    return list(zip(openings, commanded, scripted, strict=True))


SCRIPT = """([openings, prices]) => {
    const models = JSON.parse(document.getElementById("models").textContent);
    return openings.map((opening, at) => ({
        ...areawayOffer.offer(models, opening, { margin: 0.35, price: prices[at] }),
        egress: areawayChecks.egressChecks(models.egress, opening),
        cautions: areawayChecks.cautionsFor(models, opening),
        remarks: areawayChecks.remarksOn(models, opening),
    }));
}"""


TAPE = (
    *(
        "48",
        "48,5",
        "1,200",
        "1.250,5",
        ".5",
        "+5",
        "5.",
        "54.5.5",
        "0x10",
        "wide",
        "4'",
        "4'6",
        "4ft6in",
        "4 6",
        "4-6",
        "53⅝",
        "⅛",
        '48⅜"',
        "4' 6⅞\"",
        "53 5⁄8",
        "1.2 metres",
        "120 millimeters",
        "122 centimetres",
    ),
    *("1/2", "7/8", "1/0", "½", "54½", "54 1/2", "54-1/2", "48 1/2 1/2", "138cm", "1380 mm.", "1.38 m", "5km", "2 yd"),
    *("4' 6 1/2\"", "4'-6\"", "4' 6-1/2\"", "4' ½\"", "4' 14\"", "4'--6", "4 ft", "4 ft.", "4 feet 6 inches", "48''"),
    *("4.5 ft 3 in", "54 in.", "-3", "−4' 6\"", "<b>"),
)


def test_a_size_is_read_off_the_tape_as_the_command_reads_it(browser, fitted, tmp_path):
    """Feet, fractions, metric, thousands and nonsense: the same inches, or unreadable to both."""
    with page_with_scripts(browser, tmp_path, {}) as page:
        scripted = page.evaluate("texts => texts.map((text) => String(areawayQuote.inches(text)))", list(TAPE))
    for text, read in zip(TAPE, scripted, strict=True):
        try:
            inches = measure(text, "length", Style())
        except Unreadable:
            assert read in ("NaN", "Infinity"), text
        else:
            assert float(read) == pytest.approx(inches, rel=1e-12), text


def crews_of(models: dict[str, Any]) -> list[str]:
    return [column["level"] for column in models["labour"]["total"]["columns"] if column["word"] == "crew"]


def close(value: Any) -> Any:
    return pytest.approx(value, rel=RELATIVE, abs=1e-9)


def test_hours_and_their_ranges_are_the_same(answers):
    """Mean and quantiles, phase by phase, 1e-6 relative."""
    for _, commanded, scripted in answers:
        opening = commanded["openings"][0]
        for name, value in opening["labour_hours"].items():
            assert scripted["hours"][name] == close(value)
        phases = {line["phase"]: line for line in scripted["hours"]["phases"]}
        assert set(phases) == {line["phase"] for line in opening["phases"]}
        for line in opening["phases"]:
            assert [phases[line["phase"]][name] for name in ("mean", "p10", "p90")] == close(
                [line["mean"], line["p10"], line["p90"]]
            )


def test_the_make_up_of_each_phase_reads_the_same(answers):
    """Rate, quantity and adjustments as one line of text."""
    for _, commanded, scripted in answers[:100]:
        said = {line["phase"]: line["why"] for line in scripted["hours"]["phases"] if line["why"]}
        assert said == {
            line["phase"]: line["explained"]["text"].split(" = ", 1)[1]
            for line in commanded["openings"][0]["phases"]
            if line["explained"]
        }


def test_every_material_is_ordered_and_priced_the_same(answers):
    """Whole packs equal; price, cost and expected cost 1e-6 relative."""
    for _, commanded, scripted in answers:
        rows = commanded["openings"][0]["materials"]
        assert [line["item"] for line in scripted["materials"]] == [row["item"] for row in rows]
        for line, row in zip(scripted["materials"], rows, strict=True):
            assert line["order"] == row["order_quantity"], row["item"]
            assert [line["price"], line["cost"], line["expected"]] == close(
                [row["unit_cost"], row["cost"], row["expected_cost"]]
            )


def test_cost_and_price_are_the_same(answers):
    """Every part of the total, 1e-6 relative; the price is null on both sides or on neither."""
    names = (
        "labour_cost",
        "material_cost",
        "other_cost",
        "overhead",
        "callback_allowance",
        "expected_cost",
        "cost_p80",
        "price_at_margin",
        "price",
    )
    for _, commanded, scripted in answers:
        for name in names:
            assert scripted[name] == (None if commanded["total"][name] is None else close(commanded["total"][name])), (
                name
            )
        assert scripted["crew_days"] == close(commanded["total"]["crew_days"])


def test_the_chance_of_a_loss_is_the_same_within_one_draw(answers):
    """At most 1 / 2,048 apart; some of the prices are low enough for the chance to be neither 0 nor 1."""
    chances = [(commanded["total"]["chance_of_loss"], scripted["chance_of_loss"]) for _, commanded, scripted in answers]
    assert all((one is None) == (other is None) for one, other in chances)
    both = [(one, other) for one, other in chances if one is not None]
    assert max(abs(one - other) for one, other in both) <= ONE_DRAW + 1e-12
    assert sum(0.02 < one < 0.98 for one, _ in both) > 50


def test_what_is_known_of_the_estimate_is_the_same(answers):
    """Confidence, what was assumed, what is outside the records, chances of a callback."""
    for _, commanded, scripted in answers:
        opening = commanded["openings"][0]
        assert scripted["hours"]["confidence"] == opening["confidence"]
        assert scripted["hours"]["out_of_range"] == opening["out_of_range"]
        assert scripted["assumed"] == opening["assumed"]
        assert scripted["assumed_said"] == assumed_sentences(
            opening["assumed"], opening["assumed_values"], opening["crew"]
        )
        alike = [(one["opening_id"], one["hours"], one["told"]) for one in scripted["similar"]]
        assert alike == [(one["opening_id"], one["hours"], one["told"]) for one in opening["similar_hours"]]
        assert scripted["left_out"] == commanded["left_out"]
        assert [scripted["chances"][cause] for cause in ("leak", "fit", "drainage")] == close(
            [opening["callback"][cause] for cause in ("leak", "fit", "drainage")]
        )


def test_code_checks_and_cautions_are_the_same(answers):
    """Every rule with its value, limit, result, section and note; every caution with its authority."""
    for opening, commanded, scripted in answers:
        quoted = commanded["openings"][0]
        assert scripted["cautions"] == quoted["cautions"], opening
        assert scripted["remarks"] == quoted["remarks"], opening
        for check, row in zip(scripted["egress"], quoted["egress"], strict=True):
            assert {**check, "value": None} == {**row, "value": None}, opening
            assert check["value"] == (None if row["value"] is None else close(row["value"]))


def test_the_openings_drawn_reach_every_answer(answers):
    """The comparison is worth something only if all three verdicts, most remarks and many shapes occur."""
    remarked = {remark[:12] for _, commanded, _ in answers for remark in commanded["openings"][0]["remarks"]}
    assert len(remarked) >= 6
    seen = {commanded["openings"][0]["confidence"] for _, commanded, _ in answers}
    assert seen == {"ok", "few_like_it", "outside_experience"}
