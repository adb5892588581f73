"""The command line, called as a user calls it, and the small files that it is given."""

import contextlib
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb

from pipeline.cli.main import main

JOBS = "job_id,crew,started_on,contract_price\nJ1,north,2025-03-03,9000\nJ2,south,2025-03-10,7000\n"
LABOUR_HEAD = "entry_id,job_id,worked_on,worker_id,hours\n"


@dataclass(frozen=True)
class Answer:
    """What a command gave back."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """Standard output as the one JSON document it must be."""
        return json.loads(self.out)


def areaway(book: Path, *arguments: object) -> Answer:
    """One command on a book, in this process."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main(["--book", str(book), *map(str, arguments)])
        except SystemExit as end:
            code = int(end.code or 0)
    return Answer(code, out.getvalue(), err.getvalue())


def written(folder: Path, name: str, text: str) -> Path:
    """A file with that text."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def taken_in(book: Path, *arguments: object) -> Any:
    """An ingest that must succeed, as its JSON document."""
    answer = areaway(book, "ingest", *arguments, "--received", "2025-06-30", "--json")
    assert answer.code == 0, answer.err
    return answer.document


def waiting(book: Path) -> list[dict[str, Any]]:
    """What waits in quarantine."""
    rows: list[dict[str, Any]] = areaway(book, "quarantine", "--json").document["rows"]
    return rows


def content(book: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every table of the book, whole, for saying that nothing changed."""
    with duckdb.connect(str(book), read_only=True) as con:
        names = con.execute(
            "select schema_name || '.' || table_name from duckdb_tables() where not internal order by 1"
        ).fetchall()
        return {name: con.execute(f"from {name} order by all").fetchall() for (name,) in names}
