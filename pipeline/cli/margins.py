"""`areaway margins`: what completed jobs cost and earned, for the owner."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, counted, day, finish, hours, percent, table, usd

if TYPE_CHECKING:
    from schemas.results_money import MarginRow, Margins, QuoteBias

JOBS_NAMED = 8


def margins(
    ctx: typer.Context,
    month: Annotated[
        str | None, typer.Option(metavar="MONTH", help="Only jobs completed in this month, as 2026-03.")
    ] = None,
    first_day: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day of completion.")] = None,
    last_day: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day of completion.")] = None,
    by: Annotated[
        str, typer.Option(metavar="GROUP", help="month, wall_type, crew, branch, opening_work, job_size or job.")
    ] = "month",
    todays_prices: Annotated[
        bool, typer.Option("--todays-prices", help="Add prices over time, and the jobs re-costed at today's.")
    ] = False,
    after_reserve: Annotated[
        bool, typer.Option("--after-reserve", help="Add the callback cost still expected for these jobs.")
    ] = False,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """What completed jobs cost and earned, by group, and why they differed from what was planned."""
    from pipeline.errors import WrongUsage
    from pipeline.runs.margins import Cut, margins_
    from pipeline.runs.spans import Span, month_span

    if month and (first_day or last_day):
        raise WrongUsage("--month and --from or --to were given together; give the month or the days")
    book, settings = common(ctx)
    span = month_span(month) if month else Span(day(first_day, "--from"), day(last_day, "--to"))
    cut = Cut(by, span, todays_prices, after_reserve)
    result = margins_(book, settings, cut, as_of=answer_day(book, as_of))
    finish(result, as_json, lines(result))


def lines(result: "Margins") -> Iterator[str]:
    """The answer as a person reads it."""
    shown = [*result["rows"], result["total"]]
    yield f"Completed jobs as of {result['as_of']}, by {result['by'].replace('_', ' ')}. Money in USD."
    yield from money_notes(result["overhead_set"], result["waiting_rows"], result["jobs_without_labour"])
    if not result["total"]["jobs"]:
        yield f"No job was completed in the days asked for; the newest one is of {result['newest_completed_on']}."
        return
    yield ""
    yield from _profit_table(shown, result["by"])
    yield ""
    yield "Why cost differed from the standard (plus = cost more):"
    yield from _variance_table(shown, result["by"])
    yield from _standard_note(result)
    yield ""
    yield from _year(result["trailing_twelve_months"])
    for bias in result["quote_bias"]:
        yield _bias_sentence(bias)
    yield from _on_top(result)


def money_notes(overhead_set: bool, waiting_rows: int, without_labour: Sequence[str]) -> Iterator[str]:
    """What may spoil the figures, said before them."""
    if not overhead_set:
        yield "Overhead not set: job profit is before overhead. Give overhead_per_labour_hour in areaway.toml, [firm]."
    if waiting_rows:
        waits = counted(waiting_rows, "row")
        yield f"{waits} in quarantine naming these jobs: their cost may be too low. See: areaway quarantine"
    if without_labour:
        more = len(without_labour) - JOBS_NAMED
        named = ", ".join(without_labour[:JOBS_NAMED]) + (f" and {more} more" if more > 0 else "")
        yield f"Completed without a single hour recorded, so left out of every ratio: {named}."


def group_name(group: str | None) -> str:
    """A group as a reader sees it."""
    return "not recorded" if group is None else group.replace("_", " ")


def _profit_table(shown: Sequence["MarginRow"], by: str) -> list[str]:
    headers = [by.replace("_", " "), "jobs", "revenue", "labour", "material", "other", "gross profit", "gross",
               "overhead", "job profit", "job", "callbacks", "after callbacks", "margin", "per hour"]  # fmt: skip
    return table(
        headers,
        [
            [
                group_name(row["group"]), row["jobs"], usd(row["revenue"]), usd(row["labour_cost"]),
                usd(row["material_cost"]), usd(row["other_cost"]), usd(row["gross_profit"]),
                percent(row["gross_margin"], digits=1), usd(row["overhead"]), usd(row["job_profit"]),
                percent(row["job_margin"], digits=1), usd(row["callback_cost"]), usd(row["profit_after_callbacks"]),
                percent(row["margin_after_callbacks"], digits=1), usd(row["profit_per_labour_hour"], cents=True),
            ]
            for row in shown
        ],
    )  # fmt: skip


def _variance_table(shown: Sequence["MarginRow"], by: str) -> list[str]:
    headers = [by.replace("_", " "), "quoted jobs", "quoted", "change orders", "worked", "wage rate", "hours",
               "material price", "material use"]  # fmt: skip
    return table(
        headers,
        [
            [
                group_name(row["group"]), f"{row['quoted_jobs']} of {row['jobs']}", hours(row["quoted_hours"]),
                hours(row["change_order_hours"]), hours(row["hours_of_quoted_jobs"]), plus(row["labour_rate_variance"]),
                plus(row["labour_efficiency_variance"]), plus(row["material_price_variance"]),
                plus(row["material_usage_variance"]),
            ]
            for row in shown
        ],
    )  # fmt: skip


def plus(amount: Decimal | None) -> str:
    """A difference for a reader, with its sign."""
    text = usd(amount)
    return f"+{text}" if amount is not None and amount > 0 and text != "$0" else text


def _standard_note(result: "Margins") -> Iterator[str]:
    source = "your setting" if result["standard_set"] else "the median of the last 12 months, as none is set"
    yield f"Standard hour: {usd(result['standard_hourly_cost'], cents=True)} ({source})."
    total = result["total"]
    if total["hours_at_standard"]:
        yield f"{hours(total['hours_at_standard'])} had no cost recorded and are counted at the standard hour."
    if total["callbacks_not_costed"]:
        yield f"{counted(total['callbacks_not_costed'], 'callback')} without a cost yet, not in these figures."
    if total["material_usage_variance"] is None:
        yield "Material use has no standard yet: run areaway fit, or save quotes of won jobs."


def _year(row: "MarginRow") -> Iterator[str]:
    yield (
        f"Last twelve months: {counted(row['jobs'], 'job')}, revenue {usd(row['revenue'])}, "
        f"job profit {usd(row['job_profit'])} "
        f"({percent(row['job_margin'], digits=1)}), after callbacks {usd(row['profit_after_callbacks'])} "
        f"({percent(row['margin_after_callbacks'], digits=1)})."
    )


def _bias_sentence(bias: "QuoteBias") -> str:
    if bias["bias"] is None or bias["low"] is None or bias["high"] is None:
        return f"Quoted {bias['measure']} against actual: too few quoted jobs to say ({bias['jobs']})."
    share = f"{percent(abs(bias['bias']), digits=1)} {'more' if bias['bias'] > 0 else 'less'}"
    return (
        f"Jobs took {share} {bias['measure']} than quoted over {bias['jobs']} jobs "
        f"(95 % range {100 * bias['low']:+.1f} to {100 * bias['high']:+.1f} %); "
        f"quotes times {bias['correction']:.3f} would have been right on the whole."
    )


def _on_top(result: "Margins") -> Iterator[str]:
    by = result["by"].replace("_", " ")
    if "price_index" in result:
        yield ""
        yield "Prices of the same materials and the same people, newest quarter = 100:"
        yield from table(
            ["quarter", "materials", "wages"],
            [[step["quarter"], _level(step["materials"]), _level(step["wages"])] for step in result["price_index"]],
        )
    if "at_todays_prices" in result:
        yield ""
        yield "Labour and material then, and at the newest quarter's wages and prices:"
        yield from table(
            [by, "labour", "labour today", "material", "material today"],
            [
                [group_name(row["group"]), usd(row["labour_cost"]), usd(row["labour_cost_today"]),
                 usd(row["material_cost"]), usd(row["material_cost_today"])]
                for row in result["at_todays_prices"]
            ],
        )  # fmt: skip
    if "after_reserve" in result:
        yield ""
        yield "After the callback cost still expected under warranty (areaway reserve tells its range):"
        yield from table(
            [by, "still expected", "profit after it"],
            [
                [group_name(row["group"]), usd(row["reserve_to_come"]), usd(row["profit_after_reserve"])]
                for row in result["after_reserve"]
            ],
        )


def _level(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f}"
