"""One look: colours for light and dark, the order of series, and the layout every chart starts from."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

# Role -> colour. Text and marks stand at 4.5:1 or more on surface and panel (WCAG 2.2, 1.4.3), a test holds it.
# Blue against orange, then lightness, then shape and dash: told apart without red or green.
LIGHT: Mapping[str, str] = MappingProxyType(
    {
        "surface": "#fbfaf6",
        "panel": "#f1eee5",
        "ink": "#1b262c",
        "soft": "#4a5861",
        "rule": "#d6d0c1",
        "blue": "#0a5580",
        "orange": "#9a3f06",
        "green": "#1a6350",
        "purple": "#6f3c78",
        "grey": "#58646b",
        "blue_wash": "#cfe1ec",
        "orange_wash": "#f3dcc7",
        "grey_wash": "#e3dfd4",
    }
)
DARK: Mapping[str, str] = MappingProxyType(
    {
        "surface": "#12191d",
        "panel": "#1b242a",
        "ink": "#ece9e1",
        "soft": "#b3bec5",
        "rule": "#37444c",
        "blue": "#7cc3ec",
        "orange": "#f2a866",
        "green": "#74cdb1",
        "purple": "#d5a6dc",
        "grey": "#a9b4bb",
        "blue_wash": "#1f4258",
        "orange_wash": "#573818",
        "grey_wash": "#2b363d",
    }
)
TEXT_ROLES = ("ink", "soft", "blue", "orange", "green", "purple", "grey")
GROUNDS = ("surface", "panel")
SERIES = (
    ("blue", "solid", "circle"),
    ("orange", "dash", "square"),
    ("green", "dot", "diamond"),
    ("purple", "dashdot", "triangle-up"),
    ("grey", "longdash", "cross"),
)

CHART_HEIGHT_PX = 330
ROW_HEIGHT_PX = 30
ROWS_MARGIN_PX = 90
FONT = "system-ui, 'Segoe UI', Roboto, 'Liberation Sans', Arial, sans-serif"
FONT_SIZE_PX = 13

# WCAG 2.2, definition of relative luminance and contrast ratio.
LINEAR_BELOW = 0.04045
LINEAR_SLOPE = 12.92
GAMMA = 2.4
OFFSET = 0.055
LUMINANCE_WEIGHTS = (0.2126, 0.7152, 0.0722)
FLARE = 0.05


def css(role: str) -> str:
    """The colour of a role as the page's own variable, so that one chart serves light, dark and paper."""
    return f"var(--{role})"


def series(position: int) -> tuple[str, str, str]:
    """Colour role, dash and symbol of the n-th series of a chart."""
    return SERIES[position % len(SERIES)]


def variables() -> str:
    """The palette as CSS: light, dark where the reader's system asks for it, light again on paper."""
    light, dark = _declarations(LIGHT), _declarations(DARK)
    return (
        f":root{{color-scheme:light dark;{light}}}\n"
        f"@media (prefers-color-scheme:dark){{:root:not(.paper){{{dark}}}}}\n"
        f"@media print{{:root:root{{color-scheme:light;{light}--surface:#fff;--panel:#fff}}}}\n"
    )


def _declarations(palette: Mapping[str, str]) -> str:
    return "".join(f"--{role}:{colour};" for role, colour in palette.items())


def luminance(colour: str) -> float:
    """Relative luminance of an #rrggbb colour, 0 black to 1 white (WCAG 2.2)."""
    shares = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = (s / LINEAR_SLOPE if s <= LINEAR_BELOW else ((s + OFFSET) / (1 + OFFSET)) ** GAMMA for s in shares)
    return sum(weight * value for weight, value in zip(LUMINANCE_WEIGHTS, linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    bright, dim = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + FLARE) / (dim + FLARE)


def axis(title: str = "", *, grid: bool = True) -> dict[str, Any]:
    """An axis in our look: quiet rules, the title with its unit."""
    return {
        "title": {"text": title, "standoff": 8, "font": {"size": FONT_SIZE_PX}},
        "showgrid": grid,
        "gridcolor": css("rule"),
        "zeroline": False,
        "linecolor": css("rule"),
        "ticks": "",
        "automargin": True,
        "fixedrange": True,
    }


def layout(x: Mapping[str, Any], y: Mapping[str, Any], *, height_px: int = CHART_HEIGHT_PX) -> dict[str, Any]:
    """What every chart starts from."""
    return {
        "height": height_px,
        "xaxis": dict(x),
        "yaxis": dict(y),
        "hovermode": "closest",
        "font": {"family": FONT, "size": FONT_SIZE_PX, "color": css("ink")},
        "paper_bgcolor": css("surface"),
        "plot_bgcolor": css("surface"),
        "margin": {"l": 8, "r": 12, "t": 12, "b": 8},
        "dragmode": False,
        "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom", "xanchor": "left"},
        "hoverlabel": {
            "bgcolor": css("panel"),
            "bordercolor": css("rule"),
            "font": {"color": css("ink")},
            "align": "left",
        },
    }


def rows_height_px(rows: int) -> int:
    """Height of a chart with one line per row."""
    return ROWS_MARGIN_PX + ROW_HEIGHT_PX * max(rows, 2)
