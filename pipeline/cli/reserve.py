"""`areaway reserve`: callback cost still to come under warranty, for the warranty manager and the books."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, counted, finish, table, usd

if TYPE_CHECKING:
    from schemas.results_warranty import ComplaintShare, CrossCheck, Reserve, RollForwardMonth

MONTHS_IN_TEXT = 12
SPENT_AND_CHANGE = (
    "Spent is what the callbacks reported in a month cost as known today, those not costed yet at their expected cost.",
    "Change is all else: more or fewer callbacks than expected, dearer or cheaper, and what that says of the next.",
    "A cost that comes in late moves spent and change of its month; a closing stays what was set aside on that day.",
)
MORE_BACK = "More was got back from makers than callbacks cost so far; that is no promise for those to come."


def reserve(
    ctx: typer.Context,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Expected remaining callback cost of all openings under warranty, and how it rolled forward."""
    from pipeline.runs.reserve import reserve_

    book, settings = common(ctx)
    result = reserve_(book, settings, as_of=answer_day(book, as_of))
    finish(result, as_json, lines(result))


def lines(result: "Reserve") -> Iterator[str]:
    """The answer as a person reads it."""
    yield from _headline(result)
    yield ""
    yield "Month by month:"
    yield from _months(result)
    yield ""
    yield "By complaint:"
    yield from table(
        ["complaint", "callbacks", "cost", "per callback"],
        [_complaint(row) for row in result["by_complaint"]],
    )
    yield ""
    yield "How it rolled forward (opening + accrued − spent + change in estimate = closing):"
    yield from _roll_forward(result)
    yield from SPENT_AND_CHANGE
    yield ""
    yield "The same cost by simpler methods, as a cross-check:"
    yield from map(_cross_check, result["cross_checks"])


def _headline(result: "Reserve") -> Iterator[str]:
    yield (
        f"Set aside {usd(result['expected_cost'])} for about {result['expected_callbacks']:.0f} callbacks "
        f"still to come at the {result['openings_under_warranty']:,} openings under warranty on {result['as_of']}."
    )
    yield (
        f"In 8 of 10 cases it will be {usd(result['low_80'])} to {usd(result['high_80'])}, "
        f"in 95 of 100 {usd(result['low_95'])} to {usd(result['high_95'])}; net of what is got back from makers."
    )
    if result["more_got_back_than_spent"]:
        yield MORE_BACK
    waiting = result["reported_not_costed"]
    yield (
        f"Apart from that, reported but not costed yet: {counted(round(waiting['callbacks']), 'callback')}, "
        f"about {usd(waiting['expected_cost'])}."
    )
    yield (
        f"Behind it stand {result['visits_behind_it']} callbacks inside their warranty; the cost of one is taken from "
        f"{result['costed_visits']} costed callbacks, those after the warranty among them."
    )
    if result["order_of_magnitude_only"]:
        yield "That is too few for more than an order of magnitude: at least 20 callbacks are needed."


def _cross_check(check: "CrossCheck") -> str:
    if check["expected_cost"] is None:
        return f"  cannot tell: {check['method']}, as {check['why_not']}"
    error = "" if check["standard_error"] is None else f" (give or take {usd(check['standard_error'])})"
    return f"  {usd(check['expected_cost'])}{error}: {check['method']}"


def _months(result: "Reserve") -> list[str]:
    shown = result["by_month"][:MONTHS_IN_TEXT]
    later = result["by_month"][MONTHS_IN_TEXT:]
    rows = [[row["month"], f"{row['expected_callbacks']:.1f}", usd(row["expected_cost"])] for row in shown]
    if later:
        callbacks = sum(row["expected_callbacks"] for row in later)
        rows.append(["later", f"{callbacks:.1f}", usd(sum(row["expected_cost"] for row in later))])
    return table(["month", "callbacks", "cost"], rows)


def _roll_forward(result: "Reserve") -> list[str]:
    rows = [[row["month"], *(usd(amount) for amount in _amounts(row))] for row in result["roll_forward"]]
    return table(["month", "opening", "accrued", "spent", "change", "closing"], rows)


def _amounts(row: "RollForwardMonth") -> list[float]:
    return [row["opening"], row["accrued"], row["spent"], row["change_in_estimate"], row["closing"]]


def _complaint(row: "ComplaintShare") -> list[str]:
    callbacks = f"{row['expected_callbacks']:.1f}"
    return [row["complaint"], callbacks, usd(row["expected_cost"]), usd(row["cost_per_callback"])]
