"""Writes the parts of the manuals that the code already knows: the map and the command reference."""

import ast
import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
MAP_START, MAP_END = "<!-- map: made by `make docs` -->", "<!-- end of map -->"
TOPS = ("schemas", "pipeline", "dashboards", "sample_data")


def first_line(file: Path) -> str:
    """The first line of a module's docstring."""
    docstring = ast.get_docstring(ast.parse(file.read_text())) or ""
    return docstring.strip().split("\n")[0]


def the_map() -> str:
    """One line per module, folder by folder, in the order of a job's life."""
    lines = []
    for top in TOPS:
        for folder in sorted({file.parent for file in (ROOT / top).rglob("*.py")}):
            lines.append(f"\n**{folder.relative_to(ROOT)}/** {first_line(folder / '__init__.py')}\n")
            modules = [file for file in sorted(folder.glob("*.py")) if file.name != "__init__.py"]
            lines += [f"- `{file.name}`: {first_line(file)}" for file in modules]
    return "\n".join(lines).strip()


def with_map(text: str) -> str:
    """DEVELOPERS.md with a fresh map between its markers."""
    before, rest = text.split(MAP_START)
    after = rest.split(MAP_END)[1]
    return f"{before}{MAP_START}\n{the_map()}\n{MAP_END}{after}"


def command_reference() -> str:
    """pipeline/README.md: every command with its help."""
    from typer.testing import CliRunner

    from pipeline.cli.main import COMMANDS, app

    parts = [
        "# Commands\n",
        "Made by `make docs` from the help of each command; a test fails when it is stale.",
        "Every command but `demo` takes `--json`; `areaway --book FILE --settings FILE COMMAND …`.\n",
    ]
    for name, (_, summary) in COMMANDS.items():
        shown = CliRunner().invoke(app, [name, "--help"], prog_name="areaway", env={"COLUMNS": "100", "TERM": "dumb"})
        assert shown.exit_code == 0, shown.output
        help_text = re.sub(r"[ \t]+$", "", shown.output, flags=re.MULTILINE).strip()
        parts.append(f"## {name}\n{summary}\n\n```\n{help_text}\n```\n")
    return "\n".join(parts)


def main() -> None:
    """Write both."""
    developers = ROOT / "DEVELOPERS.md"
    developers.write_text(with_map(developers.read_text()))
    (ROOT / "pipeline" / "README.md").write_text(command_reference())


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
