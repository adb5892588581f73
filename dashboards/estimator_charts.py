"""The estimator's charts: estimated against actual, production rates, use of materials."""

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from dashboards import charts, theme
from dashboards.charts import Chart, Marks, Range
from dashboards.html import Cell, Raw, Table
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.words import GAP, anchor, count, esc, hours, number, percent, plain, word

LEAST_OPENINGS = 12
MOST_DOTS = 400
GROUPS_SAID: Mapping[str, str] = MappingProxyType(
    {
        "hand": "by hand",
        "machine": "by machine",
        "poured_concrete": "in poured concrete",
        "concrete_block": "in concrete block",
        "brick": "in brick",
        "stone": "in stone",
        "wood_foundation": "in a wood foundation",
        "steel": "with a steel well",
        "composite": "with a composite well",
        "masonry": "with a masonry well",
        "timber": "with a timber well",
        "gravel_pit": "with a gravel pit",
        "footing_drain": "with a footing drain",
        "sump": "with a sump",
        "none": "without any",
    }
)


def accuracy(parts: Parts) -> list[Chart]:
    """How estimates made in advance compared with what happened."""
    return [predicted_against_actual(parts)]


def rates(parts: Parts) -> list[Chart]:
    """What a unit of each phase takes."""
    return production_rates(parts)


def listed(parts: Parts) -> list[Mapping[str, Any]]:
    """Openings kept back, the widest misses first, at most as many as a page can list."""
    rows = [row for row in rows_of(parts, "holdout") if row["actual_hours"] and row["predicted_hours"]]
    return sorted(rows, key=lambda row: -abs(math.log(row["actual_hours"] / row["predicted_hours"])))[:MOST_DOTS]


def predicted_against_actual(parts: Parts) -> Chart:
    """Each opening kept back: estimated hours across, actual hours up."""
    rows = listed(parts)
    if len(rows) < LEAST_OPENINGS:
        needed = f"Checking estimates needs {LEAST_OPENINGS} openings kept back from the fit; there are {len(rows)}."
        return Chart(
            "predicted", None, None, "", missing=needed if have(parts, "holdout") else missing(parts, "holdout")
        )
    walls = sorted({str(row["wall_type"]) for row in rows})
    series = [_wall_marks(rows, wall, at) for at, wall in enumerate(walls)]
    ends = [min(row["predicted_hours"] for row in rows), max(row["predicted_hours"] for row in rows)]
    series.append(Marks("as estimated", ends, ends, ("soft", "dot", "circle"), "lines"))
    figure = charts.lines(series, x_title="estimated hours", y_title="actual hours")
    inside = sum(row["low"] <= row["actual_hours"] <= row["high"] for row in rows)
    share = percent(inside / len(rows))
    sentence = f"Of {count(len(rows), 'opening')} kept back, {inside} ended inside their 8-in-10 range ({share})."
    summary = (
        "On the dotted line an opening took what was estimated; above it took longer. A click leads to its numbers."
    )
    return Chart("predicted", sentence, figure, summary, _openings(rows))


def _openings(rows: Sequence[Mapping[str, Any]]) -> Table:
    body: list[list[Cell]] = [
        [
            Raw(f"<b>{esc(row['opening_id'])}</b>"),
            word(row["wall_type"]),
            hours(row["predicted_hours"]),
            f"{number(row['low'])} to {hours(row['high'])}",
            hours(row["actual_hours"]),
        ]
        for row in rows
    ]
    headers = ["Opening", "Wall", "Estimated", "8 times in 10 between", "Took"]
    places = [anchor("opening", row["opening_id"]) for row in rows]
    return Table("Openings kept back, the widest misses first", headers, body, places)


def _wall_marks(rows: Sequence[Mapping[str, Any]], wall: str, at: int) -> Marks:
    mine = [row for row in rows if row["wall_type"] == wall]
    hover = [
        f"opening {row['opening_id']}: estimated {hours(row['predicted_hours'])}, took {hours(row['actual_hours'])}"
        for row in mine
    ]
    anchors = [anchor("opening", row["opening_id"]) for row in mine]
    x, y = [row["predicted_hours"] for row in mine], [row["actual_hours"] for row in mine]
    return Marks(word(wall), x, y, theme.series(at), "markers", hover, anchors, size_px=6)


def production_rates(parts: Parts) -> list[Chart]:
    """One chart per phase whose pace differs by wall, dig or well: hours per unit of work."""
    if have(parts, "rates") is None:
        return [Chart("rates", None, None, "", missing=missing(parts, "rates"))]
    phases = list(dict.fromkeys(str(row["phase"]) for row in rows_of(parts, "rates")))
    return [_rate_chart(phase, [row for row in rows_of(parts, "rates") if row["phase"] == phase]) for phase in phases]


def _rate_chart(phase: str, rows: Sequence[Mapping[str, Any]]) -> Chart:
    ordered = sorted(rows, key=lambda row: float(row["rate"]))
    shown = [
        Range(
            word(row["group"]),
            row["rate"],
            row["low"],
            row["high"],
            f"{word(row['group'])}: {rate(row['rate'])} {row['unit']}, {count(row['openings'], 'opening')}",
        )
        for row in ordered
    ]
    figure = charts.from_zero(charts.ranges(shown, x_title=str(rows[0]["unit"])))
    body = [
        [word(row["group"]), row["openings"], rate(row["rate"]), f"{rate(row['low'])} to {rate(row['high'])}"]
        for row in ordered
    ]
    numbers = Table(
        f"{plain(phase).capitalize()}, {ordered[0]['unit']}", ["Group", "Openings", "Rate", "95 % range"], body
    )
    unit = str(ordered[0]["unit"]).replace("h per", "Hours per", 1)
    summary = f"{unit}. A bar is where the usual rate may lie; a single opening varies more."
    return Chart(f"rate-{phase}".replace("_", "-"), _rate_sentence(phase, ordered), figure, summary, numbers)


def rate(value: float) -> str:
    """A rate to three figures that count: 0.0433, 1.30, 105."""
    return f"{value:#.3g}".removesuffix(".")


def _rate_sentence(phase: str, ordered: Sequence[Mapping[str, Any]]) -> str:
    fast, slow = ordered[0], ordered[-1]
    name = plain(phase).capitalize()
    if len(ordered) == 1:
        return f"{name} takes {rate(fast['rate'])} {fast['unit']}."
    if slow["low"] <= fast["high"]:
        return f"{name}: the records do not yet tell the groups apart."
    times, unit = number(slow["rate"] / fast["rate"]), kept_together(str(fast["unit"]).removeprefix("h "))
    return f"{name} takes {times} times as long {unit} {_said(slow)} as {_said(fast)}."


def kept_together(unit: str) -> str:
    """A unit of two words that no line end parts: sq ft, cu yd."""
    return unit.replace("sq ", f"sq{GAP}").replace("cu ", f"cu{GAP}")


def _said(row: Mapping[str, Any]) -> str:
    return GROUPS_SAID.get(str(row["group"]), f"with {word(row['group'])}")
