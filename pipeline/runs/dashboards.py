"""`areaway dashboards`: gathers the answers, has the pages made, and writes them with what they need beside them."""

import shutil
import subprocess
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any, TypedDict

from dashboards.index import pages
from dashboards.page import DRAWING_FILE, STYLE_FILE, Assets, Page, Script, render, style_sheet
from pipeline.errors import InputError
from pipeline.runs.page_parts import page_parts
from pipeline.settings import Settings

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
PRINT_PATIENCE_S = 120
DRAWING_TIME_MS = 15_000  # of the page's own clock, for the charts to be drawn before the print
SOURCE = files("dashboards") / "assets"


class Written(TypedDict):
    """One file written: what it is, where, how large. [bytes]"""

    page: str
    path: str
    bytes: int


class Dashboards(TypedDict):
    """What was written; notes say what could not be."""

    as_of: date
    files: list[Written]
    notes: list[str]


def dashboards_(
    book: Path,
    settings: Settings,
    *,
    out: Path,
    as_of: date | None = None,
    single_file: bool = False,
    pdf: bool = False,
) -> Dashboards:
    """Make the pages of a book in a folder; with `single_file` each page holds all it needs.

    errors: NotEnoughRecords when the book holds no dated work; InputError when the folder cannot be written
    """
    return write_pages(page_parts(book, settings, as_of), out, single_file=single_file, pdf=pdf)


def write_pages(parts: dict[str, Any], out: Path, *, single_file: bool = False, pdf: bool = False) -> Dashboards:
    """The pages of parts already gathered, written to a folder."""
    written = _write(pages(parts), read_assets(single_file=single_file), out)
    printed, notes = _print_pages(written, out) if pdf else ([], [])
    return Dashboards(as_of=date.fromisoformat(parts["as_of"]), files=[*written, *printed], notes=notes)


def read_assets(*, single_file: bool) -> Assets:
    """The style sheet and scripts of ours, and the drawing library of the installed plotly package."""
    ours = sorted((file for file in SOURCE.iterdir() if file.name.endswith(".js")), key=lambda file: file.name)
    scripts = [Script(file.name, file.read_text(encoding="utf-8")) for file in ours]
    style = style_sheet((SOURCE / STYLE_FILE).read_text(encoding="utf-8"))
    return Assets(style, scripts, Script(DRAWING_FILE, _drawing_library()), single_file)


def _drawing_library() -> str:
    """The script inside the installed plotly package, read without loading the package's own drawing code."""
    return (files("plotly") / "package_data" / DRAWING_FILE).read_text(encoding="utf-8")


def _write(made: list[Page], assets: Assets, out: Path) -> list[Written]:
    texts = {f"{page.name}.html": render(page, assets) for page in made}
    beside = (
        {}
        if assets.single_file
        else {
            STYLE_FILE: assets.style,
            assets.drawing.file: assets.drawing.text,
            **{script.file: script.text for script in assets.scripts},
        }
    )
    try:
        out.mkdir(parents=True, exist_ok=True)
        return [_write_one(out / name, text) for name, text in (texts | beside).items()]
    except OSError as error:
        raise InputError(
            f"the pages cannot be written to {out}: {error.strerror}; give another folder with --out"
        ) from error


def _write_one(path: Path, text: str) -> Written:
    content = text.encode("utf-8")
    path.write_bytes(content)
    return Written(page=path.stem, path=str(path), bytes=len(content))


def _print_pages(written: list[Written], out: Path) -> tuple[list[Written], list[str]]:
    """Each page as a PDF through an installed browser; without one, a sentence."""
    browser = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if browser is None:
        return [], ["No PDF was made: there is no Chromium on this machine. Open a page in any browser and print it."]
    printed, notes = [], []
    for page in (Path(file["path"]) for file in written if file["path"].endswith(".html")):
        target = out / f"{page.stem}.pdf"
        fault = _print_page(browser, page, target)
        if fault:
            notes.append(f"{target.name} was not made: {fault}")
        else:
            printed.append(Written(page=page.stem, path=str(target), bytes=target.stat().st_size))
    return printed, notes


def _print_page(browser: str, page: Path, target: Path) -> str:
    """Print one page; an empty text when it worked, else what the browser said."""
    target.unlink(missing_ok=True)
    command = [
        browser,
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--no-pdf-header-footer",
        f"--virtual-time-budget={DRAWING_TIME_MS}",
        f"--print-to-pdf={target.resolve()}",
        page.resolve().as_uri(),
    ]
    if _is_root():
        command.insert(1, "--no-sandbox")  # Chromium refuses its sandbox to root
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=PRINT_PATIENCE_S, check=False)
    except subprocess.TimeoutExpired:
        return f"the browser did not finish within {PRINT_PATIENCE_S} s"
    return "" if target.is_file() else (done.stderr.strip().splitlines() or ["the browser gave no reason"])[-1]


def _is_root() -> bool:
    import os

    return hasattr(os, "geteuid") and os.geteuid() == 0
