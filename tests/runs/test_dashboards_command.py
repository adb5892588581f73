"""`areaway dashboards` and `areaway demo` without a browser: what is written, from a thin book and from a made one."""

from pathlib import Path

import pytest

from pipeline.errors import InputError, NotEnoughRecords
from pipeline.runs import dashboards, demo
from pipeline.runs.dashboards import dashboards_
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.settings import Settings
from sample_data.make import make

SMALL = Path(__file__).parents[2] / "sample_data" / "small"
PAGES = ("index.html", "owner.html", "estimator.html", "warranty.html")


@pytest.fixture(scope="module")
def thin_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The three jobs typed by hand, nothing fitted."""
    book = tmp_path_factory.mktemp("thin") / "book.duckdb"
    ingest_(book, Settings(), Delivery([SMALL]))
    return book


def test_a_thin_book_makes_pages_that_say_what_is_missing(thin_book: Path, tmp_path: Path) -> None:
    """Three jobs: four pages, no chart of the estimator's, sentences instead."""
    written = dashboards_(thin_book, Settings(), out=tmp_path)
    assert {Path(file["path"]).name for file in written["files"]} >= set(PAGES)
    text = (tmp_path / "estimator.html").read_text()
    assert "run areaway fit" in text and "plot-data" not in text


def test_the_same_book_makes_the_same_bytes(thin_book: Path, tmp_path: Path) -> None:
    """No clock and no random name in a page."""
    for name in ("one", "two"):
        dashboards_(thin_book, Settings(), out=tmp_path / name)
    for page in PAGES:
        assert (tmp_path / "one" / page).read_bytes() == (tmp_path / "two" / page).read_bytes()


def test_single_file_pages_stand_alone(thin_book: Path, tmp_path: Path) -> None:
    """Nothing is written beside the four pages."""
    dashboards_(thin_book, Settings(), out=tmp_path, single_file=True)
    assert sorted(file.name for file in tmp_path.iterdir()) == sorted(PAGES)


def test_without_a_browser_pdf_is_a_sentence(thin_book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pages are there, the note says what to do."""
    monkeypatch.setattr(dashboards.shutil, "which", lambda name: None)
    written = dashboards_(thin_book, Settings(), out=tmp_path, pdf=True)
    assert written["notes"] == [
        "No PDF was made: there is no Chromium on this machine. Open a page in any browser and print it."
    ]


def test_no_book_is_said_and_nothing_is_written(tmp_path: Path) -> None:
    """Exit 4, and no folder."""
    with pytest.raises(NotEnoughRecords, match="there is no book"):
        dashboards_(tmp_path / "none.duckdb", Settings(), out=tmp_path / "pages")
    assert not (tmp_path / "pages").exists()


def test_a_folder_that_is_a_file_is_refused(thin_book: Path, tmp_path: Path) -> None:
    """Exit 3, naming the folder and the option."""
    (tmp_path / "pages").write_text("")
    with pytest.raises(InputError, match="give another folder with --out"):
        dashboards_(thin_book, Settings(), out=tmp_path / "pages")


def test_the_demo_ends_with_pages_and_a_summary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The whole job on a firm of 90 jobs: records, book, pages, sentences with money, hours and callbacks."""
    monkeypatch.setattr("sample_data.make.make", lambda folder: make(folder, jobs=90))
    said: list[str] = []
    result = demo.demo_(tmp_path, progress=said.append)
    assert Path(result["first_page"]).is_file() and Path(result["book"]).is_file()
    told = " ".join(result["summary"])
    assert "taken into the book" in told and "of revenue" in told and "kept back as a test" in told
    assert said[0].startswith("making eight years of records")
