"""`areaway demo`: an invented firm's records made, taken in, learned from, and shown: the whole job once."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, TypedDict

from dashboards.parts import claim
from dashboards.words import sentence_case
from pipeline.errors import InputError
from pipeline.runs.dashboards import write_pages
from pipeline.runs.fit import fit_
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.runs.page_parts import page_parts
from pipeline.settings import DEFAULT_FILE, load_settings
from schemas.results_store import IngestResult

RECORDS, BOOK, PAGES = "records", "sample-firm.duckdb", "pages"
FIRST_PAGE = "index.html"
PATTERNS_SAID = 3


class Demo(TypedDict):
    """Where everything was put, and what the records say, as sentences."""

    records: str
    book: str
    first_page: str
    pages: list[str]
    summary: list[str]


def demo_(out: Path, *, progress: Callable[[str], None]) -> Demo:
    """Make the sample firm's records, book and pages under a folder; nothing outside it is touched.

    errors: InputError when the folder cannot be written
    """
    records, book = out / RECORDS, out / BOOK
    progress("making eight years of records of an invented firm")
    last_day = _make_records(records)
    settings = load_settings(records / DEFAULT_FILE)
    taken = ingest_(book, settings, Delivery([records], received=last_day), progress=progress)
    progress("learning hours, materials and callbacks from the finished jobs")
    fit_(book, settings, progress=progress)
    progress("gathering the answers and drawing the pages")
    parts = page_parts(book, settings, None)
    written = write_pages(parts, out / PAGES)
    pages = [file["path"] for file in written["files"] if file["path"].endswith(".html")]
    first = str(out / PAGES / FIRST_PAGE)
    return Demo(
        records=str(records), book=str(book), first_page=first, pages=pages, summary=[*_taken(taken), *summary(parts)]
    )


def _make_records(folder: Path) -> date:
    from sample_data.make import make
    from sample_data.truth import LAST_DAY

    try:
        folder.mkdir(parents=True, exist_ok=True)
        make(folder)
    except OSError as error:
        raise InputError(
            f"the demo cannot write to {folder}: {error.strerror}; give another folder with --out"
        ) from error
    return date.fromisoformat(str(LAST_DAY))


def _taken(taken: IngestResult) -> Iterator[str]:
    source = f"{taken['rows']:,} rows read from {len(taken['files'])} files and sheets"
    fresh = f"{source}: {taken['accepted']:,} taken into the book"
    again = f", {taken['unchanged']:,} already there" if taken["unchanged"] else ""
    yield f"{fresh}{again}, {taken['quarantined']:,} wait with a reason (areaway quarantine lists them)."


def summary(parts: Mapping[str, Any]) -> Iterator[str]:
    """What an owner would want to hear first, from the parts of the pages; a part that is missing says nothing."""
    yield from _money(parts["margins"])
    yield from _hours(parts["fit"])
    yield from _callbacks(parts["patterns"], parts["reserve"])


def _money(margins: Any) -> Iterator[str]:
    if isinstance(margins, str):
        return
    year = margins["trailing_twelve_months"]
    if year["margin_after_callbacks"] is not None:
        yield (
            f"Twelve months: {year['jobs']} jobs, ${year['revenue']:,.0f} of revenue, "
            f"{100 * year['margin_after_callbacks']:.0f} % kept after overhead and callbacks."
        )
    if year["quoted_hours"]:
        more = year["hours_of_quoted_jobs"] / (year["quoted_hours"] + (year["change_order_hours"] or 0)) - 1
        yield f"Those jobs took {abs(100 * more):.0f} % {'more' if more >= 0 else 'fewer'} hours than quoted."


def _hours(fit: Any) -> Iterator[str]:
    labour = None if isinstance(fit, str) else fit["labour"]
    if labour is None or labour["median_ape"] is None:
        return
    yield (
        f"Hours of {labour['holdout_openings']} recent openings, kept back as a test, were estimated within "
        f"{100 * labour['median_ape']:.0f} % in half of the cases."
    )
    yield from (f"{sentence_case(change)}." for change in labour["changes"])


def _callbacks(patterns: Any, reserve: Any) -> Iterator[str]:
    flagged = [] if isinstance(patterns, str) else [row for row in patterns["patterns"] if row["flagged"]]
    yield from (said for row in flagged[:PATTERNS_SAID] if (said := claim(row)))
    if not isinstance(reserve, str):
        yield (
            f"Callbacks still to come on finished work: about ${reserve['expected_cost']:,.0f} "
            f"(8 times in 10 between ${reserve['low_80']:,.0f} and ${reserve['high_80']:,.0f})."
        )
