"""`areaway crews`: callbacks per crew beside what its mix of work would give, as leads."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, percent, table

if TYPE_CHECKING:
    from schemas.results_warranty import CrewRow, Crews

LEAST_CHANCE_SHOWN = 0.001  # below, the count of calls is no longer what the doubt is about; house rule
WORDS = {"watch": "watch", "act": "look into it"}


def crews(
    ctx: typer.Context,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Callbacks per crew against what their mix of work would give."""
    from pipeline.runs.crews import crews_

    book, settings = common(ctx)
    result = crews_(book, settings, as_of=answer_day(book, as_of))
    finish(result, as_json, lines(result))


def lines(result: "Crews") -> Iterator[str]:
    """The answer as a person reads it."""
    yield f"First callbacks inside the warranty up to {result['as_of']}, crews in the order of their names."
    yield (
        "Expected: what an ordinary crew (all your crews together, each by the work it did) would have had on the same "
        "walls, soils, depths, drains and weather."
    )
    yield ""
    yield from table(
        ["crew", "openings", "callbacks", "expected", "times expected", "level", "chance alone"],
        [_row(row) for row in result["rows"]],
    )
    yield ""
    for row in result["rows"]:
        if row["level"]:
            yield _sentence(row)
    yield (
        "A level is a lead to look into, not a verdict: houses, customers and check cards differ in ways no record "
        "shows. Ratios are pulled towards 1; the range in brackets holds the true one in 95 of 100 cases."
    )


def rare(chance: float) -> str:
    """A chance in percent; no small one is shown as none."""
    if chance < LEAST_CHANCE_SHOWN:
        return f"under {percent(LEAST_CHANCE_SHOWN, digits=1)}"
    return percent(chance, digits=1 if chance < 0.1 else 0)


def _row(row: "CrewRow") -> list[str]:
    ratio = f"{row['shrunk_ratio']:.2f} ({row['low']:.2f}–{row['high']:.2f})"
    level = WORDS[row["level"]] if row["level"] else "–" if row["expected"] >= 5 else "too few"
    cells = [row["crew"], f"{row['openings']:,}", f"{row['callbacks']:,}", f"{row['expected']:.1f}"]
    return [*cells, ratio, level, rare(row["chance_alone"])]


def _sentence(row: "CrewRow") -> str:
    any_crew = "" if row["chance_any"] is None else f", and some crew of yours in {rare(row['chance_any'])}"
    return (
        f"{row['crew']}: {row['callbacks']} callbacks where about {row['expected']:.0f} would be ordinary. "
        f"An ordinary crew shows as many by chance in {rare(row['chance_alone'])} of cases{any_crew}; more often where "
        "several calls come from one job. Ask first what help the crew needs."
    )
