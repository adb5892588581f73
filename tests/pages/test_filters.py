"""Totals in the page for a choice of jobs, against the command and against plain sums of the rows."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from playwright.sync_api import Browser, Page

from pipeline.runs.margins import Cut, margins_
from pipeline.settings import Settings
from tests.pages.browser import show, window, write_pages
from tests.pages.sample import job_rows, parts

pytestmark = pytest.mark.page

MEASURES = (
    "jobs",
    "revenue",
    "labour_cost",
    "material_cost",
    "other_cost",
    "gross_profit",
    "gross_margin",
    "overhead",
    "job_profit",
    "callback_cost",
    "profit_after_callbacks",
    "margin_after_callbacks",
    "actual_hours",
    "profit_per_labour_hour",
)
ROUNDED_TO_THE_CENT = (
    0.0101  # the command rounds to the cent so that rows add up to their total; the page does not round
)


@pytest.fixture(scope="module")
def owner_page(browser: Browser) -> Iterator[Page]:
    """A window for the owner's page."""
    with window(browser) as (page, watch):
        yield page
        assert watch.errors == []


def totals(page: Page) -> dict[str, float]:
    """The figures the page shows, unrounded."""
    shown = page.eval_on_selector_all(
        "[data-measure]", "all => all.map((one) => [one.dataset.measure, one.dataset.value])"
    )
    return {name: float(value) for name, value in shown if value != ""}


@pytest.mark.parametrize("by", ["wall_type", "crew", "branch"])
def test_every_group_has_the_totals_of_the_command(
    firm: tuple[Path, Settings, Path], owner_page: Page, by: str
) -> None:
    """Choosing a wall, crew or branch gives what `margins --by` gives, to the cent it rounds to."""
    book, settings, folder = firm
    show(owner_page, folder / "owner.html")
    rows: list[dict[str, Any]] = [dict(row) for row in margins_(book, settings, Cut(by))["rows"]]
    assert len(rows) >= 2
    for row in rows:
        owner_page.select_option(f"#filter-{by}", str(row["group"]))
        found = totals(owner_page)
        for name in MEASURES:
            assert found[name] == pytest.approx(float(row[name]), abs=ROUNDED_TO_THE_CENT), (row["group"], name)


def test_nothing_chosen_is_the_total_of_the_command(firm: tuple[Path, Settings, Path], owner_page: Page) -> None:
    """All jobs: the total row of `margins`."""
    book, settings, folder = firm
    show(owner_page, folder / "owner.html")
    found, total = totals(owner_page), dict(margins_(book, settings)["total"])
    for name in MEASURES:
        assert found[name] == pytest.approx(float(total[name]), abs=ROUNDED_TO_THE_CENT), name  # type: ignore[arg-type]


def test_a_choice_stays_in_the_address(tmp_path: Path, owner_page: Page) -> None:
    """Branch north, crew Alder, 2025 only: the address holds it, a fresh window shows the same, reset clears it."""
    folder = write_pages(parts(), tmp_path)
    chosen = job_rows().filter(
        (pl.col("branch") == "north") & (pl.col("crew") == "Crew Alder") & (pl.col("completed_on").dt.year() == 2025)
    )
    show(owner_page, folder / "owner.html")
    for name, value in (("branch", "north"), ("crew", "Crew Alder"), ("from", "2025-01"), ("to", "2025-12")):
        owner_page.select_option(f"#filter-{name}", value)
    address = owner_page.evaluate("location.search")
    owner_page.goto("about:blank")
    show(owner_page, folder / "owner.html", query=address)
    found = totals(owner_page)
    assert found["jobs"] == chosen.height > 0
    assert found["revenue"] == pytest.approx(chosen["revenue"].sum())
    listed = owner_page.eval_on_selector_all(
        "#jobs tbody tr", "all => all.filter((row) => !row.hidden).map((row) => row.cells[0].textContent)"
    )
    assert sorted(listed) == sorted(chosen["job_id"].to_list())
    whole = owner_page.locator("#jobs tbody tr").count()
    said = owner_page.locator("#jobs .counted").inner_text()
    assert said == f"Your choice: {chosen.height} of the {whole} listed."
    owner_page.get_by_role("button", name="Show everything").click()
    owner_page.wait_for_timeout(100)
    assert totals(owner_page)["jobs"] == job_rows().height
    assert owner_page.evaluate("location.search") == ""
    owner_page.select_option("#filter-wall_type", "stone")
    stone = job_rows().filter(pl.col("wall_type") == "stone")
    kept = owner_page.eval_on_selector_all("#jobs tbody tr", "all => all.filter((row) => !row.hidden).length")
    older = f"The totals above count {stone.height - kept} older jobs of your choice too."
    assert 0 < kept < stone.height and owner_page.locator("#jobs .counted").inner_text().endswith(older)
    assert owner_page.locator("#short-jobs tbody tr:visible").count() == 1


def test_an_empty_choice_shows_no_ratio(tmp_path: Path, owner_page: Page) -> None:
    """From after to: no job, and a dash where a ratio would divide by nothing."""
    folder = write_pages(parts(), tmp_path)
    show(owner_page, folder / "owner.html", query="?from=2026-03&to=2022-06")
    assert totals(owner_page)["jobs"] == 0
    assert owner_page.locator("[data-measure=margin_after_callbacks]").inner_text() == "–"


def test_the_quote_form_answers_at_once(firm: tuple[Path, Settings, Path], owner_page: Page) -> None:
    """The estimator's page of a fitted book opens with an answer, and a change of width gives another."""
    _, _, folder = firm
    show(owner_page, folder / "estimator.html")
    before = owner_page.locator("#quote-hours").inner_text()
    owner_page.fill("#quote-rough_width_in", "6'")
    owner_page.wait_for_timeout(300)
    after = owner_page.locator("#quote-hours").inner_text()
    assert before.endswith("h") and after.endswith("h") and before != after
    assert owner_page.locator("#quote-phases tr").count() >= 8


def test_on_a_phone_price_hours_and_risk_stay_in_sight_and_cover_no_input(
    firm: tuple[Path, Settings, Path], browser: Browser
) -> None:
    """360 by 740: at every stop of the Tab key, forth and back, the strip shows and the input is clear of it."""
    _, _, folder = firm
    with window(browser, width=360) as (page, _):
        page.set_viewport_size({"width": 360, "height": 740})
        page.goto((folder / "estimator.html").as_uri())
        page.focus("#quote-wall_type")
        for key in ["Tab"] * 20 + ["Shift+Tab"] * 20:
            page.keyboard.press(key)
            top, bottom, strip_top, strip = page.evaluate(PLACES)
            assert strip_top >= -1 and strip - 1 <= top and bottom <= 741
            assert strip - strip_top <= 740 / 4
        for name in ("rough_width_in", "rough_height_in", "price"):
            page.fill(f"#quote-{name}", "wide")
        *_, strip_top, strip = page.evaluate(PLACES)
        assert page.locator("#quote-verdict").is_visible() and strip - strip_top <= 740 / 4


PLACES = """() => {
    const input = document.activeElement.getBoundingClientRect();
    const strip = document.getElementById("quote-strip").getBoundingClientRect();
    return [input.top, input.bottom, strip.top, strip.bottom];
}"""
