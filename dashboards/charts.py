"""The kinds of chart we draw, each from plain arrays: lines, bars, ranges, spreads, a bridge, a funnel."""

import base64
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from dashboards import theme
from dashboards.html import Table, disclosure, json_block, table, too_few
from dashboards.words import esc

Values = Sequence[Any] | np.ndarray[Any, Any]


@dataclass(frozen=True)
class Marks:
    """One series: where its points stand, what a hover says, where a click leads, what is written beside a point."""

    name: str
    x: Values
    y: Values
    look: tuple[str, str, str] = theme.SERIES[0]
    mode: str = "lines+markers"
    hover: Sequence[str] = ()
    anchors: Sequence[str] = ()
    size_px: int = 7
    shape: str = "linear"
    in_legend: bool = True
    names: Sequence[str] = ()


@dataclass(frozen=True)
class Range:
    """One line of a range chart: the estimate and the two ends it may lie between."""

    label: str
    value: float
    low: float
    high: float
    hover: str = ""
    anchor: str = ""
    strong: bool = False


@dataclass(frozen=True)
class Figure:
    """A picture as the drawing library takes it: traces and layout, plain dictionaries."""

    data: Sequence[dict[str, Any]]
    layout: dict[str, Any]


@dataclass(frozen=True)
class Chart:
    """A chart under the sentence it proves; without a sentence, what is missing."""

    name: str
    sentence: str | None
    figure: Figure | None
    summary: str
    numbers: Table | None = None
    missing: str = ""
    notes: Sequence[str] = field(default_factory=tuple)


def render(chart: Chart, *, level: int = 3) -> str:
    """The chart as a figure: sentence, picture, how to read it, and the numbers behind a disclosure."""
    if chart.sentence is None or chart.figure is None:
        return too_few(chart.missing) if chart.missing else ""
    numbers = disclosure("The numbers", table(chart.numbers)) if chart.numbers and chart.numbers.rows else ""
    notes = "".join(f'<p class="note">{esc(note)}</p>' for note in chart.notes)
    height = int(chart.figure.layout["height"])
    return (
        f'<figure class="chart" id="{chart.name}"><h{level} class="claim">{esc(chart.sentence)}</h{level}>'
        f'<div class="plot" style="min-height:{height}px" role="img" aria-label="{esc(chart.summary)}"></div>'
        f"<figcaption>{esc(chart.summary)}</figcaption>{notes}{numbers}"
        f"{figure_data(chart.name, chart.figure)}</figure>"
    )


def figure_data(name: str, figure: Figure) -> str:
    """The figure as data for the page's own drawing script."""
    return json_block(f"{name}-data", figure_json(figure), look="plot-data")


def figure_json(figure: Figure) -> str:
    """A figure as JSON: arrays of numbers as base64 doubles, as the drawing library's typed arrays are written."""
    content = {"data": figure.data, "layout": figure.layout}
    return json.dumps(content, default=_json_value, separators=(",", ":"), allow_nan=False)


def _json_value(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return {"dtype": "f8", "bdata": base64.b64encode(value.astype("<f8").tobytes()).decode()}
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} cannot stand in a figure")


def _trace(marks: Marks) -> dict[str, Any]:
    role, dash, symbol = marks.look
    trace: dict[str, Any] = {
        "type": "scatter",
        "name": esc(marks.name),
        "x": _array(marks.x),
        "y": _array(marks.y),
        "mode": marks.mode,
        "showlegend": marks.in_legend,
        "line": {"color": theme.css(role), "dash": dash, "width": 2, "shape": marks.shape},
        "marker": {"color": theme.css(role), "symbol": symbol, "size": marks.size_px},
    }
    return trace | _named(marks.names) | _touch(marks.hover, marks.anchors)


def _named(names: Sequence[str]) -> dict[str, Any]:
    """Names written above and below their points in turn."""
    if not names:
        return {}
    places = [("top center", "bottom center")[at % 2] for at in range(len(names))]
    return {"text": [esc(name) for name in names], "textposition": places, "cliponaxis": False}


def _touch(hover: Sequence[str], anchors: Sequence[str]) -> dict[str, Any]:
    touch: dict[str, Any] = {"hoverinfo": "skip"}
    if len(hover):
        touch = {"hovertext": [esc(text) for text in hover], "hoverinfo": "text"}
    return touch | ({"customdata": list(anchors)} if len(anchors) else {})


def _array(values: Values) -> Any:
    if isinstance(values, np.ndarray):
        return values
    if values and all(isinstance(value, (int, float)) for value in values):
        return np.asarray(values, dtype=float)
    return [esc(value) if isinstance(value, str) else value for value in values]


def lines(series: Sequence[Marks], *, x_title: str = "", y_title: str = "") -> Figure:
    """Series over a common axis."""
    layout = theme.layout(theme.axis(x_title, grid=False), theme.axis(y_title))
    layout["showlegend"] = len(series) > 1
    return Figure([_trace(marks) for marks in series], layout)


def with_format(figure: Figure, *, x: str = "", y: str = "") -> Figure:
    """The same figure with number formats on its axes (d3 notation: `.0%`, `$,.0f`)."""
    for name, form in (("xaxis", x), ("yaxis", y)):
        if form:
            figure = _with_axis(figure, name, {"tickformat": form})
    return figure


def from_zero(figure: Figure) -> Figure:
    """The same figure with its x axis from zero, so that "times as long" can be seen."""
    return _with_axis(figure, "xaxis", {"rangemode": "tozero"})


def with_every_year(figure: Figure) -> Figure:
    """The same figure with each year of its x axis named."""
    return _with_axis(figure, "xaxis", {"tickformat": "d", "dtick": 1})


def with_y_range(figure: Figure, low: float, high: float) -> Figure:
    """The same figure with its y axis from low to high."""
    return _with_axis(figure, "yaxis", {"range": [low, high]})


def _with_axis(figure: Figure, name: str, more: Mapping[str, Any]) -> Figure:
    return Figure(figure.data, figure.layout | {name: {**figure.layout[name], **more}})


def _with_shape(figure: Figure, shape: Mapping[str, Any]) -> Figure:
    return Figure(figure.data, figure.layout | {"shapes": [*figure.layout.get("shapes", ()), dict(shape)]})


def with_y_ends(figure: Figure, low: Sequence[float], high: Sequence[float]) -> Figure:
    """The same figure with the range of each point of its first series."""
    value = np.asarray(figure.data[0]["y"], dtype=float)
    bar = {
        "type": "data",
        "symmetric": False,
        "array": np.asarray(high) - value,
        "arrayminus": value - np.asarray(low),
        "color": theme.css("grey"),
        "thickness": 1.5,
        "width": 3,
    }
    return Figure([figure.data[0] | {"error_y": bar}, *figure.data[1:]], figure.layout)


def with_line(figure: Figure, *, x: float | None = None, y: float | None = None) -> Figure:
    """The same figure with a reference line across it."""
    across = {"line": {"color": theme.css("soft"), "width": 1.5, "dash": "dot"}, "layer": "below"}
    if x is not None:
        figure = _with_shape(figure, {"type": "line", "x0": x, "x1": x, "y0": 0, "y1": 1, "yref": "paper", **across})
    if y is not None:
        figure = _with_shape(figure, {"type": "line", "y0": y, "y1": y, "x0": 0, "x1": 1, "xref": "paper", **across})
    return figure


def with_band(figure: Figure, low: float, high: float) -> Figure:
    """The same figure with a shaded stretch of the x axis behind it."""
    stretch = {"type": "rect", "x0": low, "x1": high, "y0": 0, "y1": 1, "yref": "paper"}
    look = {"layer": "below", "line": {"width": 0}, "fillcolor": theme.css("orange_wash")}
    return _with_shape(figure, stretch | look)


def bars(
    labels: Sequence[str],
    values: Sequence[float | None],
    *,
    hover: Sequence[str] = (),
    marked: int | None = -1,
    y_title: str = "",
) -> Figure:
    """One upright bar per label; the marked one stands out."""
    at = marked % len(labels) if marked is not None and labels else -1
    fills = [theme.css("blue" if number == at else "blue_wash") for number in range(len(labels))]
    trace = {
        "type": "bar",
        "x": [esc(label) for label in labels],
        "y": list(values),
        "marker": {"color": fills, "line": {"color": theme.css("blue"), "width": 1.2}},
    } | _touch(hover, ())
    return Figure([trace], theme.layout(theme.axis(grid=False), theme.axis(y_title)) | {"bargap": 0.35})


def ranges(rows: Sequence[Range], *, x_title: str, reference: float | None = None, log: bool = False) -> Figure:
    """One line per row, top row first: the estimate as a dot, its range as a bar."""
    shown = list(rows)[::-1]
    groups = [([row for row in shown if row.strong], "orange"), ([row for row in shown if not row.strong], "blue")]
    layout = theme.layout(theme.axis(x_title), theme.axis(grid=False), height_px=theme.rows_height_px(len(rows)))
    layout["showlegend"] = False
    layout["yaxis"] |= {"categoryorder": "array", "categoryarray": [esc(row.label) for row in shown]}
    layout["yaxis"]["range"] = [-0.6, len(shown) - 0.4]  # no row on the frame
    if log:
        layout["xaxis"] |= {
            "type": "log",
            "tickvals": [0.1, 0.25, 0.5, 1, 2, 4, 8, 16],
            "ticktext": ["0.1", "¼", "½", "1", "2", "4", "8", "16"],
        }
    figure = Figure([_range_trace(members, role) for members, role in groups if members], layout)
    return figure if reference is None else with_line(figure, x=reference)


def _range_trace(rows: Sequence[Range], role: str) -> dict[str, Any]:
    value = np.array([row.value for row in rows])
    bar = {
        "type": "data",
        "symmetric": False,
        "array": np.array([row.high for row in rows]) - value,
        "arrayminus": value - np.array([row.low for row in rows]),
        "color": theme.css(role),
        "thickness": 3,
        "width": 0,
    }
    return {
        "type": "scatter",
        "mode": "markers",
        "x": value,
        "y": [esc(row.label) for row in rows],
        "error_x": bar,
        "marker": {"color": theme.css(role), "size": 10, "symbol": "diamond" if role == "orange" else "circle"},
    } | _touch([row.hover for row in rows], [row.anchor for row in rows])


def bridge(steps: Sequence[tuple[str, float]], *, ends: tuple[str, str], start: float) -> Figure:
    """From one amount to another, step by step: what took money away in orange, what added some in blue."""
    labels = [ends[0], *(name for name, _ in steps), ends[1]]
    levels = np.cumsum([start, *(amount for _, amount in steps)])
    bases = np.array([0.0, *np.minimum(levels[:-1], levels[1:]), 0.0])
    sizes = np.array([levels[0], *np.abs(np.diff(levels)), levels[-1]])
    roles = ["grey", *("blue" if amount >= 0 else "orange" for _, amount in steps), "grey"]
    amounts = [levels[0], *(amount for _, amount in steps), levels[-1]]
    trace = {
        "type": "bar",
        "orientation": "h",
        "y": [esc(label) for label in labels],
        "x": sizes,
        "base": bases.tolist(),
        "marker": {"color": [theme.css(role) for role in roles]},
        "text": [_dollars(a) for a in amounts],
        "textposition": "outside",
        "cliponaxis": False,
        "textfont": {"color": theme.css("ink")},
    } | _touch([f"{label}: {_dollars(a)}" for label, a in zip(labels, amounts, strict=True)], ())
    layout = theme.layout(theme.axis("USD"), theme.axis(grid=False), height_px=theme.rows_height_px(len(labels)))
    layout["yaxis"] |= {"autorange": "reversed"}
    layout["xaxis"] |= {"tickformat": "$,.0s", "nticks": 6}
    layout["margin"] |= {"r": 70}
    return Figure([trace], layout)


def _dollars(amount: float) -> str:
    from dashboards.words import usd

    return usd(amount)


def spread(groups: Sequence[tuple[str, Values]], *, x_title: str, dots: Sequence[Marks] = ()) -> Figure:
    """One box per group from its own quartiles (5, 25, 50, 75, 95 %), with single jobs as dots over it."""
    traces: list[dict[str, Any]] = []
    for label, values in groups:
        p05, q1, median, q3, p95 = np.quantile(np.asarray(values, dtype=float), [0.05, 0.25, 0.5, 0.75, 0.95])
        traces.append(
            {
                "type": "box",
                "orientation": "h",
                "y": [esc(label)],
                "q1": [q1],
                "median": [median],
                "q3": [q3],
                "lowerfence": [p05],
                "upperfence": [p95],
                "fillcolor": theme.css("blue_wash"),
                "hoverinfo": "skip",
                "line": {"color": theme.css("blue"), "width": 1.5},
                "whiskerwidth": 0.4,
                "width": 0.6,
            }
        )
    traces += [_trace(marks) | {"opacity": 0.75} for marks in dots]
    layout = theme.layout(theme.axis(x_title), theme.axis(grid=False), height_px=60 + 62 * max(len(groups), 2))
    layout["showlegend"] = False
    layout["yaxis"] |= {"categoryorder": "array", "categoryarray": [esc(label) for label, _ in groups][::-1]}
    return Figure(traces, layout)
