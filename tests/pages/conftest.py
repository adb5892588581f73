"""One browser, one fitted book and one set of pages for all page tests of a run."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from pipeline.runs.dashboards import dashboards_
from pipeline.settings import Settings, load_settings
from tests.pages.browser import chromium, write_pages
from tests.pages.sample import parts
from tests.runs.fitted_book import fitted_book


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium; every test opens windows of its own in it."""
    with chromium() as started:
        yield started


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample firm's pages."""
    return write_pages(parts(), tmp_path_factory.mktemp("pages"))


@pytest.fixture(scope="session")
def firm(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Settings, Path]:
    """A fitted book of 160 jobs of the sample firm, its settings and its pages."""
    home = tmp_path_factory.mktemp("firm")
    book, settings_file = fitted_book(home)
    settings = load_settings(settings_file)
    dashboards_(book, settings, out=home / "pages")
    return book, settings, home / "pages"
