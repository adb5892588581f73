"""The warranty page's charts of habits: patterns as ranges around 1, torque against fit calls, the crews' funnel."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import charts, theme
from dashboards.charts import Chart, Marks, Range
from dashboards.html import Table
from dashboards.parts import IF_CAUSAL, Parts, attributed_cost, claim, fact, have, missing, pattern_rows, rows_of
from dashboards.words import anchor, count, number, plain, rare, sentence_case

MOST_ROWS = 300
MOST_PATTERNS = 14
LEAST_EVENTS = 5
NORMAL_95 = 1.96
MOST_NAMES = 8
HIGHEST_LIMIT_SHOWN = 3.0
RANGE_ABOVE_HIGHEST = 2.0
FUNNEL_TAILS = ((0.025, "95 %"), (0.001, "99.8 %"))  # Spiegelhalter 2005, funnel plots: watch and act


def habits(parts: Parts) -> list[Chart]:
    """What goes with callbacks: patterns, torque."""
    return [patterns_around_one(parts), torque(parts)]


def patterns_around_one(parts: Parts) -> Chart:
    """Each testable pattern as a range around 1; flagged ones stand out."""
    rows = [row for row in pattern_rows(parts) if row["hazard_ratio"] is not None]
    if not rows:
        needed = "No pattern can be tested yet: a cause needs at least 5 callbacks with their check cards filled in."
        return Chart(
            "patterns-chart", None, None, "", missing=needed if have(parts, "patterns") else missing(parts, "patterns")
        )
    shown = sorted(rows, key=lambda row: (not row["flagged"], -row["hazard_ratio"], row["pattern"]))[:MOST_PATTERNS]
    places = [
        Range(
            f"{sentence_case(fact(row))} ({row['cause']})",
            row["hazard_ratio"],
            row["low"],
            row["high"],
            _pattern_hover(row),
            anchor("pattern", f"{row['pattern']}-{row['cause']}"),
            bool(row["flagged"]),
        )
        for row in shown
    ]
    figure = charts.ranges(places, x_title="times as often", reference=1, log=True)
    body = [
        [
            fact(row),
            row["cause"],
            number(row["low"]),
            number(row["hazard_ratio"]),
            number(row["high"]),
            row["callbacks_with"],
            attributed_cost(row),
        ]
        for row in shown
    ]
    numbers = Table(
        "Patterns as ranges",
        ["Pattern", "Cause", "Low", "Ratio", "High", "Callbacks with it", f"Cost so far, {IF_CAUSAL}"],
        body,
    )
    summary = (
        "1 means as often as without it; the bar is the range. Orange stands out after allowing for crew, wall, age "
        "and the other patterns."
    )
    return Chart("patterns-chart", _pattern_sentence(shown), figure, summary, numbers)


def _pattern_hover(row: Mapping[str, Any]) -> str:
    return (
        f"{fact(row)}, {row['cause']}: {number(row['hazard_ratio'])} times "
        f"({number(row['low'])} to {number(row['high'])}), "
        f"{count(row['callbacks_with'], 'callback')} on {count(row['openings_with'], 'opening')}"
    )


def _pattern_sentence(shown: Sequence[Mapping[str, Any]]) -> str:
    strong = [row for row in shown if row["flagged"]]
    if not strong:
        return "No pattern stands clear of 1 yet; too early to tell."
    first = strong[0]
    return claim(first) or (
        f"Where {fact(first)}, {first['cause']} callbacks came {number(first['hazard_ratio'])} "
        f"times as often ({number(first['low'])} to {number(first['high'])})."
    )


def torque(parts: Parts) -> Chart:
    """Fit callbacks per opening-year by highest anchor torque, with the threshold and its range."""
    found = have(parts, "torque")
    bins = [row for row in rows_of(parts, "torque") if row["opening_years"] > 0]
    if found is None or sum(row["callbacks"] for row in bins) < LEAST_EVENTS:
        needed = f"Torque against fit calls needs {LEAST_EVENTS} fit callbacks on openings with a torque reading."
        return Chart("torque", None, None, "", missing=missing(parts, "torque") if found is None else needed)
    x = [row["torque_lbft"] for row in bins]
    rate = [100 * row["callbacks"] / row["opening_years"] for row in bins]
    hover = [
        f"{row['low']:g} to {row['high']:g} lbf·ft: {count(row['callbacks'], 'fit callback')} on "
        f"{count(row['openings'], 'opening')}"
        for row in bins
    ]
    ends = [[100 * end / row["opening_years"] for end in byar_limits(row["callbacks"])] for row in bins]
    figure = charts.lines(
        [Marks("fit callbacks", x, rate, theme.series(0), "lines+markers", hover)],
        x_title="highest anchor torque, lbf·ft",
        y_title="fit callbacks a year per 100 openings",
    )
    figure = charts.with_y_ends(figure, [low for low, _ in ends], [high for _, high in ends])
    figure = charts.with_y_range(figure, 0, RANGE_ABOVE_HIGHEST * max(rate))  # a bar may leave the picture at the top
    threshold = found.get("threshold")
    if threshold is not None:
        figure = charts.with_line(
            charts.with_band(figure, found["threshold_low"], found["threshold_high"]), x=threshold
        )
    body = [
        [f"{row['low']:g} to {row['high']:g}", row["openings"], row["callbacks"], _with_range(row, value, end)]
        for row, value, end in zip(bins, rate, ends, strict=True)
    ]
    headers = ["lbf·ft", "Openings", "Fit callbacks", "A year per 100 openings (range)"]
    numbers = Table("Fit callbacks by torque", headers, body)
    summary = (
        "The dotted line is the torque above which fit calls rise, the shaded stretch where it may lie. Thin bars are "
        "where each point may lie, 19 times in 20."
    )
    return Chart(
        "torque",
        _torque_sentence(found),
        figure,
        summary if threshold is not None else "One point per step of torque; bars are where it may lie, 19 in 20.",
        numbers,
    )


def byar_limits(events: int) -> tuple[float, float]:
    """Where the mean of a count may lie, 95 %.

    source: Byar's approximation (Rothman and Boice 1979, from memory), as in the page's script; 0 below for no event
    """

    def end(k: float, z: float) -> float:
        return float(k * (1 - 1 / (9 * k) + z / (3 * math.sqrt(k))) ** 3)

    return (end(events, -NORMAL_95) if events else 0.0), end(events + 1, NORMAL_95)


def _with_range(row: Mapping[str, Any], rate: float, ends: Sequence[float]) -> str:
    if row["callbacks"] < LEAST_EVENTS:
        return f"too few ({number(ends[0])} to {number(ends[1])})"
    return f"{number(rate)} ({number(ends[0])} to {number(ends[1])})"


def _torque_sentence(found: Mapping[str, Any]) -> str:
    if found.get("threshold") is None:
        return "No torque limit can be placed yet from these records."
    return (
        f"Fit callbacks rise above {found['threshold']:g} lbf·ft (likely between {found['threshold_low']:g} and "
        f"{found['threshold_high']:g}); the anchor maker's sheet comes first."
    )


def poisson_limits(mean: float, tail: float) -> tuple[float, float]:
    """Counts that cut off `tail` on either side of a Poisson variable with this mean, interpolated between counts.

    source: exact probabilities e^-m m^k / k!; interpolation of Spiegelhalter 2005, appendix A.1 (from memory)
    """
    return max(_poisson_point(mean, tail), 0.0), _poisson_point(mean, 1 - tail)


def _poisson_point(mean: float, share: float) -> float:
    k, term = 0, math.exp(-mean)
    below = term
    while below < share:
        k += 1
        term *= mean / k
        below += term
    return k - (below - share) / term


def crews_funnel(parts: Parts) -> Chart:
    """Callbacks of each crew against what its mix of work would give."""
    rows = [row for row in rows_of(parts, "crews") if row["expected"] and row["ratio"] is not None]
    if not rows:
        return Chart("funnel", None, None, "", missing=missing(parts, "crews"))
    reach = min(row["expected"] for row in rows) * 0.85, max(row["expected"] for row in rows) * 1.15
    series = [line for tail, name in FUNNEL_TAILS for line in _funnel_lines(reach, tail, name)]
    series.append(_crew_marks(rows))
    figure = charts.with_line(
        charts.lines(series, x_title="callbacks their work would give", y_title="callbacks as a multiple of that"), y=1
    )
    figure = charts.with_y_range(figure, 0, _funnel_top(rows, reach[0]))
    body = [
        [
            row["crew"],
            row["openings"],
            row["callbacks"],
            number(row["expected"]),
            number(row["shrunk_ratio"], 2),
            f"{number(row['low'], 2)} to {number(row['high'], 2)}",
            plain(row["level"] or ""),
            rare(row["chance_alone"]),
        ]
        for row in rows
    ]
    headers = [
        "Crew",
        "Openings",
        "Callbacks",
        "Their work would give",
        "Ratio, allowing for chance",
        "Range",
        "Level",
        "An ordinary crew shows so",
    ]
    summary = (
        "Each point is a crew; between the dotted lines it may lie by chance. "
        "Walls, soil, depth and age are allowed for. "
        "A point outside is a reason to look at the work together, never a ranking."
    )
    return Chart(
        "funnel", _crews_sentence(rows), figure, summary, Table("Crews against their mix of work", headers, body)
    )


def _funnel_top(rows: Sequence[Mapping[str, Any]], least: float) -> float:
    """Upper end of the picture: every crew, and the limits as far as they do not run away at small counts."""
    limits = poisson_limits(least, FUNNEL_TAILS[-1][0])[1] / least
    return 1.15 * max(*(float(row["ratio"]) for row in rows), min(limits, HIGHEST_LIMIT_SHOWN))


def _funnel_lines(reach: tuple[float, float], tail: float, name: str) -> list[Marks]:
    low, top = reach
    means = [low + (top - low) * step / 60 for step in range(61)]
    ends = [poisson_limits(mean, tail) for mean in means]
    look = ("grey", "dot" if tail > FUNNEL_TAILS[1][0] else "dash", "circle")
    return [
        Marks(f"{name} limits", means, [end[1] / mean for end, mean in zip(ends, means, strict=True)], look, "lines"),
        Marks(
            f"{name} lower",
            means,
            [end[0] / mean for end, mean in zip(ends, means, strict=True)],
            look,
            "lines",
            in_legend=False,
        ),
    ]


def _crew_marks(crews: Sequence[Mapping[str, Any]]) -> Marks:
    rows = sorted(crews, key=lambda row: float(row["expected"]))  # names above and below in turn stay apart
    hover = [
        f"{row['crew']}: {count(row['callbacks'], 'callback')}, {number(row['expected'])} expected from their work"
        for row in rows
    ]
    return Marks(
        "crews",
        [row["expected"] for row in rows],
        [row["ratio"] for row in rows],
        theme.series(1),
        "markers+text",
        hover,
        size_px=11,
        names=[str(row["crew"]) for row in rows] if len(rows) <= MOST_NAMES else [],
    )


def _crews_sentence(rows: Sequence[Mapping[str, Any]]) -> str:
    outside = [row for row in rows if row["outside_limits"]]
    if not outside:
        return "Every crew's callbacks lie within chance of what its mix of work would give."
    names = ", ".join(
        f"{row['crew']} ({number(row['shrunk_ratio'])} times, {number(row['low'])} to {number(row['high'])})"
        for row in outside
    )
    return f"Worth a look together: {names} against what their mix of work would give."
