"""`areaway revisit`: which finished openings to visit first, and why."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, percent, usd

if TYPE_CHECKING:
    from schemas.results_callbacks import RevisitResult, RevisitRow


def revisit(
    ctx: typer.Context,
    top: Annotated[int, typer.Option(metavar="NUMBER", help="How many openings, at least 1.")] = 20,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Finished openings most likely to call back before their warranty ends, with the reasons."""
    from pipeline.runs.revisit import revisit_

    book, settings = common(ctx)
    result = revisit_(book, settings, as_of=answer_day(book, as_of), top=top)
    finish(result, as_json, lines(result))


def lines(result: "RevisitResult") -> Iterator[str]:
    """The answer as a person reads it."""
    running = result["openings_under_warranty"]
    yield f"{running:,} openings are under warranty on {result['as_of']}; the likeliest to call back:"
    for row in result["rows"]:
        yield ""
        yield _head(row)
        yield from (f"    {reason}" for reason in row["reasons"])
    if result["base_rate"]:
        yield ""
        names = ", ".join(result["base_rate"])
        yield f"Too few callbacks to tell openings apart, so all share the base rate: {names}."
    yield ""
    yield "Chances from past jobs, not findings: a visit settles it. Crews are allowed for, and are no reason given."


def _head(row: "RevisitRow") -> str:
    likeliest = max(row["by_cause"], key=lambda cause: row["by_cause"][cause])
    return (
        f"{row['opening_id']} (job {row['job_id']}, finished {row['completed_on']}, "
        f"warranty to {row['warranty_ends_on']}): {percent(row['probability'], digits=1)} before the warranty ends, "
        f"mostly {likeliest}; its part of the reserve {usd(row['expected_cost'])}"
    )
