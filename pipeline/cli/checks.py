"""`areaway checks`: readings beyond the firm's own limits, as a list to act on."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, counted, finish, table

if TYPE_CHECKING:
    from schemas.results_callbacks import CheckRow, ChecksResult

NO_LIMITS = """No limits are set, so no reading can break one. Put the firm's own into the settings file, for example
[limits]
plumb_error_in = { max = 0.125 }
The anchor torque comes from the anchor maker's sheet; none is published."""


def checks(
    ctx: typer.Context,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Openings whose check-card readings break the firm's own limits."""
    from pipeline.runs.checks import checks_

    book, settings = common(ctx)
    result = checks_(book, settings, as_of=answer_day(book, as_of))
    finish(result, as_json, lines(result))


def lines(result: "ChecksResult") -> Iterator[str]:
    """The answer as a person reads it."""
    if not result["limits"]:
        yield from NO_LIMITS.splitlines()
        return
    rows = result["rows"]
    openings = len({row["opening_id"] for row in rows})
    yield (
        f"Readings beyond our own limits: {len(rows)}, on {counted(openings, 'opening')}; "
        f"{counted(result['cards'], 'check card')} up to {result['as_of']}."
    )
    if not rows:
        return
    yield ""
    headers = ["opening", "job", "crew", "checked", "reading", "value", "limit", "called back"]
    yield from table(headers, [_row(row) for row in rows])
    yield ""
    yield "Look at those that have not called back first: the limit is ours, so no statistics are needed."


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
    ]
