"""The live quote form in a real browser: filled as an estimator would, read as one would. The firm is invented."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from dashboards.quote_form import quote_form
from pipeline.runs.quote_page import models_for_page
from pipeline.settings import Settings
from pipeline.store.book import newest_date, open_book
from tests.pages.quote_page import page_with_scripts

pytestmark = pytest.mark.page

HOSTILE = "<img src=x onerror=\"document.title='owned'\">"


@pytest.fixture(scope="module")
def form(
    browser: Browser, firm: tuple[Path, Settings, Path], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Page]:
    """The form alone on a page, with the firm's models and past openings of a hostile name."""
    book, settings, _ = firm
    with open_book(book) as con:
        models: dict[str, Any] = json.loads(json.dumps(models_for_page(con, settings, newest_date(con))))
    done = models["quote"]["openings_done"]
    done["opening_id"] = [HOSTILE] * len(done["opening_id"])
    body = quote_form(models, ["Crew 1"], "")
    with page_with_scripts(browser, tmp_path_factory.mktemp("page"), models, body=body) as page:
        yield page


def fill(page: Page, **values: str) -> None:
    """Start from the form as it opens, then put values in."""
    page.evaluate("document.getElementById('quote-form').reset()")
    for name, value in values.items():
        field = page.locator(f"#quote-{name}")
        if field.evaluate("field => field.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
    page.locator("#quote-form").evaluate("form => form.dispatchEvent(new Event('input', { bubbles: true }))")


def amount(page: Page, name: str) -> float:
    return float(page.inner_text(f"#quote-{name}").lstrip("overund $").rstrip("\u00a0h%").replace(",", ""))


def column(page: Page, table: str, at: int) -> list[str]:
    return page.locator(f"#quote-{table} tr td:nth-child({at})").all_inner_texts()


def test_sizes_are_read_as_they_are_read_off_the_tape(form: Page):
    """4' 6 1/2", 54 1/2, 54½ and 4 ft 6.5 in are all 54.5 in: the same cost."""
    costs = []
    for text in ("54.5", "4' 6 1/2\"", "54 1/2", "54½", "4 ft 6.5 in", "138.43 cm"):
        fill(form, rough_width_in=text)
        costs.append(form.inner_text("#quote-cost"))
    assert set(costs) == {costs[0]} and costs[0].startswith("$")


def test_a_size_that_cannot_be_read_is_named_and_no_figure_is_left_standing(form: Page):
    """The fault is said at the top and at the input with what to type, the field marked, every figure a dash."""
    fill(form, rough_width_in="wide", price="-1", margin="35")
    assert "rough width cannot be read: type inches such as" in form.inner_text("#quote-verdict")
    assert "And 2 more" in form.inner_text("#quote-verdict")
    assert "type 0.35 or 35 %" in form.inner_text("#quote-margin-fault")
    assert "amount over 0" in form.inner_text("#quote-price-fault")
    fill(form, rough_width_in="1219")
    assert "type the unit, such as 1200 mm" in form.inner_text("#quote-rough_width_in-fault")
    fill(form, rough_width_in="wide")
    assert form.get_attribute("#quote-rough_width_in", "aria-invalid") == "true"
    assert [form.inner_text(f"#quote-{name}") for name in ("hours", "cost", "offer", "risk", "crew-days")] == ["–"] * 5


def test_a_higher_margin_asks_a_higher_price_for_the_same_cost(form: Page):
    """price = cost / (1 − margin): at 50 % twice the cost, to the dollar shown."""
    fill(form, margin="0.5")
    assert amount(form, "offer") == pytest.approx(2 * amount(form, "cost"), abs=2)
    half = form.inner_text("#quote-offer")
    fill(form, margin="50 %")
    assert form.inner_text("#quote-offer") == half
    fill(form, margin="1")
    assert "margin must be" in form.inner_text("#quote-verdict")


def test_a_price_below_cost_is_likely_to_lose_money(form: Page):
    """Far below the cost the chance is near 1, far above near 0, and it is said at which price."""
    fill(form)
    cost = amount(form, "cost")
    fill(form, price=str(cost / 2))
    assert amount(form, "risk") > 95 and f"at ${cost / 2:,.0f}"[:5] in form.inner_text("#quote-risk-range")
    fill(form, price=str(cost * 3))
    assert amount(form, "risk") < 5
    fill(form, price=str(cost * 100))
    assert form.inner_text("#quote-risk") == "under 0.1\u00a0%"  # 2,048 draws tell no smaller chance


def test_the_phases_add_up_to_the_hours_and_the_parts_to_the_cost(form: Page):
    """To the last digit shown, times the lines."""
    fill(form)
    phases = [float(text.split()[0]) for text in column(form, "phases", 2)]
    assert sum(phases) == pytest.approx(amount(form, "hours"), abs=0.05 * (len(phases) + 1))
    parts = [float(text.strip("$").replace(",", "")) for text in column(form, "costs", 2)]
    assert sum(parts[:-1]) == pytest.approx(parts[-1], abs=len(parts))


def test_a_clear_opening_20_by_41_fails_and_says_by_which_section(form: Page):
    """820 sq in are 5.694 sq ft, under the 5.7 of R310.2.1, and the sill is too deep for the smaller minimum."""
    fill(form, clear_width_in="20", clear_height_in="41", sill_below_grade_in="50")
    row = form.locator("#quote-egress tr").first.all_inner_texts()[0]
    assert "5.694" in row and "FAILS" in row and "R310.2.1" in row and "at least 5.7\u00a0sq ft" in row
    assert "Not an escape window as it stands: clear area" in form.inner_text("#quote-verdict")
    fill(form, clear_width_in="60", clear_height_in="41", well_depth_in="90")
    refused = "is 60 in; a clear opening cannot be larger than the hole, rough width, 48 in"
    assert refused in form.inner_text("#quote-verdict") and form.inner_text("#quote-offer") == "–"
    fill(form, well_depth_in="90")
    assert "The well is 90 in deep, the dig only 60 in" in form.inner_text("#quote-verdict")


def test_work_far_outside_experience_is_to_be_priced_by_hand(form: Page):
    """No price and no chance; the first line says so."""
    fill(form, rough_width_in="390", rough_height_in="390")
    assert form.inner_text("#quote-verdict").startswith("Price this by hand")
    assert form.inner_text("#quote-offer") == "–" and form.inner_text("#quote-risk") == "–"


def test_submitting_keeps_the_page_and_tells_a_screen_reader(form: Page):
    """Enter computes; nothing is sent; the live line holds the answer."""
    fill(form, rough_width_in="40")
    before = form.url
    form.press("#quote-rough_width_in", "Enter")
    assert form.url == before
    assert form.inner_text("#quote-cost") in form.text_content("#quote-say")


def test_text_from_records_stays_text(form: Page):
    """A hostile name among similar openings is shown, not run."""
    fill(form)
    assert HOSTILE in form.inner_text("#quote-similar")
    assert form.title() == "quote"
    assert form.locator(".quote img").count() == 0
