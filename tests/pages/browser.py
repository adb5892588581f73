"""Pages opened in headless Chromium, watched for console errors and for requests that leave their folder."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from dashboards.index import pages
from dashboards.page import render
from pipeline.runs.dashboards import read_assets

NAMES = ("index", "owner", "estimator", "warranty")


@dataclass
class Watch:
    """What a page did that it must not do."""

    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


def browser_program() -> str:
    """The installed Chromium; without one a page test cannot pass, and is not skipped."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    assert found, "page tests need Chromium: apt-get install chromium"
    return found


def write_pages(parts: dict[str, Any], folder: Path, *, single_file: bool = False) -> Path:
    """The pages of some parts in a folder, with what they need beside them."""
    assets = read_assets(single_file=single_file)
    folder.mkdir(parents=True, exist_ok=True)
    for page in pages(parts):
        (folder / f"{page.name}.html").write_text(render(page, assets), encoding="utf-8")
    if not single_file:
        (folder / "areaway.css").write_text(assets.style, encoding="utf-8")
        for script in (assets.drawing, *assets.scripts):
            (folder / script.file).write_text(script.text, encoding="utf-8")
    return folder


@contextmanager
def chromium() -> Iterator[Browser]:
    """The installed browser, started once for the tests of a file."""
    with sync_playwright() as program:
        browser = program.chromium.launch(executable_path=browser_program(), args=["--no-sandbox"])
        yield browser
        browser.close()


@contextmanager
def window(browser: Browser, *, width: int = 1280, scheme: Any = "light") -> Iterator[tuple[Page, Watch]]:
    """An empty window of a width and colour scheme, and the watch over it."""
    watch = Watch()
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page.on("pageerror", lambda error: watch.errors.append(str(error)))
    page.on("console", lambda told: watch.errors.append(told.text) if told.type in ("error", "warning") else None)
    page.on("request", lambda request: watch.requests.append(request.url))
    yield page, watch
    page.close()


def show(page: Page, file: Path, *, query: str = "") -> None:
    """Open a file and wait until its charts are drawn."""
    page.goto(file.as_uri() + query)
    if page.locator("script.plot-data").count():
        page.wait_for_selector("html[data-charts=drawn]", state="attached", timeout=60_000)


def keep_picture(page: Page, name: str) -> None:
    """A screenshot for a person to look at, in the folder AREAWAY_SCREENSHOTS names; none without it."""
    folder = os.environ.get("AREAWAY_SCREENSHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=str(Path(folder) / f"{name}.png"), full_page=True)
