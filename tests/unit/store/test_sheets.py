"""Files written out: a disk that is full, or a place that cannot be written, ends in a sentence."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.errors import InputError
from pipeline.store.sheets import write_csv, write_workbook

FULL = Path("/dev/full")  # a device on Linux that takes nothing, as a full disk
ROWS = pl.DataFrame({"a": ["x" * 100] * 2000, "b": range(2000)})


@pytest.mark.skipif(not FULL.exists(), reason="there is no such device here")
def test_a_full_disk_is_told_in_a_sentence(tmp_path: Path) -> None:
    for name, write in (("a.csv", write_csv), ("a.xlsx", lambda path, frame: write_workbook(path, {"a": frame}))):
        (tmp_path / name).symlink_to(FULL)
        with pytest.raises(InputError, match=rf"{name} cannot be written: No space left on device"):
            write(tmp_path / name, ROWS)


def test_a_folder_in_the_place_of_a_workbook_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "a.xlsx").mkdir()
    with pytest.raises(InputError, match="cannot be written: Is a directory"):
        write_workbook(tmp_path / "a.xlsx", {"a": ROWS})
