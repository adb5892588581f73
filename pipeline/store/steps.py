"""The steps that write a batch: SQL files with the names of one kind filled in, run in order."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from schemas.kinds import KINDS

if TYPE_CHECKING:
    import duckdb

STEPS = files("pipeline.store") / "sql" / "steps"
PARAMETER = re.compile(r"\$(\w+)")


class ArrowStream:
    """A frame as DuckDB reads it fastest: the stream alone, without a detour through another library."""

    def __init__(self, frame: Any) -> None:
        self.frame = frame

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        return self.frame.__arrow_c_stream__(requested_schema)


def run_step(
    con: "duckdb.DuckDBPyConnection", name: str, words: Mapping[str, str], params: Mapping[str, object] | None = None
) -> None:
    """Run every statement of pipeline/store/sql/steps/NAME.sql; upper-case words in it are filled in from `words`.

    The words are names of our own tables and columns, never anything a file brought.
    """
    for statement in _statements(name):
        wanted = set(PARAMETER.findall(statement))
        given = {key: value for key, value in (params or {}).items() if key in wanted}
        con.execute(fill_in(statement, words), given)


def fill_in(statement: str, words: Mapping[str, str]) -> str:
    """The statement with each upper-case word replaced."""
    if not words:
        return statement
    pattern = re.compile(r"\b(" + "|".join(words) + r")\b")
    return pattern.sub(lambda found: words[found.group(1)], statement)


@cache
def _statements(name: str) -> tuple[str, ...]:
    text = (STEPS / f"{name}.sql").read_text(encoding="utf-8")
    without_comments = "\n".join(line for line in text.splitlines() if not line.startswith("--"))
    return tuple(part.strip() for part in without_comments.split(";\n") if part.strip())


@cache
def column_names(kind: str) -> tuple[str, ...]:
    """The columns of a kind in the order of the record."""
    return tuple(KINDS[kind].columns())


def words_of(con: "duckdb.DuckDBPyConnection", kind: str) -> dict[str, str]:
    """What the upper-case words of a step stand for, for one kind."""
    types = dict(
        con.execute(
            "select column_name, data_type from duckdb_columns() where schema_name = 'main' and table_name = ?", [kind]
        ).fetchall()
    )
    names = column_names(kind)
    return {
        "KIND": kind,
        "OWN_KEY": _own_key(kind),
        "KEY_COLUMN": KINDS[kind].key[0],
        "AS_TEXT": ", ".join(f"{name}: {name}::varchar" for name in names),
        "FROM_TEXT": ", ".join(f"cast(understood->>'{name}' as {types[name]}) as {name}" for name in names),
        "NAMED": _named(kind),
        "EVENTS": f"events_{kind}",
        "UNUSABLE": f"unusable_{kind}",
        "TEXTS": f"texts_{kind}",
        "COLUMNS": ", ".join(names),
        "TYPED": ", ".join(f"cast({name} as {types[name]}) as {name}" for name in names),
        "DIFFERENT": " or ".join(f"candidates.{name} is distinct from {kind}.{name}" for name in names),
    }


def _named(kind: str) -> str:
    """What names a record in words: `job_id 'J1'`, or for a row without an id all that it is known by."""
    of = KINDS[kind]
    by_key, by_content = (
        "concat_ws(', ', " + ", ".join(f"'{name} ''' || {name} || ''''" for name in names) + ")"
        for names in (of.key, of.natural or of.key)
    )
    return f"case when {of.key[0]} is null then {by_content} else {by_key} end"


def _own_key(kind: str) -> str:
    """What of the key has to be stored: nothing where the id of the record is its key."""
    key = KINDS[kind].key
    return "_key" if len(key) > 1 else f"case when {key[0]} is null then _key end"
