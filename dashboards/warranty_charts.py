"""The warranty page's charts: patterns around 1, torque, rates in control, time to callback, rain, the crews' funnel."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import charts, theme
from dashboards.charts import Chart, Marks, Range
from dashboards.html import Table
from dashboards.parts import Parts, claim, have, missing, pattern_rows, rows_of, watched_months
from dashboards.words import anchor, count, month, number, percent, plain, usd, word

MOST_ROWS = 300
MOST_PATTERNS = 14
LEAST_EVENTS = 5
SHOWN_MONTHS = 48
PER_HUNDRED_YEARS = 1200  # callbacks per opening-month to callbacks per 100 opening-years
DAYS_PER_MONTH = 30.4375
FUNNEL_TAILS = ((0.025, "95 %"), (0.001, "99.8 %"))  # Spiegelhalter 2005, funnel plots: watch and act
RAIN_AS_OFTEN = 1.5
TWO_YEARS_DAYS = 730


def habits(parts: Parts) -> list[Chart]:
    """What goes with callbacks: patterns, torque."""
    return [patterns_around_one(parts), torque(parts)]


def over_time(parts: Parts) -> list[Chart]:
    """Rates by quarter, time to callback, rain."""
    return [callback_rates(parts), time_to_callback(parts), rain(parts)]


def patterns_around_one(parts: Parts) -> Chart:
    """Each testable pattern as a range around 1; flagged ones stand out."""
    rows = [row for row in pattern_rows(parts) if row["hazard_ratio"] is not None]
    if not rows:
        needed = "No pattern can be tested yet: a cause needs at least 5 callbacks with their check cards filled in."
        return Chart("patterns-chart", None, None, "", missing=needed if have(parts, "patterns") else missing(parts, "patterns"))
    shown = sorted(rows, key=lambda row: (not row["flagged"], -row["hazard_ratio"], row["pattern"]))[:MOST_PATTERNS]
    places = [
        Range(f"{plain(row['pattern'])} · {row['cause']}", row["hazard_ratio"], row["low"], row["high"], _pattern_hover(row),
              anchor("pattern", f"{row['pattern']}-{row['cause']}"), bool(row["flagged"]))
        for row in shown
    ]
    figure = charts.ranges(places, x_title="times as often", reference=1, log=True)
    body = [[plain(row["pattern"]), row["cause"], number(row["low"]), number(row["hazard_ratio"]), number(row["high"]),
             row["callbacks_with"], usd(row.get("attributable_cost"))] for row in shown]
    numbers = Table("Patterns as ranges", ["Pattern", "Cause", "Low", "Ratio", "High", "Callbacks with it", "Cost so far"], body)
    summary = "1 means as often as without it. Orange stands out after allowing for crew, wall, age and the other patterns."
    return Chart("patterns-chart", _pattern_sentence(shown), figure, summary, numbers)


def _pattern_hover(row: Mapping[str, Any]) -> str:
    return (f"{plain(row['pattern'])}, {row['cause']}: {number(row['hazard_ratio'])} times ({number(row['low'])} to {number(row['high'])}), "
            f"{count(row['callbacks_with'], 'callback')} on {count(row['openings_with'], 'opening')}")


def _pattern_sentence(shown: Sequence[Mapping[str, Any]]) -> str:
    strong = [row for row in shown if row["flagged"]]
    if not strong:
        return "No pattern stands clear of 1 yet; too early to tell."
    first = strong[0]
    return claim(first) or (f"With {plain(first['pattern'])} on the card, {first['cause']} callbacks came {number(first['hazard_ratio'])} "
            f"times as often ({number(first['low'])} to {number(first['high'])}).")


def torque(parts: Parts) -> Chart:
    """Fit callbacks per opening-year by highest anchor torque, with the threshold and its range."""
    found = have(parts, "torque")
    bins = [row for row in rows_of(parts, "torque") if row["opening_years"] > 0]
    if found is None or sum(row["callbacks"] for row in bins) < LEAST_EVENTS:
        needed = f"Torque against fit calls needs {LEAST_EVENTS} fit callbacks on openings with a torque reading."
        return Chart("torque", None, None, "", missing=missing(parts, "torque") if found is None else needed)
    x = [row["torque_lbft"] for row in bins]
    rate = [100 * row["callbacks"] / row["opening_years"] for row in bins]
    hover = [f"{row['low']:g} to {row['high']:g} lbf·ft: {count(row['callbacks'], 'fit callback')} on "
             f"{count(row['openings'], 'opening')}" for row in bins]
    figure = charts.lines([Marks("fit callbacks", x, rate, theme.series(0), "lines+markers", hover)],
                          x_title="highest anchor torque, lbf·ft", y_title="per 100 opening-years")
    threshold = found.get("threshold")
    if threshold is not None:
        figure = charts.with_line(charts.with_band(figure, found["threshold_low"], found["threshold_high"]), x=threshold)
    body = [[f"{row['low']:g} to {row['high']:g}", row["openings"], row["callbacks"], number(value)]
            for row, value in zip(bins, rate, strict=True)]
    numbers = Table("Fit callbacks by torque", ["lbf·ft", "Openings", "Fit callbacks", "Per 100 opening-years"], body)
    summary = "The dotted line is the torque above which fit calls rise, the shaded stretch where it may lie."
    return Chart("torque", _torque_sentence(found), figure, summary if threshold is not None else "One point per step of torque.", numbers)


def _torque_sentence(found: Mapping[str, Any]) -> str:
    if found.get("threshold") is None:
        return "No torque limit can be placed yet from these records."
    return (f"Fit callbacks rise above {found['threshold']:g} lbf·ft (likely between {found['threshold_low']:g} and "
            f"{found['threshold_high']:g}); the anchor maker's sheet comes first.")


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


def callback_rates(parts: Parts) -> Chart:
    """Callbacks per 100 opening-years by month of report, between the limits an ordinary month keeps."""
    rows = watched_months(parts)[-SHOWN_MONTHS:]
    if not rows:
        needed = "Rates over time need callbacks and openings under warranty over some months."
        reason = missing(parts, "callbacks") if have(parts, "callbacks") is None else needed
        return Chart("rates", None, None, "", missing=reason)
    rate, low, high = ([PER_HUNDRED_YEARS * row[name] for row in rows] for name in ("rate", "lower", "upper"))
    centre = PER_HUNDRED_YEARS * rows[-1]["centre"]
    labels = [str(row["month"]) for row in rows]
    hover = [_rate_hover(row) for row in rows]
    limit = ("grey", "dot", "circle")
    series = [
        Marks("callbacks", labels, rate, theme.series(0), "lines+markers", hover),
        Marks("limits of chance", labels, high, limit, "lines", shape="hvh"),
        Marks("lower limit", labels, low, limit, "lines", shape="hvh", in_legend=False),
    ]
    figure = charts.with_line(charts.lines(series, y_title="per 100 opening-years"), y=centre)
    outside = [month(row["month"]) for row in rows if row["outside"] and row["rate"] > row["upper"]]
    body = [[row["month"], f"{row['callbacks']:g}", number(row["opening_months"]), number(value), number(top)]
            for row, value, top in zip(rows, rate, high, strict=True)]
    headers = ["Month", "Callbacks", "Opening-months", "Per 100 opening-years", "Upper limit"]
    summary = "Between the dotted lines a month may fall by chance alone; they narrow as more openings are under warranty."
    return Chart("rates", _rates_sentence(outside, centre), figure, summary, Table("Callbacks by month of report", headers, body))


def _rate_hover(row: Mapping[str, Any]) -> str:
    rate = number(PER_HUNDRED_YEARS * row["rate"])
    return f"{month(row['month'])}: {row['callbacks']:g} callbacks, {rate} per 100 opening-years"


def _rates_sentence(outside: Sequence[str], centre: float) -> str:
    usual = f"the usual {number(centre)} callbacks per 100 opening-years"
    if not outside:
        return f"Every month lies within chance of {usual}."
    return f"{count(len(outside), 'month')} stood above what chance allows around {usual}: {', '.join(outside[-3:])}."


def time_to_callback(parts: Parts) -> Chart:
    """Callbacks per 100 openings by age, one curve per complaint."""
    curves = [row for row in rows_of(parts, "curves") if row["events"] >= LEAST_EVENTS]
    if not curves:
        needed = f"Time to callback needs {LEAST_EVENTS} callbacks of one complaint."
        return Chart("time", None, None, "", missing=needed if have(parts, "curves") is not None else missing(parts, "curves"))
    series = [
        Marks(word(row["cause"]), [age / DAYS_PER_MONTH for age in row["days"]], [100 * share for share in row["share"]],
              theme.series(at), "lines", [f"{word(row['cause'])}: {number(100 * share)} per 100 openings by day {age:.0f}"
                                          for age, share in zip(row["days"], row["share"], strict=True)], shape="hv")
        for at, row in enumerate(curves)
    ]
    figure = charts.lines(series, x_title="months since completion", y_title="callbacks per 100 openings")
    body = [[word(row["cause"]), row["events"], *(number(_at(row, days), 2) for days in (90, 365, TWO_YEARS_DAYS))] for row in curves]
    numbers = Table("Callbacks per 100 openings", ["Complaint", "Callbacks", "By 3 months", "By 1 year", "By 2 years"], body)
    summary = "Openings not yet so old count only for as long as they have been watched."
    return Chart("time", _time_sentence(curves), figure, summary, numbers)


def _at(curve: Mapping[str, Any], days: float) -> float | None:
    reached = [share for age, share in zip(curve["days"], curve["share"], strict=True) if age <= days]
    return 100 * reached[-1] if reached else 0.0


def _time_sentence(curves: Sequence[Mapping[str, Any]]) -> str:
    said = [f"{number(_at(row, TWO_YEARS_DAYS))} for {word(row['cause'])}" for row in curves]
    return f"Two years on, of 100 openings: {', '.join(said)} callbacks."


def rain(parts: Parts) -> Chart:
    """Leak calls by the heaviest rain of the day and the two days before."""
    rows = [row for row in rows_of(parts, "rain") if row["opening_days"] > 0]
    events = sum(row["callbacks"] for row in rows)
    if len(rows) < 2 or events < LEAST_EVENTS:
        needed = f"Rain against leak calls needs weather records and {LEAST_EVENTS} leak callbacks."
        return Chart("rain", None, None, "", missing=needed if have(parts, "rain") is not None else missing(parts, "rain"))
    per = [365_000 * row["callbacks"] / row["opening_days"] for row in rows]
    labels = [str(row["rain"]) for row in rows]
    hover = [f"{row['rain']}: {count(row['callbacks'], 'leak call')} in {row['opening_days']:,.0f} opening-days" for row in rows]
    figure = charts.bars(labels, per, hover=hover, marked=-1, y_title="leak calls per 1,000 opening-years")
    times = per[-1] / per[0] if per[0] else math.inf
    sentence = f"After heavy rain leak calls come {number(times, 0)} times as often as in dry days." if times < math.inf else \
        "Leak calls come only after rain in these records."
    if rows[-1]["callbacks"] < LEAST_EVENTS or times < RAIN_AS_OFTEN:
        sentence = "The records do not show leak calls following rain clearly."
    body = [[label, row["callbacks"], f"{row['opening_days']:,.0f}", number(value)] for label, row, value in zip(labels, rows, per, strict=True)]
    numbers = Table("Leak calls by rain", ["Rain, that day and two before", "Leak calls", "Opening-days", "Per 1,000 opening-years"], body)
    return Chart("rain", sentence, figure, "Heaviest day of the report and the two days before it, at the job's weather station.", numbers)


def crews_funnel(parts: Parts) -> Chart:
    """Callbacks of each crew against what its mix of work would give."""
    rows = [row for row in rows_of(parts, "crews") if row["expected"] and row["ratio"] is not None]
    if not rows:
        return Chart("funnel", None, None, "", missing=missing(parts, "crews"))
    top = max(row["expected"] for row in rows) * 1.15
    series = [line for tail, name in FUNNEL_TAILS for line in _funnel_lines(top, tail, name)]
    series.append(_crew_marks(rows))
    figure = charts.with_line(charts.lines(series, x_title="callbacks their work would give",
                                           y_title="callbacks as a multiple of that"), y=1)
    figure.update_yaxes(range=[0, max(3.0, max(row["ratio"] for row in rows) * 1.2)])
    body = [[row["crew"], row["openings"], row["callbacks"], number(row["expected"]), number(row["shrunk_ratio"], 2),
             f"{number(row['low'], 2)} to {number(row['high'], 2)}", plain(row["level"] or ""), percent(row["chance_alone"])] for row in rows]
    headers = ["Crew", "Openings", "Callbacks", "Their work would give", "Ratio, allowing for chance", "Range", "Level", "An ordinary crew shows so"]
    summary = ("Each point is a crew; between the dotted lines it may lie by chance. Walls, soil, depth and age are allowed for. "
               "A point outside is a reason to look at the work together, never a ranking.")
    return Chart("funnel", _crews_sentence(rows), figure, summary, Table("Crews against their mix of work", headers, body))


def _funnel_lines(top: float, tail: float, name: str) -> list[Marks]:
    means = [top * step / 60 for step in range(2, 61)]
    ends = [poisson_limits(mean, tail) for mean in means]
    look = ("grey", "dot" if tail > FUNNEL_TAILS[1][0] else "dash", "circle")
    return [Marks(f"{name} limits", means, [end[1] / mean for end, mean in zip(ends, means, strict=True)], look, "lines"),
            Marks(f"{name} lower", means, [end[0] / mean for end, mean in zip(ends, means, strict=True)], look, "lines",
                  in_legend=False)]


def _crew_marks(rows: Sequence[Mapping[str, Any]]) -> Marks:
    hover = [f"{row['crew']}: {count(row['callbacks'], 'callback')}, {number(row['expected'])} expected from their work" for row in rows]
    return Marks("crews", [row["expected"] for row in rows], [row["ratio"] for row in rows], theme.series(1), "markers", hover, size_px=11)


def _crews_sentence(rows: Sequence[Mapping[str, Any]]) -> str:
    outside = [row for row in rows if row["outside_limits"]]
    if not outside:
        return "Every crew's callbacks lie within chance of what its mix of work would give."
    names = ", ".join(f"{row['crew']} ({number(row['shrunk_ratio'])} times, {number(row['low'])} to {number(row['high'])})" for row in outside)
    return f"Worth a look together: {names} against what their mix of work would give."
