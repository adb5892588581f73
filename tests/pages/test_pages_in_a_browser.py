"""The pages in a real browser: no error, no request off the machine, every width, keyboard, hostile text, paper."""

from itertools import pairwise
from pathlib import Path

import polars as pl
import pytest
from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.pages.browser import NAMES, keep_picture, show, window, write_pages
from tests.pages.sample import HOSTILE, job_rows, parts

pytestmark = pytest.mark.page

CUT_LABELS = """all => all.filter((one) => one.getBoundingClientRect().left <
    one.closest(".plot").getBoundingClientRect().left - 1).map((one) => one.textContent)"""
SERIOUS = ("serious", "critical")
A4_MM, LETTER_MM = (210, 297), (216, 279)  # ISO 216; US Letter 8.5 by 11 in
POINTS_PER_MM = 72 / 25.4


def test_a_single_file_page_asks_for_nothing_but_itself(browser: Browser, tmp_path: Path) -> None:
    """With all scripts inlined and known to the policy by digest, charts draw from the one file."""
    write_pages(parts(), tmp_path, single_file=True)
    with window(browser) as (page, watch):
        show(page, tmp_path / "owner.html")
        assert page.locator(".plot[data-state=drawn] svg.main-svg").count() > 0
        assert watch.errors == [] and watch.requests == [(tmp_path / "owner.html").as_uri()]


def test_the_policy_stops_a_script_that_is_not_ours(browser: Browser, folder: Path) -> None:
    """A script element put into the page by whatever means does not run."""
    with window(browser) as (page, watch):
        show(page, folder / "owner.html")
        page.evaluate("""() => { const s = document.createElement('script'); s.textContent = 'document.title = "owned"';
                         document.body.append(s); }""")
        assert page.title() == "Owner · areaway"
        assert any("Content Security Policy" in text for text in watch.errors)


@pytest.mark.parametrize(
    ("width", "scheme"), [(360, "light"), (360, "dark"), (1280, "light"), (1280, "dark"), (1920, "light")]
)
def test_every_page_keeps_to_its_window_its_folder_and_the_rules_of_access(
    browser: Browser, folder: Path, width: int, scheme: str
) -> None:
    """From a phone to a wall screen, light and dark, each page opened once: quiet on the console, no request but for
    files of its own folder, no wider than its window; at 1280 px no serious finding of axe-core, all rules, with
    everything that opens opened; headings in order, landmarks, and words and numbers beside every chart."""
    with window(browser, width=width, scheme=scheme) as (page, watch):
        for name in NAMES:
            show(page, folder / f"{name}.html")
            assert page.evaluate("document.documentElement.scrollWidth") <= width, name
            keep_picture(page, f"{name}-{width}-{scheme}")
            if width == 1280:
                assert serious_findings(page) == [], name
                check_headings_and_landmarks(page)
                check_words_beside_charts(page)
        assert watch.errors == []
        assert [url for url in watch.requests if not url.startswith(folder.as_uri())] == []


def serious_findings(page: Page) -> list[tuple[str, str]]:
    """What axe-core finds serious or worse; only findings are told in full, all rules are run."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = Axe().run(page, options={"resultTypes": ["violations"]})["violations"]
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found if one["impact"] in SERIOUS]


def check_headings_and_landmarks(page: Page) -> None:
    """One h1, no level skipped; header, nav, main and footer once each."""
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map((one) => Number(one.tagName[1]))")
    assert levels.count(1) == 1 and levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    marks = ("body > header", "nav", "main", "body > footer")
    assert [page.locator(mark).count() for mark in marks] == [1, 1, 1, 1]


def check_words_beside_charts(page: Page) -> None:
    """A reader who cannot see a picture gets its claim, a text and the table."""
    told = page.evaluate("""() => [...document.querySelectorAll('figure.chart')]
        .filter((one) => one.querySelector('script.plot-data'))
        .map((one) => [one.querySelector('.claim').innerText.trim(),
            one.querySelector('.plot').getAttribute('aria-label') ?? '',
            one.querySelectorAll('details table tbody tr').length])""")
    assert len(told) > 0 or "index" in page.url
    for claim, label, lines in told:
        assert claim.endswith(".") and len(label) > 20 and lines > 0, claim


def test_charts_follow_the_dark_setting(browser: Browser, folder: Path) -> None:
    """The chart's ground is the page's own: the same colour as the body's in either scheme."""
    grounds = []
    for scheme in ("light", "dark"):
        with window(browser, scheme=scheme) as (page, _):
            show(page, folder / "warranty.html")
            ground = page.evaluate("getComputedStyle(document.querySelector('.plot .main-svg')).backgroundColor")
            assert ground == page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
            grounds.append(ground)
    assert grounds[0] != grounds[1]


def test_the_keyboard_reaches_content_details_and_sorting(browser: Browser, folder: Path) -> None:
    """Tab comes first to the skip link; Enter jumps, opens the numbers of a chart, and sorts a table both ways."""
    with window(browser) as (page, _):
        show(page, folder / "owner.html")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "content"
        page.locator("#margin-by-month summary").focus()
        page.keyboard.press("Enter")
        assert page.locator("#margin-by-month details").get_attribute("open") is not None
        margin = page.locator("#jobs th", has_text="Revenue").locator("button")
        margin.focus()
        page.keyboard.press("Enter")
        first = page.locator("#jobs tbody tr").first.locator("td").nth(4)
        assert first.inner_text() == "$4,000"  # sample.py: revenue runs from 4,000 to 4,000 + 37 × 49 = 5,813
        margin.focus()
        page.keyboard.press("Enter")
        assert first.inner_text() == "$5,813"


def test_focus_is_always_visible(browser: Browser, folder: Path) -> None:
    """Every stop of the Tab key has an outline or is the skip link."""
    with window(browser) as (page, _):
        show(page, folder / "warranty.html")
        for _ in range(40):
            page.keyboard.press("Tab")
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_a_click_on_a_job_leads_to_its_line(browser: Browser, folder: Path) -> None:
    """A stroke of the margin chart carries its job's place; following it shows its row, folded or not."""
    with window(browser) as (page, _):
        show(page, folder / "owner.html")
        rows = page.locator("#jobs tbody tr:visible")
        assert rows.count() == 10
        for job in ("job-J0002", "job-J0050"):
            page.evaluate(f"follow('{job}')")
            assert page.evaluate("document.activeElement.id") == job
        assert rows.count() == page.locator("#jobs tbody tr").count() > 100
        page.get_by_role("button", name="Show the first 10 only").last.click()
        assert rows.count() == 10
        anchors = page.evaluate("document.querySelector('#margin-by-wall .plot').data.at(-1).customdata")
        assert "job-J0002" in anchors


def test_a_link_to_a_case_file_opens_it(browser: Browser, folder: Path) -> None:
    """The callback's number leads to its case file, opened."""
    with window(browser) as (page, _):
        show(page, folder / "warranty.html")
        page.get_by_role("link", name="C001").first.click()
        assert page.locator("#callback-C001").get_attribute("open") is not None


def test_hostile_text_stays_text(browser: Browser, tmp_path: Path) -> None:
    """A job, crew or callback named like a script is shown letter for letter and does nothing."""
    jobs = job_rows().with_columns(crew=HOSTILE + pl.col("crew"), branch=pl.lit(HOSTILE))
    given = parts(jobs)
    given["month"]["sentences"][0]["text"] = HOSTILE
    given["callbacks"]["rows"][0] |= {"callback_id": HOSTILE, "complaint": HOSTILE}
    given["cases"][0]["callback"]["callback_id"] = HOSTILE
    given["crews"]["rows"][0]["crew"] = HOSTILE
    given["checks"]["rows"][0]["reading"] = HOSTILE
    write_pages(given, tmp_path)
    with window(browser) as (page, watch):
        for name in NAMES:
            show(page, tmp_path / f"{name}.html")
            page.wait_for_timeout(200)
            assert "owned" not in page.title()
            assert page.locator("img").count() == 0
        assert watch.errors == []
        show(page, tmp_path / "owner.html")
        assert HOSTILE in page.locator("#month li").first.inner_text()
        assert page.locator("#filter-branch option").nth(1).inner_text() == HOSTILE


def test_no_address_and_no_person_is_in_a_page(folder: Path) -> None:
    """The case's site and the installer of its check card are in the parts and stay out of the pages."""
    text = "".join((folder / f"{name}.html").read_text() for name in NAMES)
    assert "Invented Street" not in text and "worker seven" not in text


@pytest.mark.parametrize(("paper", "size_mm"), [("A4", A4_MM), ("Letter", LETTER_MM)])
def test_pages_print_on_paper(browser: Browser, folder: Path, paper: str, size_mm: tuple[int, int]) -> None:
    """On paper: the sheet's own size, no way-finding, charts drawn in light colours and not cut off at the edge."""
    with window(browser, scheme="dark") as (page, _):
        show(page, folder / "owner.html")
        sheets = page.pdf(format=paper, prefer_css_page_size=False)
        box = f"/MediaBox [0 0 {size_mm[0] * POINTS_PER_MM:.0f}".encode()
        assert box in sheets or f"/MediaBox [ 0 0 {size_mm[0] * POINTS_PER_MM:.0f}".encode() in sheets
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        too_wide = (
            "[...document.querySelectorAll('.main-svg')].filter((el) => el.clientWidth > 184 * 96 / 25.4 + 1).length"
        )
        assert page.evaluate(too_wide) == 0  # 210 mm less two margins of 13: the narrower of the two sheets
        page.emulate_media(media="print")
        assert page.locator("#jobs tbody tr:visible").count() == 20
        assert page.locator("#jobs .on-paper").inner_text().startswith("On paper: 20 of the ")
        assert not page.locator("nav").is_visible()
        cut = "[...document.querySelectorAll('.scroll')].filter((el) => el.scrollHeight > el.clientHeight + 1).length"
        assert page.evaluate(cut) == 0
        assert page.evaluate("getComputedStyle(document.body.parentElement).backgroundColor") == "rgb(255, 255, 255)"
