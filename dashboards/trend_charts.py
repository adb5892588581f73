"""The warranty page's charts over time: callbacks by month within limits, time to callback, leak calls against rain."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import charts, theme
from dashboards.charts import Chart, Marks
from dashboards.html import Table
from dashboards.parts import Parts, have, missing, rows_of, watched_months
from dashboards.words import count, month, number, word
from schemas.units import DAYS_PER_MONTH

SHOWN_MONTHS = 48
RATE_COLUMNS = ("rate", "lower", "upper", "centre")
PER_HUNDRED_YEARS = 1200  # callbacks per opening-month to callbacks per 100 opening-years
PER_THOUSAND_YEARS = 365_000  # callbacks per opening-day to callbacks per 1,000 opening-years
LEAST_EVENTS = 5
AGES_SHOWN_DAYS = (90, 365, 730)
TWO_YEARS_DAYS = 730
NORMAL_95 = 1.96


def over_time(parts: Parts) -> list[Chart]:
    """Rates by month, time to callback, rain."""
    return [callback_rates(parts), time_to_callback(parts), rain(parts)]


def callback_rates(parts: Parts) -> Chart:
    """Callbacks per 100 opening-years by month of report, beside what is usual at such ages and its limits."""
    rows = watched_months(parts)[-SHOWN_MONTHS:]
    if not rows:
        needed = "Rates over time need callbacks and openings under warranty over some months."
        reason = missing(parts, "callbacks") if have(parts, "callbacks") is None else needed
        return Chart("rates", None, None, "", missing=reason)
    rate, low, high, usual = ([PER_HUNDRED_YEARS * row[name] for row in rows] for name in RATE_COLUMNS)
    labels = [str(row["month"]) for row in rows]
    hover = [_rate_hover(row) for row in rows]
    limit = ("grey", "dot", "circle")
    series = [
        Marks("callbacks", labels, rate, theme.series(0), "lines+markers", hover),
        Marks("usual at such ages", labels, usual, ("soft", "solid", "circle"), "lines", shape="hvh"),
        Marks("limits of chance", labels, high, limit, "lines", shape="hvh"),
        Marks("lower limit", labels, low, limit, "lines", shape="hvh", in_legend=False),
    ]
    figure = charts.lines(series, y_title="callbacks a year per 100 openings")
    outside = [month(row["month"]) for row in rows if row["outside"] and row["rate"] > row["upper"]]
    body = [
        [month(row["month"]), f"{row['callbacks']:g}", number(row["opening_months"]), *map(number, ends)]
        for row, *ends in zip(rows, rate, usual, low, high, strict=True)
    ]
    headers = [
        "Month",
        "Callbacks",
        "Openings watched",
        "A year per 100 openings",
        "Usual",
        "Lower limit",
        "Upper limit",
    ]
    summary = (
        "Young openings call more often, so what is usual follows the ages of the openings under warranty. Between the "
        "dotted lines a month may fall by chance alone; they narrow as more openings are under warranty."
    )
    return Chart(
        "rates",
        _rates_sentence(outside, _mean_usual(rows)),
        figure,
        summary,
        Table("Callbacks by month of report", headers, body),
    )


def _mean_usual(rows: Sequence[Mapping[str, Any]]) -> float:
    """Usual callbacks a year per 100 openings, over all the months shown."""
    watched = sum(float(row["opening_months"]) for row in rows)
    return PER_HUNDRED_YEARS * sum(float(row["centre"] * row["opening_months"]) for row in rows) / watched


def _rate_hover(row: Mapping[str, Any]) -> str:
    rate = number(PER_HUNDRED_YEARS * row["rate"])
    return f"{month(row['month'])}: {row['callbacks']:g} callbacks, {rate} a year per 100 openings"


def _rates_sentence(outside: Sequence[str], centre: float) -> str:
    usual = f"the usual {number(centre)} callbacks a year per 100 openings under warranty"
    if not outside:
        return f"Every month lies within chance of {usual}."
    return f"{count(len(outside), 'month')} stood above what chance allows around {usual}: {', '.join(outside[-3:])}."


def time_to_callback(parts: Parts) -> Chart:
    """Callbacks per 100 openings by age, one curve per complaint."""
    curves = [row for row in rows_of(parts, "curves") if row["events"] >= LEAST_EVENTS]
    if not curves:
        needed = f"Time to callback needs {LEAST_EVENTS} callbacks of one complaint."
        return Chart(
            "time", None, None, "", missing=needed if have(parts, "curves") is not None else missing(parts, "curves")
        )
    series = [
        Marks(
            word(row["cause"]),
            [age / DAYS_PER_MONTH for age in row["days"]],
            [100 * share for share in row["share"]],
            theme.series(at),
            "lines",
            [
                f"{word(row['cause'])}: {number(100 * share)} per 100 openings by day {age:.0f}"
                for age, share in zip(row["days"], row["share"], strict=True)
            ],
            shape="hv",
        )
        for at, row in enumerate(curves)
    ]
    figure = charts.lines(series, x_title="months since completion", y_title="callbacks per 100 openings")
    body = [[word(row["cause"]), row["events"], *(_at_age(row, days) for days in AGES_SHOWN_DAYS)] for row in curves]
    numbers = Table(
        "Callbacks per 100 openings", ["Complaint", "Callbacks", "By 3 months", "By 1 year", "By 2 years"], body
    )
    summary = (
        "Openings not yet so old count only for as long as they have been watched; in brackets in the numbers: where "
        "the figure may lie, 19 times in 20."
    )
    return Chart("time", _time_sentence(curves), figure, summary, numbers)


def _at(curve: Mapping[str, Any], days: float) -> float | None:
    reached = [share for age, share in zip(curve["days"], curve["share"], strict=True) if age <= days]
    return 100 * reached[-1] if reached else 0.0


def _at_age(curve: Mapping[str, Any], days: float) -> str:
    """Callbacks per 100 openings by an age, with the 95 % range where its error is known."""
    value = _at(curve, days)
    at = sum(age <= days for age in curve["days"]) - 1
    if value is None or at < 0 or not curve.get("error"):
        return number(value)
    reach = NORMAL_95 * 100 * curve["error"][at]
    return f"{number(value)} ({number(max(value - reach, 0.0))} to {number(value + reach)})"


def _time_sentence(curves: Sequence[Mapping[str, Any]]) -> str:
    said = [f"{number(_at(row, TWO_YEARS_DAYS))} for {word(row['cause'])}" for row in curves]
    return f"Two years on, of 100 openings: {', '.join(said)} callbacks."


def _rain_sentence(driest: Mapping[str, Any], wettest: Mapping[str, Any]) -> str:
    """How much more often leak calls come after the heaviest rain, with its 95 % range."""
    if wettest["callbacks"] < LEAST_EVENTS or wettest["times_low"] <= 1:
        return "The records do not show leak calls following rain clearly."
    if wettest["times"] == math.inf:
        return "Leak calls come only after rain in these records."
    low, high = number(wettest["times_low"], 0), number(wettest["times_high"], 0)
    often = f"{number(wettest['times'], 0)} times as often ({low} to {high})"
    return f"With {wettest['rain']} of rain leak calls come {often} as with {driest['rain']}."


def rain(parts: Parts) -> Chart:
    """Leak calls by the heaviest rain of the day and the two days before."""
    rows = [row for row in rows_of(parts, "rain") if row["opening_days"] > 0]
    events = sum(row["callbacks"] for row in rows)
    if len(rows) < 2 or events < LEAST_EVENTS:
        needed = f"Rain against leak calls needs weather records and {LEAST_EVENTS} leak callbacks."
        return Chart(
            "rain", None, None, "", missing=needed if have(parts, "rain") is not None else missing(parts, "rain")
        )
    per = [PER_THOUSAND_YEARS * row["callbacks"] / row["opening_days"] for row in rows]
    labels = [str(row["rain"]) for row in rows]
    hover = [
        f"{row['rain']}: {count(row['callbacks'], 'leak call')} in {row['opening_days']:,.0f} days watched"
        for row in rows
    ]
    figure = charts.bars(labels, per, hover=hover, marked=-1, y_title="leak calls a year per 1,000 openings")
    sentence = _rain_sentence(rows[0], rows[-1])
    body = [
        [label, row["callbacks"], f"{row['opening_days']:,.0f}", number(value)]
        for label, row, value in zip(labels, rows, per, strict=True)
    ]
    numbers = Table(
        "Leak calls by rain",
        ["Rain, that day and two before", "Leak calls", "Days watched, all openings", "A year per 1,000 openings"],
        body,
    )
    return Chart(
        "rain",
        sentence,
        figure,
        "By the wettest of three days: that of the report and the two before, at the job's weather station; as if "
        "every day of a year were such a day.",
        numbers,
    )
