"""`areaway checks`: readings beyond the firm's own limits, as a list to act on."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, counted, finish, percent, table

if TYPE_CHECKING:
    from schemas.results_callbacks import CheckRow, ChecksResult, CrewShare

ROWS_SHOWN = 40
NO_LIMITS = """No limits are set, so no reading can break one. Put the firm's own into the settings file, for example
[limits]
plumb_error_in = { max = 0.125 }
The anchor torque comes from the anchor maker's sheet; none is published."""


def checks(
    ctx: typer.Context,
    show_all: Annotated[
        bool, typer.Option("--all", help="Every reading, also of openings that called back or are out of warranty.")
    ] = False,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Openings whose check-card readings break the firm's own limits."""
    from pipeline.runs.checks import checks_

    book, settings = common(ctx)
    result = checks_(book, settings, as_of=answer_day(book, as_of))
    finish(result, as_json, lines(result, show_all=show_all))


def lines(result: "ChecksResult", *, show_all: bool = False) -> Iterator[str]:
    """The answer as a person reads it: first what can still be put right before it calls back."""
    if not result["limits"]:
        yield from NO_LIMITS.splitlines()
        return
    rows = result["rows"]
    openings = len({row["opening_id"] for row in rows})
    yield (
        f"Readings beyond our own limits: {len(rows):,}, on {counted(openings, 'opening')}; "
        f"{counted(result['cards'], 'check card')} up to {result['as_of']}."
    )
    if rows:
        yield from _listed(rows, show_all=show_all)
        yield from _by_crew(result["by_crew"])


def _listed(rows: Sequence["CheckRow"], *, show_all: bool) -> Iterator[str]:
    to_see = [row for row in rows if row["under_warranty"] and not row["called_back"]]
    shown = rows if show_all else to_see[:ROWS_SHOWN]
    yield f"To look at first: {len(to_see):,}, on openings under warranty that have not called back; newest card first."
    yield "The limit is ours, so no statistics are needed."
    if shown:
        yield ""
        headers = ["opening", "job", "crew", "checked", "reading", "value", "limit", "called back", "warranty"]
        yield from table(headers, [_row(row) for row in shown])
    if len(shown) == len(rows):
        return
    called = sum(row["called_back"] for row in rows)
    over = len(rows) - called - len(to_see)
    more = f"{len(to_see) - len(shown):,} more of these; " if len(to_see) > len(shown) else ""
    yield ""
    yield (
        f"Not listed: {more}{called:,} on openings that have called back already, "
        f"{over:,} on others whose warranty is over. areaway checks --all lists them too."
    )


def _by_crew(shares: Sequence["CrewShare"]) -> Iterator[str]:
    """How often each crew's cards hold a reading beyond a limit, as a lead."""
    if not shares:
        return
    yield ""
    yield "By crew, in the order of names: openings with a card, and those with a reading beyond a limit."
    yield from table(
        ["crew", "with a card", "beyond a limit", "share"],
        [
            [row["crew"], f"{row['cards']:,}", f"{row['beyond']:,}", f"{percent(row['share'])} ({_span(row)})"]
            for row in shares
        ],
    )
    yield (
        "Shares are pulled towards that of all crews; the range in brackets holds the true one in 95 of 100 cases. "
        "A lead to look into together: crews meet different walls and weather, and read their gauges differently."
    )


def _span(row: "CrewShare") -> str:
    return f"{100 * row['low']:.0f}–{percent(row['high'])}"


def _row(row: "CheckRow") -> list[str]:
    return [
        row["opening_id"],
        row["job_id"],
        row["crew"] or "–",
        row["checked_on"].isoformat(),
        row["reading"],
        f"{row['value']:g}",
        f"{row['limit']:g}",
        "yes" if row["called_back"] else "no",
        "runs" if row["under_warranty"] else "over",
    ]
