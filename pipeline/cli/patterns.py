"""`areaway patterns`: what was found, in sentences, then what is too early to tell."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, percent, table, usd

if TYPE_CHECKING:
    from schemas.results_callbacks import CauseMoney, CauseTotal, PatternRow, PatternsResult

MOST_NAMED = 20
SHARES = (("by_12_months", 12), ("by_24_months", 24))


def patterns(
    ctx: typer.Context,
    cause: Annotated[str | None, typer.Option(metavar="CAUSE", help="Only leak, fit or drainage.")] = None,
    threshold: Annotated[
        str | None,
        typer.Option(metavar="READING", help="A numeric reading, such as gasket_gap_in: where do callbacks begin?"),
    ] = None,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Install patterns and what they do to callbacks; the threshold of a numeric reading."""
    from pipeline.runs.patterns import patterns_

    book, settings = common(ctx)
    result = patterns_(book, settings, as_of=answer_day(book, as_of), cause=cause, threshold=threshold)
    finish(result, as_json, lines(result))


def lines(result: "PatternsResult") -> Iterator[str]:
    """The answer as a person reads it."""
    rows = result["patterns"]
    flagged = [row for row in rows if row["flagged"]]
    yield _headline(result, len(flagged))
    yield from (_rate(total) for total in result["causes"])
    if result["left_out"]:
        left_out = ", ".join(f"{count} {reason}" for reason, count in result["left_out"].items())
        yield f"Reports left out: {left_out}. See `areaway callbacks`; a yes or no in `warranty` settles a report."
    if result["left_out_by_words"]:
        names = result["left_out_by_words"]
        more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
        yield (
            f"Left out by the words of the cause found alone: {', '.join(names[:MOST_NAMED])}{more}. "
            "A yes in `warranty` brings one back."
        )
    for row in flagged:
        yield ""
        yield f"{row['level'].upper()} · {row['cause']} · {spaced(row)}"
        yield row["text"]
    if any(total["callbacks"] for total in result["causes"]):
        yield ""
        yield from _costs(result, flagged)
    for search in result["thresholds"]:
        yield ""
        yield search["text"]
    yield ""
    yield from _others(rows)


def _headline(result: "PatternsResult", flagged: int) -> str:
    events = sum(total["callbacks"] for total in result["causes"])
    return (
        f"{result['openings']:,} finished openings up to {result['as_of']}, {events} first callbacks inside the "
        f"warranty. Patterns that stand out: {flagged}. On average at most one such flag in ten is wrong."
    )


def _rate(total: "CauseTotal") -> str:
    if total["rate_per_100_years"] is None:
        return f"{total['cause']}: no time watched yet."
    reached = [(total[key], months) for key, months in SHARES if total[key] is not None]  # type: ignore[literal-required]
    curve = [f"{percent(share, digits=1)} of openings by {months} months" for share, months in reached]
    return (
        f"{total['cause']}: {total['callbacks']} first callbacks in {total['opening_years']:,.0f} opening-years, "
        f"{total['rate_per_100_years']:.1f} per 100 ({total['rate_low']:.1f}–{total['rate_high']:.1f})"
        f"{'; ' if curve else ''}{', '.join(curve)}."
    )


def _costs(result: "PatternsResult", flagged: list["PatternRow"]) -> Iterator[str]:
    yield (
        "Callbacks that count and their cost so far, all years of the book; what goes with a finding, "
        "if the link is causal and the fault fully prevented:"
    )
    headers = ["cause", "goes with", "callbacks", "cost", "by year (callbacks, cost)"]
    yield from table(headers, [row for total in result["causes"] for row in _parts_of(total, flagged)])
    missing = sum(total["not_costed"] for total in result["causes"])
    if missing:
        yield f"Not costed yet, so in no cost above: {missing}."


def _parts_of(total: "CauseTotal", flagged: list["PatternRow"]) -> Iterator[list[str | None]]:
    """A cause parted: each finding, the rest of the first callbacks, repeats, those outside the warranty, the whole."""
    cause, years = total["cause"], total["by_year"]
    for row in flagged:
        if row["cause"] == cause:
            spans = [(part["year"], part["callbacks"], part["cost"]) for part in row["by_year"]]
            yield [cause, spaced(row), _range(row), usd(row["attributable_cost"]), _last_years(spans)]
    rest = [(year["year"], year["not_explained"], year["cost_not_explained"]) for year in years]
    again = [(year["year"], float(year["repeat_callbacks"]), year["repeat_cost"]) for year in years]
    outside = [(year["year"], float(year["outside_callbacks"]), year["outside_cost"]) for year in years]
    every = [(year["year"], float(_all_of(year)), year["cost"]) for year in years]
    yield [cause, "no finding", f"{total['not_explained']:.0f}", usd(total["cost_not_explained"]), _last_years(rest)]
    yield [cause, "again at the same opening", f"{total['repeat_callbacks']}", usd(total["repeat_cost"]),
           _last_years(again)]  # fmt: skip
    yield [cause, "outside the warranty", f"{total['outside_callbacks']}", usd(total["outside_cost"]),
           _last_years(outside)]  # fmt: skip
    yield [cause, "all together", f"{_all_of(total)}", usd(total["cost"]), _last_years(every)]


def _all_of(money: "CauseMoney") -> int:
    return money["callbacks"] + money["repeat_callbacks"] + money["outside_callbacks"]


def _range(row: "PatternRow") -> str:
    low, high = row["attributable_callbacks_low"], row["attributable_callbacks_high"]
    return f"{row['attributable_callbacks']:.0f} ({low:.0f}–{high:.0f})"


def _last_years(years: Sequence[tuple[int, float, float | None]]) -> str:
    """The last three years, as year: callbacks, cost."""
    told = [(year, f"{callbacks:.1f}".removesuffix(".0"), usd(cost)) for year, callbacks, cost in years[-3:]]
    return "; ".join(f"{year}: {callbacks}, {cost}" for year, callbacks, cost in told)


def spaced(row: "PatternRow") -> str:
    """A pattern's name as words."""
    return row["pattern"].replace("_", " ")


def _others(rows: list["PatternRow"]) -> Iterator[str]:
    stand_ins = [row for row in rows if row["stands_in_for"]]
    for row in stand_ins:
        yield row["text"]
    open_rows = [row for row in rows if not row["flagged"] and not row["stands_in_for"]]
    early = [row for row in open_rows if row["enough_data"]]
    if early:
        yield ""
        yield "Too early to tell (never the same as no effect):"
        headers = ["cause", "pattern", "with it", "callbacks", "ratio so far", "would show from"]
        yield from table(headers, [_early(row) for row in early])
    if len(early) < len(open_rows):
        yield ""
        names = [f"{spaced(row)} ({row['cause']})" for row in open_rows if not row["enough_data"]]
        yield f"Not enough data: {', '.join(names)}."


def _early(row: "PatternRow") -> list[str]:
    ratio = "–" if row["hazard_ratio"] is None else f"{row['hazard_ratio']:.1f} ({row['low']:.1f}–{row['high']:.1f})"
    seen = "–" if row["smallest_hr_seen"] is None else f"{row['smallest_hr_seen']:.1f} times"
    callbacks = f"{row['callbacks_with']} of {row['callbacks_with'] + row['callbacks_without']}"
    return [row["cause"], spaced(row), str(row["openings_with"]), callbacks, ratio, seen]
