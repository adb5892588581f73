"""The estimator's charts: estimated against actual, production rates, use of materials."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import charts, theme
from dashboards.charts import Chart, Marks, Range
from dashboards.html import Table
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.words import anchor, count, hours, number, percent, plain, word

LEAST_OPENINGS = 12
MOST_DOTS = 400


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
    body = [
        [row["opening_id"], word(row["wall_type"]), hours(row["predicted_hours"]), hours(row["actual_hours"])]
        for row in rows
    ]
    numbers = Table("Estimated and actual hours", ["Opening", "Wall", "Estimated", "Took"], body)
    summary = (
        "On the dotted line an opening took what was estimated; above it took longer. A click leads to its line below."
    )
    return Chart("predicted", sentence, figure, summary, numbers)


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
            f"{word(row['group'])}: {number(row['rate'], 2)} {row['unit']}, {count(row['openings'], 'opening')}",
        )
        for row in ordered
    ]
    figure = charts.ranges(shown, x_title=str(rows[0]["unit"]))
    body = [
        [word(row["group"]), row["openings"], number(row["low"], 2), number(row["rate"], 2), number(row["high"], 2)]
        for row in ordered
    ]
    numbers = Table(f"Rates of {plain(phase)}", ["Group", "Openings", "Low", "Rate", "High"], body)
    summary = f"{ordered[0]['unit']}; bars are 95 % ranges of the usual rate, not of a single opening."
    return Chart(f"rate-{phase}".replace("_", "-"), _rate_sentence(phase, ordered), figure, summary, numbers)


def _rate_sentence(phase: str, ordered: Sequence[Mapping[str, Any]]) -> str:
    fast, slow = ordered[0], ordered[-1]
    name = plain(phase).capitalize()
    if len(ordered) == 1:
        return f"{name} takes {number(fast['rate'], 2)} {fast['unit']}."
    if slow["low"] <= fast["high"]:
        return f"{name}: the records do not yet tell the groups apart."
    times = number(slow["rate"] / fast["rate"])
    return f"{name} takes {times} times as long per unit with {word(slow['group'])} as with {word(fast['group'])}."
