"""Charts are written as plain dictionaries; plotly's own checks of every property and value find nothing in them."""

import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from plotly.graph_objects import Figure

from pipeline.settings import Settings

BLOCK = re.compile(r'<script type="application/json" id="([^"]+)-data" class="plot-data">(.*?)</script>', re.DOTALL)
COLOUR_OF_THE_PAGE = re.compile(r"var\(--[a-z0-9-]+\)")  # put in by the page's script


def figures(folder: Path) -> dict[str, dict[str, Any]]:
    """Every chart of the pages in a folder, by page and name, its colours put in."""
    return {
        f"{page.stem} {html.unescape(name)}": json.loads(COLOUR_OF_THE_PAGE.sub("#123456", text))
        for page in sorted(folder.glob("*.html"))
        for name, text in BLOCK.findall(page.read_text(encoding="utf-8"))
    }


def test_plotly_accepts_every_figure_of_the_pages(folder: Path, firm: tuple[Path, Settings, Path]) -> None:
    """The sample with every chart, and the pages of a fitted book."""
    full, fitted = figures(folder), figures(firm[2])
    assert len(full) >= 12 and len(fitted) >= 10
    for name, figure in [*full.items(), *fitted.items()]:
        try:
            Figure(figure)
        except ValueError as error:
            pytest.fail(f"{name}: {error}")


def test_plotly_refuses_a_property_that_does_not_exist(folder: Path) -> None:
    """The check can fail: a misspelt property of a trace, of an axis, a word that is no value."""
    figure = next(iter(figures(folder).values()))
    for wrong in ({"colour": "red"}, {"mode": "dots"}, {"marker": {"sizes": 3}}):
        with pytest.raises(ValueError):
            Figure({"data": [{"type": "scatter", **wrong}], "layout": figure["layout"]})
    with pytest.raises(ValueError):
        Figure({"data": figure["data"], "layout": {"yaxis": {"titel": "hours"}}})
