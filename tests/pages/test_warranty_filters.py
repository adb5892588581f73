"""Figures and lists of the warranty page under every choice, against the commands they come from."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from dashboards.warranty_sums import AS_OF_TODAY, DATED
from pipeline.runs.callbacks import callbacks_
from pipeline.runs.checks import checks_
from pipeline.runs.page_parts import MOST_REVISITS
from pipeline.runs.reserve import reserve_
from pipeline.runs.revisit import revisit_
from pipeline.settings import Settings
from pipeline.store.book import open_book
from tests.pages.browser import show, window, write_pages
from tests.pages.sample import parts

pytestmark = pytest.mark.page

Rows = list[dict[str, Any]]
Groups = dict[str, dict[str, str]]


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Page]:
    """A window for the warranty page."""
    with window(browser) as (opened, watch):
        yield opened
        assert watch.errors == []


@pytest.fixture(scope="module")
def groups(firm: tuple[Path, Settings, Path]) -> Groups:
    """Branch, crew and wall type of every opening, straight from the records."""
    asked = "select opening_id, branch, crew, wall_type from openings join jobs using (job_id)"
    with open_book(firm[0]) as con:
        found = con.execute(asked).fetchall()
    return {row[0]: dict(zip(("branch", "crew", "wall_type"), row[1:], strict=True)) for row in found}


@pytest.fixture(scope="module")
def rows(firm: tuple[Path, Settings, Path]) -> dict[str, Rows]:
    """All rows of `callbacks` and of `checks`."""
    book, settings, _ = firm
    answers = {"reported_on": callbacks_(book, settings)["rows"], "checked_on": checks_(book, settings)["rows"]}
    return {day: [dict(row) for row in found] for day, found in answers.items()}


def totals(page: Page) -> dict[str, float]:
    """The figures the page shows, unrounded."""
    shown = page.eval_on_selector_all(
        "[data-measure]", "all => all.map((one) => [one.dataset.measure, one.dataset.value])"
    )
    return {name: float(value) for name, value in shown if value != ""}


def of_reports(rows: Rows) -> dict[str, float]:
    """What the rows of `callbacks` add up to."""
    ours = [row for row in rows if row["counts"]]
    kinds = ("leak", "fit", "drainage", "finish", "other")
    by_kind = {f"counted_{kind}": sum(row["complaint"] == kind for row in ours) for kind in kinds}
    costs = [row["cost"] for row in ours if row["cost"] is not None]
    waiting = sum(row["days_open"] is not None for row in rows)
    return by_kind | {
        "reports": len(rows),
        "counted": len(ours),
        "waiting": waiting,
        "cost": sum(costs),
        "costed": len(costs),
    }


def of_readings(rows: Rows) -> dict[str, float]:
    """What the rows of `checks` add up to."""
    return {"readings": len(rows), "readings_back": sum(bool(row["called_back"]) for row in rows)}


def expected(rows: dict[str, Rows], chosen: Callable[[dict[str, Any], str], bool]) -> dict[str, float]:
    """Sums of the commands' rows that a choice keeps: chosen(row, the name of its day)."""
    kept = {day: [row for row in found if chosen(row, day)] for day, found in rows.items()}
    return of_reports(kept["reported_on"]) | of_readings(kept["checked_on"])


def shows(page: Page, figures: dict[str, float]) -> None:
    """The page shows these."""
    found = totals(page)
    for name, value in figures.items():
        assert found[name] == pytest.approx(value, abs=1e-6), name


def test_nothing_chosen_is_what_the_commands_say(
    firm: tuple[Path, Settings, Path], page: Page, rows: dict[str, Rows]
) -> None:
    """All rows of `callbacks` and `checks`, the months of `callbacks` together, and the whole reserve."""
    book, settings, folder = firm
    show(page, folder / "warranty.html")
    shows(page, expected(rows, lambda row, day: True))
    months = callbacks_(book, settings)["watching"]["by_month_of_report"]
    years = sum(month["opening_months"] for month in months) / 12
    reserve = reserve_(book, settings)
    shows(
        page,
        {
            "opening_years": years,
            "rate": 100 * sum(month["callbacks"] for month in months) / years,
            "under_warranty": reserve["openings_under_warranty"],
            "expected_callbacks": reserve["expected_callbacks"],
            "expected_cost": reserve["expected_cost"],
        },
    )
    assert {name for _, name, _ in (*DATED, *AS_OF_TODAY)} <= set(totals(page))


@pytest.mark.parametrize("by", ["branch", "crew", "wall_type"])
def test_every_group_is_what_the_commands_say_of_its_openings(
    firm: tuple[Path, Settings, Path], page: Page, groups: Groups, rows: dict[str, Rows], by: str
) -> None:
    """Each branch, crew and wall alone: the rows of the commands at its openings; all together: the whole again."""
    ahead = revisit_(firm[0], firm[1], top=None)["rows"]
    show(page, firm[2] / "warranty.html")
    whole, added = totals(page), dict.fromkeys(totals(page), 0.0)
    names = sorted({group[by] for group in groups.values()})
    assert len(names) >= 2
    for name in names:
        page.select_option(f"#filter-{by}", name, force=True)
        shows(page, expected(rows, lambda row, day, name=name: groups[row["opening_id"]][by] == name))  # type: ignore[misc]
        costs = [row["expected_cost"] for row in ahead if groups[row["opening_id"]][by] == name]
        shows(page, {"under_warranty": len(costs), "expected_cost": sum(cost or 0.0 for cost in costs)})
        added = {measure: added[measure] + value for measure, value in totals(page).items() if measure in added}
    sums = [measure for measure in whole if measure not in ("rate", "cost_each")]
    assert {measure: added[measure] for measure in sums} == pytest.approx({m: whole[m] for m in sums}, abs=1e-6)


def test_dates_move_what_was_reported_and_nothing_that_looks_ahead(
    firm: tuple[Path, Settings, Path], page: Page, groups: Groups, rows: dict[str, Rows]
) -> None:
    """One crew in one year: the commands' rows of those days; openings under warranty and reserve as before."""
    show(page, firm[2] / "warranty.html")
    crew = sorted({group["crew"] for group in groups.values()})[0]
    page.select_option("#filter-crew", crew, force=True)
    before = totals(page)
    dates = [str(row["reported_on"]) for row in rows["reported_on"]]
    year = sorted(dates)[len(dates) // 2][:4]
    page.select_option("#filter-from", f"{year}-01", force=True)
    page.select_option("#filter-to", f"{year}-12", force=True)
    shows(
        page, expected(rows, lambda row, day: groups[row["opening_id"]]["crew"] == crew and str(row[day])[:4] == year)
    )
    assert totals(page)["reports"] > 0
    shows(page, {name: before[name] for _, name, _ in AS_OF_TODAY})


def visible(page: Page, rows: str) -> list[str]:
    """First cells of the rows that can be seen."""
    return page.eval_on_selector_all(
        rows, "all => all.filter((row) => !row.hidden).map((row) => row.cells[0].textContent)"
    )


def test_lists_keep_the_rows_of_the_choice(firm: tuple[Path, Settings, Path], page: Page, groups: Groups) -> None:
    """The visit list under a branch: the openings of `revisit` that are of that branch, in its order."""
    book, settings, folder = firm
    listed: Sequence[str] = [row["opening_id"] for row in revisit_(book, settings, top=MOST_REVISITS)["rows"]]
    branch = groups[listed[0]]["branch"]
    show(page, folder / "warranty.html", query=f"?branch={branch}")
    wanted = [name for name in listed if groups[name]["branch"] == branch]
    assert visible(page, "#revisit tbody tr") == wanted
    assert 0 < len(wanted) < len(listed)
    assert page.locator("#revisit .counted").inner_text() == f"Your choice: {len(wanted)} of the {len(listed)} listed."
    assert page.locator("#choice details").get_attribute("open") is not None
    assert page.locator("#choice-said").inner_text() == f"You chose: branch {branch}."


def test_few_callbacks_give_no_rate(tmp_path: Path, page: Page) -> None:
    """North: 1 callback is too few. South: 9 in 100 opening-years, 4.1 to 17.1 (Garwood 1936: 4.115 to 17.085)."""
    folder = write_pages(parts(), tmp_path)
    show(page, folder / "warranty.html", query="?branch=north")
    assert page.locator("[data-measure=rate]").inner_text() == "too few: 1 under warranty"
    show(page, folder / "warranty.html", query="?branch=south")
    assert page.locator("[data-measure=rate]").inner_text() == "9.0 (19 times in 20: 4.1 to 17.1)"
    assert page.locator("[data-measure=cost_each]").inner_text() == "$210"
    assert page.locator("#filtered-plot .scatterlayer .point").count() == 2
