"""A page that holds the quote scripts and some fitted parts, opened in a real browser."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from dashboards.html import data_block

ASSETS = Path(__file__).parents[2] / "dashboards" / "assets"
SCRIPTS = ("quote.js", "quote_cost.js", "quote_checks.js", "quote_form.js")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'none'; form-action 'none'"
)


@contextmanager
def opened(browser: Browser, file: Path, *, width: int = 1280) -> Iterator[Page]:
    """A file in a window of its own; an error on its console fails the test."""
    errors: list[str] = []
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda told: errors.append(told.text) if told.type == "error" else None)
    page.goto(file.as_uri())
    yield page
    page.close()
    assert not errors, errors


@contextmanager
def page_with_scripts(browser: Browser, folder: Path, models: dict[str, Any], *, body: str = "") -> Iterator[Page]:
    """A bare page under the pages' own content policy, with the scripts beside it."""
    for name in SCRIPTS:
        shutil.copy(ASSETS / name, folder / name)
    tags = "".join(f'<script defer src="{name}"></script>' for name in SCRIPTS)
    block = "" if 'id="models"' in body else data_block("models", models)
    file = folder / "page.html"
    file.write_text(
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>quote</title>'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}"></head><body>{body}{block}{tags}</body></html>'
    )
    with opened(browser, file) as page:
        yield page
