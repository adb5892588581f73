"""The manuals say what the code says."""

import importlib.util
import re
import subprocess
from pathlib import Path

import pytest

from pipeline.cli.main import COMMANDS

ROOT = Path(__file__).parents[2]
spec = importlib.util.spec_from_file_location("documents", Path(__file__).with_name("documents.py"))
documents = importlib.util.module_from_spec(spec)
spec.loader.exec_module(documents)


def tracked_files() -> list[Path]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [ROOT / name for name in listed.stdout.splitlines()]


def test_the_map_in_developers_is_the_code():
    """Each module's first docstring line is its line in the map; `make docs` renews it."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    assert text == documents.with_map(text)


def test_every_module_says_what_it_is():
    """No module without a first docstring line."""
    silent = [file for top in documents.TOPS for file in (ROOT / top).rglob("*.py") if not documents.first_line(file)]
    assert silent == []


def test_the_command_reference_is_the_help():
    """pipeline/README.md shows each command as `areaway COMMAND --help` does."""
    assert (ROOT / "pipeline" / "README.md").read_text() == documents.command_reference()


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_in_the_readme_table(name):
    """The README's table leads to every command."""
    assert re.search(rf"`areaway [^`]*\b{name}\b", (ROOT / "README.md").read_text())


def test_the_readme_is_short():
    """At most 100 lines."""
    assert len((ROOT / "README.md").read_text().splitlines()) <= 100


def test_a_lock_file_pins_every_package_by_hash_and_names_no_host():
    """Every requirement has a hash; no line holds an address."""
    for lock in ROOT.glob("requirements*.lock"):
        text = lock.read_text()
        requirements = re.findall(r"^[a-z0-9].*", text, flags=re.MULTILINE)
        assert len(requirements) > 10
        assert all(line.endswith("\\") for line in requirements)
        assert "://" not in text


def test_every_library_is_argued_in_developers():
    """DEVELOPERS.md names each run-time and development dependency with its reason."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    wanted = [*project["dependencies"], *(one for group in project["optional-dependencies"].values() for one in group)]
    text = (ROOT / "DEVELOPERS.md").read_text()
    names = [re.match(r"[A-Za-z0-9-]+", line).group() for line in wanted]
    assert [name for name in names if f"`{name}`" not in text] == []
    assert len(project["dependencies"]) <= 10


def test_house_limits_on_files_and_functions():
    """No file over 400 lines (data tables apart), no function over 50 lines without its docstring."""
    import ast

    data_tables = {"catalogue.py"}
    for top in documents.TOPS:
        for file in (ROOT / top).rglob("*.py"):
            lines = file.read_text().splitlines()
            assert len(lines) <= 400 or file.name in data_tables, f"{file} has {len(lines)} lines"
            for node in ast.walk(ast.parse("\n".join(lines))):
                if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
                    doc = ast.get_docstring(node, clean=False) or ""
                    length = node.end_lineno - node.lineno + 1 - len(doc.splitlines())
                    assert length <= 50, f"{file}:{node.lineno} {node.name} has {length} lines"
