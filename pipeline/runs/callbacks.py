"""The list of callbacks with their costs and waiting days, and the watch over them month by month."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from pipeline.callbacks.history import day_numbers
from pipeline.callbacks.watching import Chart, RiseWatch, by_month_of_report, by_month_of_setting, rise_watch
from pipeline.runs.reserve import read_history
from pipeline.runs.standards import standards
from pipeline.settings import Settings
from pipeline.store.book import frame, newest_date, open_book, rows
from schemas.results_warranty import CallbackRow, Callbacks, ChartMonth, Rise, Watching

if TYPE_CHECKING:
    import duckdb

    from pipeline.callbacks.history import History


def callbacks_(book: Path, settings: Settings, *, as_of: date | None = None, only_open: bool = False) -> Callbacks:
    """Every report by the as-of date, newest first; with `only_open` those nobody has closed, longest waiting first."""
    with open_book(book) as con:
        answer = callbacks_of(con, settings, as_of or newest_date(con))
    if only_open:
        waiting = [(row["days_open"], row) for row in answer["rows"] if row["days_open"] is not None]
        answer["rows"] = [row for _, row in sorted(waiting, key=lambda pair: -pair[0])]
    return answer


def callbacks_of(
    con: "duckdb.DuckDBPyConnection", settings: Settings, on: date, *, history: "History | None" = None
) -> Callbacks:
    """The same over a connection already open; history: of `read_history`, when it was read already."""
    terms = standards(con, settings, on)
    found = rows(con, "callback_list", {"as_of": on, "standard": terms["standard"], "warranty": terms["warranty"]})
    history = read_history(con, settings, on) if history is None else history
    report = by_month_of_report(history)
    watching = Watching(
        by_month_of_report=_months(report),
        by_month_of_setting=_months(by_month_of_setting(history, _set_on(con, on))),
        rise=_rise(rise_watch(report)) if report else None,
    )
    return Callbacks(as_of=on, rows=cast(list[CallbackRow], found), watching=watching)


def _set_on(con: "duckdb.DuckDBPyConnection", on: date) -> Any:
    """Day number each finished opening was set, nan where not recorded, in the order of the history."""
    return day_numbers(frame(con, "finished_setting_days", {"as_of": on})["setting_day"])


def _months(chart: Chart | None) -> list[ChartMonth]:
    """The chart's months per opening-month: usual and limits are of openings of the ages watched in that month."""
    if chart is None:
        return []
    usual = chart.units / chart.watched
    figures = (chart.events, chart.watched, chart.units, chart.rate * usual, chart.lower * usual, chart.upper * usual)
    columns: Sequence[Any] = (chart.months, *figures, chart.centre * usual, chart.outside)
    return [
        ChartMonth(
            month=month,
            callbacks=float(events),
            opening_months=float(watched),
            expected=float(expected),
            rate=float(rate),
            centre=float(centre),
            lower=float(lower),
            upper=float(upper),
            outside=bool(outside),
        )
        for month, events, watched, expected, rate, lower, upper, centre, outside in zip(*columns, strict=True)
    ]


def _rise(watch: RiseWatch | None) -> Rise | None:
    if watch is None:
        return None
    return Rise(
        sums=[float(value) for value in watch.sums],
        limit=watch.limit,
        alarm_since=watch.alarm_since,
        months_until_a_doubling_shows=watch.months_to_show,
        false_alarm_every_months=watch.false_alarm_every_months,
    )
