"""Each folder of sample_data/broken holds one kind of mistake: what ingest says about it, and where its rows go."""

from datetime import date
from pathlib import Path

import pytest

from pipeline.errors import UserError
from pipeline.runs.ingest import Delivery, ingest_
from pipeline.settings import Settings, load_settings
from pipeline.store.book import open_book, rows

SAMPLES = Path(__file__).parents[2] / "sample_data"
MISTAKES = sorted(folder for folder in (SAMPLES / "broken").iterdir() if folder.is_dir())
RECEIVED = date(2026, 6, 30)


def expectations(folder: Path) -> dict[str, list[str]]:
    """expected.txt: what -> values, `says` possibly several times."""
    found: dict[str, list[str]] = {}
    for line in (folder / "expected.txt").read_text(encoding="utf-8").splitlines():
        what, _, value = line.partition(": ")
        found.setdefault(what, []).append(value)
    return found


@pytest.mark.parametrize("folder", MISTAKES, ids=lambda folder: folder.name)
def test_a_mistake_is_told_with_its_place_and_its_rule(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = tmp_path / "book.duckdb"
    ingest_(book, load_settings(SAMPLES / "small" / "areaway.toml"), Delivery([SAMPLES / "small"], received=RECEIVED))
    (file,) = (path for path in folder.iterdir() if path.name != "expected.txt")
    expected = expectations(folder)
    monkeypatch.chdir(folder)
    if expected["exit"] != ["0"]:
        with pytest.raises(UserError) as refused:
            ingest_(book, Settings(), Delivery([Path(file.name)], received=RECEIVED))
        said = str(refused.value)
        assert [str(refused.value.exit_code)] == expected["exit"]
    else:
        result = ingest_(book, Settings(), Delivery([Path(file.name)], received=RECEIVED))
        for place in ("rows", "accepted", "unchanged", "quarantined"):
            assert str(result[place]) == expected[place][0], place  # type: ignore[literal-required]
        with open_book(book) as con:
            waiting = rows(con, "quarantine_of_batch", {"batch_id": result["batch_id"], "at_most": 10})
        said = "\n".join(f"{row['file']} line {row['row']}: {row['reason']}" for row in waiting)
    for sentence in expected.get("says", []):
        assert sentence in said
