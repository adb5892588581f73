"""The layout of the book: numbered migrations, shared views applied when their text changed, whose file it is."""

import hashlib
from datetime import datetime
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import TYPE_CHECKING

from pipeline.errors import BookUnusable

if TYPE_CHECKING:
    from pathlib import Path

    import duckdb

STORE = files("pipeline.store")
LEDGER = """
create table if not exists schema_steps (step varchar primary key, applied_at timestamp);
create table if not exists shared_views (name varchar primary key, text_hash varchar)
"""


def is_fresh(con: "duckdb.DuckDBPyConnection") -> bool:
    """Whether the file holds no table at all yet."""
    return not con.execute("select 1 from duckdb_tables() limit 1").fetchall()


def check_ours(con: "duckdb.DuckDBPyConnection", path: "Path") -> None:
    """Refuse a database that another program made, or a newer version of this one.

    errors: BookUnusable; the file stays as it was
    """
    if not con.execute("select 1 from duckdb_tables() where table_name = 'schema_steps'").fetchall():
        raise BookUnusable(
            f"{path} is a database, but not a book of areaway; it stays as it was. Give another file with --book"
        )
    newer = sorted(_applied(con) - {step.name for step in _texts("migrations")})
    if newer:
        raise BookUnusable(f"the book {path} was written by a newer areaway (layout {newer[-1]}); install that version")


def is_current(con: "duckdb.DuckDBPyConnection") -> bool:
    """Whether every migration and every shared view is in the book as this version has it."""
    if not con.execute("select 1 from duckdb_tables() where table_name = 'shared_views'").fetchall():
        return False
    pending = {step.name for step in _texts("migrations")} - _applied(con)
    return not pending and _view_hashes(con) == {view.name: _hash(view) for view in _texts("sql/views")}


def bring_up_to_date(con: "duckdb.DuckDBPyConnection") -> None:
    """Run the numbered steps that are not in the book yet and the views whose text changed: all, or nothing."""
    con.execute("begin transaction")
    con.execute(LEDGER)
    applied = _applied(con)
    for step in _texts("migrations"):
        if step.name not in applied:
            con.execute(step.read_text(encoding="utf-8"))
            con.execute("insert into schema_steps values (?, ?)", [step.name, datetime.now()])
    _apply_views(con)
    con.execute("commit")


def schema_version(con: "duckdb.DuckDBPyConnection") -> int:
    """The number of the newest migration in the book."""
    return max((int(name[:4]) for name in _applied(con)), default=0)


def _apply_views(con: "duckdb.DuckDBPyConnection") -> None:
    """A changed view means all are made anew, since one may be built on another."""
    hashes = {view.name: _hash(view) for view in _texts("sql/views")}
    if _view_hashes(con) == hashes:
        return
    for view in _texts("sql/views"):
        con.execute(view.read_text(encoding="utf-8"))
    con.execute("delete from shared_views")
    con.executemany("insert into shared_views values (?, ?)", [list(pair) for pair in hashes.items()])


def _texts(folder: str) -> list[Traversable]:
    place = STORE.joinpath(*folder.split("/"))
    found = [file for file in place.iterdir() if file.name.endswith(".sql")] if place.is_dir() else []
    return sorted(found, key=lambda file: file.name)


def _hash(view: Traversable) -> str:
    return hashlib.sha256(view.read_bytes()).hexdigest()


def _applied(con: "duckdb.DuckDBPyConnection") -> set[str]:
    return {name for (name,) in con.execute("select step from schema_steps").fetchall()}


def _view_hashes(con: "duckdb.DuckDBPyConnection") -> dict[str, str]:
    return dict(con.execute("select name, text_hash from shared_views").fetchall())
