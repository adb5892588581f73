"""The owner's charts, each under the sentence it proves."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import polars as pl

from dashboards import charts, theme
from dashboards.charts import Chart, Marks
from dashboards.html import Raw, Table
from dashboards.parts import Parts, have, missing, ratio, rows_of, total
from dashboards.words import anchor, count, month, number, percent, step_words, usd, word

YEAR_MONTHS = 12
SHOWN_MONTHS = 36
LEAST_MONTHS = 3
LEAST_JOBS_IN_A_GROUP = 8  # house rule: quartiles of fewer jobs are not shown
LEAST_QUOTED_JOBS = 5
RECENT_DAYS = 730
NAMED_JOBS = 4  # in the hover of a month
TICK = ("orange", "solid", "line-ns-open")  # a stroke hides less of the box under it than a dot
MOST_DOTS = 400  # single jobs drawn and listed, newest first
ALL_OTHER = "All other costs are those a quote gives as one sum, such as permits, disposal and overhead."


def money(parts: Parts) -> list[Chart]:
    """Where the money goes: the year, the bridge, the walls, the hour, the quotes, the callbacks."""
    return [
        margin_by_month(parts),
        bridge(parts),
        margin_by_wall(parts),
        profit_per_hour(parts),
        quote_bias(parts),
        after_the_sale(parts),
    ]


def to_come(parts: Parts) -> list[Chart]:
    """What finished work will still cost."""
    return [reserve_by_month(parts)]


def with_profit(jobs: pl.DataFrame) -> pl.DataFrame:
    """Jobs with profit after callbacks [USD] and margin [share]; margin is null without revenue."""
    costs = pl.sum_horizontal("labour_cost", "material_cost", "other_cost", "overhead", "callback_cost")
    priced = jobs.with_columns(profit=pl.col("revenue") - costs)
    return priced.with_columns(margin=pl.when(pl.col("revenue") > 0).then(pl.col("profit") / pl.col("revenue")))


def recent(jobs: pl.DataFrame, as_of: date | str) -> pl.DataFrame:
    """The jobs of the last two years, newest first, at most as many as a page can list."""
    since = date.fromisoformat(str(as_of)) - timedelta(days=RECENT_DAYS)
    newest = jobs.filter(pl.col("completed_on") > since).sort("completed_on", "job_id", descending=[True, False])
    return with_profit(newest.head(MOST_DOTS))


def empty_months() -> Any:
    """The picture of the filtered jobs, which the page's script fills."""
    marks = Marks("margin", [], [], hover=[])
    return charts.with_format(charts.lines([marks], y_title="margin after callbacks"), y=".0%")


def _named(parts: Parts) -> dict[str, str]:
    """The jobs finished in each month, a few by number, for a hover."""
    jobs = have(parts, "job_rows")
    if jobs is None or jobs.is_empty():
        return {}
    by_month = jobs.sort("completed_on", "job_id").group_by(pl.col("completed_on").dt.strftime("%Y-%m").alias("month"))
    lists = by_month.agg(pl.col("job_id")).iter_rows()
    return {name: f"; jobs {few(numbers)}" for name, numbers in lists}


def _first_jobs(parts: Parts, months: Sequence[str]) -> list[str]:
    """Where a click on each month leads: its first job's line, when the page lists it."""
    jobs = have(parts, "job_rows")
    if jobs is None or jobs.is_empty():
        return []
    ordered = recent(jobs, parts["as_of"]).sort("completed_on", "job_id", descending=True)
    first = {day.strftime("%Y-%m"): name for day, name in ordered.select("completed_on", "job_id").iter_rows()}
    return [anchor("job", first[name]) if name in first else "" for name in months]


def few(numbers: Sequence[str]) -> str:
    """Job numbers as a hover says them: the first few, then how many more."""
    more = f" and {len(numbers) - NAMED_JOBS} more" if len(numbers) > NAMED_JOBS else ""
    return f"{', '.join(numbers[:NAMED_JOBS])}{more}"


def _trailing(months: Sequence[Mapping[str, Any]], above: str, below: str) -> list[float | None]:
    windows = [months[max(0, at - YEAR_MONTHS + 1) : at + 1] for at in range(len(months))]
    return [ratio(total(rows, above), total(rows, below)) for rows in windows]


def margin_by_month(parts: Parts) -> Chart:
    """Each month's margin against the trailing year."""
    months = rows_of(parts, "margins")
    if len(months) < LEAST_MONTHS:
        needed = f"The margin over time needs {LEAST_MONTHS} months with finished jobs; there are {len(months)}."
        return Chart(
            "margin-by-month", None, None, "", missing=needed if have(parts, "margins") else missing(parts, "margins")
        )
    named = _named(parts)
    shown = months[-SHOWN_MONTHS:]
    led = _first_jobs(parts, [row["group"] for row in shown])
    year = _trailing(months, "profit_after_callbacks", "revenue")[-SHOWN_MONTHS:]
    labels = [row["group"] for row in shown]
    kept = [row["margin_after_callbacks"] for row in shown]
    hover = [
        f"{month(row['group'])}: kept {percent(row['margin_after_callbacks'], 1)} of {usd(row['revenue'])}, "
        f"{count(row['jobs'], 'job')}{named.get(row['group'], '')}"
        for row in shown
    ]
    series = [
        Marks("single months", labels, kept, theme.series(4), "markers", hover, led, size_px=8),
        Marks("twelve months up to then", labels, year, theme.series(0), "lines"),
    ]
    figure = charts.with_format(charts.lines(series, y_title="margin after callbacks"), y=".0%")
    rows = [
        [
            month(row["group"]),
            row["jobs"],
            usd(row["revenue"]),
            usd(row["profit_after_callbacks"]),
            percent(row["margin_after_callbacks"], 1),
        ]
        for row in shown
    ]
    numbers = Table("Margin by month of completion", ["Month", "Jobs", "Revenue", "Profit", "Margin"], rows)
    summary = "Crosses are single months, the line is the twelve months up to then. Trust the line."
    return Chart("margin-by-month", _margin_sentence(months, year), figure, summary, numbers)


def _margin_sentence(months: Sequence[Mapping[str, Any]], year: Sequence[float | None]) -> str:
    last = months[-1]
    start = f"In {month(last['group'])} we kept {percent(last['margin_after_callbacks'])} of revenue"
    if len(months) <= YEAR_MONTHS or year[-1] is None:
        return f"{start}; there is no full year before it to compare with."
    earlier = ratio(
        total(months[-2 * YEAR_MONTHS : -YEAR_MONTHS], "profit_after_callbacks"),
        total(months[-2 * YEAR_MONTHS : -YEAR_MONTHS], "revenue"),
    )
    return f"{start}; over twelve months {percent(year[-1])}, after {percent(earlier)} in the twelve before."


def bridge(parts: Parts) -> Chart:
    """From quoted to actual profit, summed over the jobs of the last twelve months."""
    found = have(parts, "bridge")
    if found is None or not found["steps"]:
        return Chart("bridge", None, None, "", missing=missing(parts, "bridge"))
    steps = [(step_words(step["step"]), float(step["amount"])) for step in found["steps"]]
    quoted, actual = float(found["quoted_profit"]), float(found["actual_profit"])
    worst = min(steps, key=lambda step: step[1])
    took = f"; {worst[0]} took most, {usd(-worst[1])}" if worst[1] < 0 else ""
    sentence = f"Over twelve months we quoted {usd(quoted)} of profit and kept {usd(actual)}{took}."
    ends = ("profit as quoted", "profit kept")
    rows = [[ends[0], usd(quoted)], *([name, usd(amount)] for name, amount in steps), [ends[1], usd(actual)]]
    summary = f"{count(found['jobs'], 'quoted job')}. Blue added to profit, orange took from it. {ALL_OTHER}"
    figure = charts.bridge(steps, ends=ends, start=quoted)
    return Chart("bridge", sentence, figure, summary, Table("From quoted to actual profit", ["Step", "USD"], rows))


def margin_by_wall(parts: Parts) -> Chart:
    """Margin by wall type with its spread, not only the middle."""
    jobs = have(parts, "job_rows")
    if jobs is None:
        return Chart("margin-by-wall", None, None, "", missing=missing(parts, "job_rows"))
    priced = with_profit(jobs).filter(pl.col("margin").is_not_null())
    groups = priced.group_by("wall_type").agg(pl.len().alias("jobs"), pl.col("margin").median().alias("middle"))
    carried = groups.filter(pl.col("jobs") >= LEAST_JOBS_IN_A_GROUP).sort("middle", "wall_type", descending=True)
    if carried.height < 2:
        needed = f"Comparing walls needs {LEAST_JOBS_IN_A_GROUP} finished jobs on at least two wall types."
        return Chart("margin-by-wall", None, None, "", missing=needed)
    walls = carried["wall_type"].to_list()
    values = [(word(wall), priced.filter(pl.col("wall_type") == wall)["margin"].to_numpy()) for wall in walls]
    figure = charts.spread(values, x_title="margin after callbacks", dots=[_job_dots(jobs, parts, walls)])
    figure = charts.with_line(charts.with_format(figure, x=".0%"), x=0)
    return Chart(
        "margin-by-wall",
        _walls_sentence(carried, priced),
        figure,
        _walls_summary(groups),
        _walls_table(carried, priced),
    )


def _job_dots(jobs: pl.DataFrame, parts: Parts, walls: Sequence[str]) -> Marks:
    shown = recent(jobs, parts["as_of"]).filter(pl.col("wall_type").is_in(list(walls)), pl.col("margin").is_not_null())
    hover = [
        f"job {row['job_id']}: {percent(row['margin'])} of {usd(row['revenue'])}" for row in shown.iter_rows(named=True)
    ]
    anchors = [anchor("job", name) for name in shown["job_id"].to_list()]
    labels = [word(wall) for wall in shown["wall_type"].to_list()]
    return Marks("jobs", shown["margin"].to_numpy(), labels, TICK, "markers", hover, anchors, size_px=9)


def _quartiles(priced: pl.DataFrame, wall: str) -> tuple[float, float]:
    margins = priced.filter(pl.col("wall_type") == wall)["margin"]
    return float(margins.quantile(0.25, "linear") or 0), float(margins.quantile(0.75, "linear") or 0)


def _walls_sentence(carried: pl.DataFrame, priced: pl.DataFrame) -> str:
    best, worst = carried.row(0, named=True), carried.row(carried.height - 1, named=True)
    low, high = _quartiles(priced, worst["wall_type"])
    return (
        f"The middle {word(best['wall_type'])} job keeps {percent(best['middle'])}, the middle "
        f"{word(worst['wall_type'])} job {percent(worst['middle'])}; half of those lie between {percent(low)} "
        f"and {percent(high)}."
    )


def _walls_summary(groups: pl.DataFrame) -> str:
    few = groups.filter(pl.col("jobs") < LEAST_JOBS_IN_A_GROUP)["wall_type"].drop_nulls().sort().to_list()
    left_out = f" Too few jobs to show: {', '.join(word(wall) for wall in few)}." if few else ""
    return (
        "Boxes hold the middle half of all finished jobs, whiskers nine in ten; strokes are the jobs finished last "
        f"and lead to their line below.{left_out}"
    )


def _walls_table(carried: pl.DataFrame, priced: pl.DataFrame) -> Table:
    rows = []
    for row in carried.iter_rows(named=True):
        low, high = _quartiles(priced, row["wall_type"])
        rows.append([word(row["wall_type"]), row["jobs"], percent(low, 1), percent(row["middle"], 1), percent(high, 1)])
    return Table(
        "Margin after callbacks by wall type", ["Wall", "Jobs", "A quarter below", "Middle", "A quarter above"], rows
    )


def profit_per_hour(parts: Parts) -> Chart:
    """Profit after callbacks per labour hour, by month and over the trailing year."""
    months = rows_of(parts, "margins")
    if len(months) < LEAST_MONTHS:
        return Chart("profit-per-hour", None, None, "")
    named = _named(parts)
    shown = months[-SHOWN_MONTHS:]
    led = _first_jobs(parts, [row["group"] for row in shown])
    year = _trailing(months, "profit_after_callbacks", "actual_hours")[-SHOWN_MONTHS:]
    labels = [row["group"] for row in shown]
    values = [row["profit_per_labour_hour"] for row in shown]
    hover = [
        f"{month(row['group'])}: {usd(row['profit_per_labour_hour'])} per hour, "
        f"{number(row['actual_hours'], 0)} hours{named.get(row['group'], '')}"
        for row in shown
    ]
    series = [
        Marks("single months", labels, values, theme.series(4), "markers", hover, led, size_px=8),
        Marks("twelve months up to then", labels, year, theme.series(0), "lines"),
    ]
    figure = charts.with_format(charts.lines(series, y_title="USD per labour hour"), y="$,.0f")
    before = f" (twelve months earlier {usd(year[-1 - YEAR_MONTHS])})" if len(year) > YEAR_MONTHS else ""
    sentence = f"An hour of labour has brought {usd(year[-1])} of profit over the last twelve months{before}."
    rows = [[month(label), usd(value), usd(mean)] for label, value, mean in zip(labels, values, year, strict=True)]
    numbers = Table("Profit after callbacks per labour hour", ["Month", "Month alone", "Twelve months"], rows)
    return Chart(
        "profit-per-hour",
        sentence,
        figure,
        "Crosses are single months, the line is the twelve months up to then.",
        numbers,
    )


def quote_bias(parts: Parts) -> Chart:
    """Hours worked against hours quoted, by month of completion."""
    months = [row for row in rows_of(parts, "margins") if row.get("quoted_hours")][-SHOWN_MONTHS:]
    year = months[-YEAR_MONTHS:]
    jobs = total(year, "quoted_jobs")
    if len(months) < LEAST_MONTHS or jobs < LEAST_QUOTED_JOBS:
        needed = f"Judging our quotes needs {LEAST_QUOTED_JOBS} finished jobs with quoted hours; there are {jobs:.0f}."
        return Chart("quote-bias", None, None, "", missing=needed)
    named, led = _named(parts), _first_jobs(parts, [row["group"] for row in months])
    months = [{**row, "asked_hours": asked_hours(row)} for row in months]
    monthly = [float(row["hours_of_quoted_jobs"]) / row["asked_hours"] - 1 for row in months]
    trailing = [share - 1 for share in _trailing(months, "hours_of_quoted_jobs", "asked_hours") if share is not None]
    labels = [row["group"] for row in months]
    hover = [
        f"{month(row['group'])}: {percent(value, 1)} against quoted, "
        f"{count(row['quoted_jobs'], 'job')}{named.get(row['group'], '')}"
        for row, value in zip(months, monthly, strict=True)
    ]
    series = [
        Marks("single months", labels, monthly, theme.series(4), "markers", hover, led, size_px=8),
        Marks("twelve months up to then", labels, trailing, theme.series(0), "lines"),
    ]
    figure = charts.with_line(charts.with_format(charts.lines(series, y_title="hours above quoted"), y=".0%"), y=0)
    bias = trailing[-1]
    more = "more" if bias >= 0 else "fewer"
    sentence = (
        f"Jobs of the last twelve months took {percent(abs(bias), 1)} {more} hours than quoted ({count(jobs, 'job')})."
    )
    rows = [
        [
            month(row["group"]),
            row["quoted_jobs"],
            number(row["asked_hours"]),
            number(row["hours_of_quoted_jobs"]),
            percent(value, 1),
        ]
        for row, value in zip(months, monthly, strict=True)
    ]
    numbers = Table(
        "Quoted and actual hours",
        ["Month", "Jobs", "Hours quoted, with change orders", "Hours worked", "Difference"],
        rows,
    )
    summary = "Above the dotted line jobs took longer than quoted. Hours that change orders added count as quoted."
    return Chart("quote-bias", sentence, figure, summary, numbers)


def asked_hours(row: Mapping[str, Any]) -> float:
    """Hours that were quoted for these jobs, with those their change orders added."""
    return float(row["quoted_hours"] or 0) + float(row.get("change_order_hours") or 0)


def after_the_sale(parts: Parts) -> Chart:
    """What callbacks took from the jobs of each year."""
    jobs = have(parts, "job_rows")
    if jobs is None or jobs.is_empty():
        return Chart("after-the-sale", None, None, "")
    years = (
        jobs.group_by(pl.col("completed_on").dt.year().alias("year"))
        .agg(pl.col("revenue", "callback_cost").sum(), pl.len().alias("jobs"))
        .sort("year")
        .with_columns(share=pl.col("callback_cost") / pl.col("revenue"))
    ).filter(pl.col("revenue") > 0)
    everything = ratio(float(years["callback_cost"].sum()), float(years["revenue"].sum()))
    labels = [str(year) for year in years["year"].to_list()]
    rows = [
        [str(row["year"]), row["jobs"], usd(row["revenue"]), usd(row["callback_cost"]), percent(row["share"], 2)]
        for row in years.iter_rows(named=True)
    ]
    hover = [f"jobs finished in {row[0]}: {row[3]} of callbacks so far" for row in rows]
    figure = charts.bars(
        labels, years["share"].to_list(), hover=hover, marked=-1, y_title="callback cost, share of revenue"
    )
    figure = charts.with_every_year(charts.with_format(figure, y=".1%"))
    share, cost = percent(everything, 1), usd(years["callback_cost"].sum())
    sentence = f"Callbacks have taken {share} of the revenue of all finished jobs so far, {cost}."
    numbers = Table(
        "Callback cost by year of completion", ["Finished in", "Jobs", "Revenue", "Callbacks so far", "Share"], rows
    )
    summary = (
        "One bar per year of completion; the solid one is the newest. Young jobs are still under warranty, so their "
        "bars will grow."
    )
    return Chart("after-the-sale", sentence, figure, summary, numbers)


def reserve_by_month(parts: Parts) -> Chart:
    """Expected callback cost of finished work, month by month until the warranties end."""
    reserve = have(parts, "reserve")
    if reserve is None:
        return Chart("reserve", None, None, "", missing=missing(parts, "reserve"))
    coming = reserve["by_month"]
    labels = [str(row["month"])[:7] for row in coming]
    costs = [float(row["expected_cost"]) for row in coming]
    hover = [
        f"{month(row['month'])}: {usd(row['expected_cost'])}, {number(row['expected_callbacks'])} callbacks expected"
        for row in coming
    ]
    figure = charts.with_format(charts.bars(labels, costs, hover=hover, marked=None, y_title="USD"), y="$,.0f")
    sentence = (
        f"Finished work should still bring about {number(reserve['expected_callbacks'], 0)} callbacks costing "
        f"{usd(reserve['expected_cost'])}; 8 times in 10 between {usd(reserve['low_80'])} "
        f"and {usd(reserve['high_80'])}."
    )
    waiting = reserve.get("reported_not_costed") or {}
    notes = (
        [
            f"Reported but not costed yet: {count(waiting['callbacks'], 'callback')}, "
            f"about {usd(waiting['expected_cost'])}, "
            "on top of this."
        ]
        if waiting.get("callbacks")
        else []
    )
    rows: list[list[str | Raw]] = [
        [month(label), number(row["expected_callbacks"], 2), usd(row["expected_cost"])]
        for label, row in zip(labels, coming, strict=True)
    ]
    numbers = Table("Expected callbacks by month", ["Month", "Callbacks", "USD"], rows)
    summary = (
        "One bar per month, until the last warranty ends. The whole lies 19 times in 20 between "
        f"{usd(reserve['low_95'])} and {usd(reserve['high_95'])}."
    )
    return Chart("reserve", sentence, figure, summary, numbers, notes=notes)
