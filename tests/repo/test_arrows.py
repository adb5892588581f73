"""The arrows of the house: who may import whom, and no circles."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ALLOWED = {
    "schemas": set(),
    "pipeline.errors": set(),
    "pipeline.settings": {"schemas"},
    "pipeline.intake": {"schemas", "pipeline.settings"},
    "pipeline.store": {"schemas", "pipeline.settings"},
    "pipeline.takeoff": {"schemas"},
    "pipeline.costing": {"schemas"},
    "pipeline.estimators": {"pipeline.takeoff", "schemas"},
    "pipeline.callbacks": {"schemas"},
    "pipeline.quote": {"pipeline.takeoff", "pipeline.estimators", "pipeline.callbacks", "schemas"},
    "pipeline.runs": {
        "pipeline.settings", "pipeline.intake", "pipeline.store", "pipeline.takeoff", "pipeline.costing",
        "pipeline.estimators", "pipeline.callbacks", "pipeline.quote", "dashboards", "schemas", "sample_data",
    },
    "pipeline.cli": {"pipeline.runs", "pipeline.settings", "schemas"},  # schemas: shapes of results, for types
    "dashboards": {"schemas"},
    "sample_data": set(),
}  # fmt: skip
LIGHT = ("schemas/vocab.py", "schemas/units.py", "schemas/results*.py")


def source_files() -> list[Path]:
    return [file for top in ("pipeline", "schemas", "dashboards", "sample_data") for file in (ROOT / top).rglob("*.py")]


def module_name(file: Path) -> str:
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(file: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(file.read_text())):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file} imports by dots; write the whole name"
            found |= {node.module} | {f"{node.module}.{name.name}" for name in node.names}
    return found


def room_of(module: str) -> str | None:
    """The folder of the house a module belongs to, or None for a library."""
    rooms = [room for room in ALLOWED if module == room or module.startswith(room + ".")]
    return max(rooms, key=len, default=None)


@pytest.mark.parametrize("file", source_files(), ids=lambda file: str(file.relative_to(ROOT)))
def test_a_file_imports_only_along_the_arrows(file):
    """A file imports its own folder, the folders its arrows point to, and pipeline.errors."""
    here = room_of(module_name(file))
    if here is None:
        assert module_name(file) == "pipeline"
        return
    rooms = {room_of(name) for name in imports_of(file)} - {None, here, "pipeline.errors"}
    assert rooms <= ALLOWED[here], f"{here} may not import {rooms - ALLOWED[here]}"


def test_no_module_imports_itself_in_a_circle():
    """Following the imports at the head of each file never leads back to where one started."""
    modules = {module_name(file): imports_of(file) for file in source_files()}
    edges = {name: {other for other in imports if other in modules} - {name} for name, imports in modules.items()}
    while edges:
        leaves = {name for name, others in edges.items() if not others & set(edges)}
        assert leaves, f"a circle among {sorted(edges)}"
        edges = {name: others for name, others in edges.items() if name not in leaves}


def test_shared_words_and_shapes_stay_light():
    """vocab, units and results load no pandera, so that a quote starts quickly."""
    for pattern in LIGHT:
        for file in ROOT.glob(pattern):
            heavy = {name.split(".")[0] for name in imports_of(file)} & {"pandera", "polars", "plotly", "scipy"}
            assert not heavy, f"{file.name} imports {heavy}"


def test_calculating_folders_open_nothing_and_print_nothing():
    """No open, print or clock in the folders that calculate."""
    forbidden = {"open", "print", "input"}
    for folder in ("takeoff", "costing", "estimators", "callbacks", "quote"):
        for file in (ROOT / "pipeline" / folder).rglob("*.py"):
            calls = [node for node in ast.walk(ast.parse(file.read_text())) if isinstance(node, ast.Call)]
            names = {node.func.id for node in calls if isinstance(node.func, ast.Name)}
            assert not names & forbidden, f"{file} calls {names & forbidden}"
            methods = {node.func.attr for node in calls if isinstance(node.func, ast.Attribute)}
            clock = methods & {"now", "today", "utcnow"}
            assert not clock, f"{file} looks at the clock"
