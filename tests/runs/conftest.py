"""A fitted book of the invented firm and the `quote` command asked of it, for the tests of quotes."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from pipeline.cli.main import main
from tests.runs.fitted_book import fitted_book


@pytest.fixture(scope="session")
def firm(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A fitted book and its settings."""
    return fitted_book(tmp_path_factory.mktemp("firm"), jobs=100)


@pytest.fixture
def told(firm: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> Any:
    """What a quote prints: `answer` gives the JSON document, `text` the lines, `fault` an error's code and sentence."""

    class Told:
        def run(self, words: Sequence[str], settings: Path | None = None) -> tuple[int, str, str]:
            book = ["--book", str(firm[0]), "--settings", str(settings or firm[1])]
            with pytest.raises(SystemExit) as left:
                main([*book, "quote", *words])
            out, err = capsys.readouterr()
            return int(left.value.code or 0), out, err

        def answer(self, *words: str, settings: Path | None = None) -> Any:
            code, out, err = self.run([*words, "--json"], settings)
            assert code == 0, err
            return json.loads(out)

        def text(self, *words: str) -> list[str]:
            code, out, err = self.run(words)
            assert code == 0, err
            return out.splitlines()

        def fault(self, *words: str) -> tuple[int, str]:
            code, out, err = self.run(words)
            assert out == ""
            return code, err.strip()

    return Told()
