"""`areaway callbacks`: the list with costs and waiting days, or the case file of one callback or opening."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import NOTHING, answer_day, common, finish, percent, table, usd

if TYPE_CHECKING:
    from schemas.results_warranty import CallbackRow, Callbacks, CaseFile

SHOWN = 40


def callbacks(
    ctx: typer.Context,
    callback_id: Annotated[str | None, typer.Argument(metavar="ID", help="Case file of this callback.")] = None,
    opening: Annotated[str | None, typer.Option(metavar="ID", help="Case file of this opening.")] = None,
    only_open: Annotated[bool, typer.Option("--open", help="Only those nobody has closed.")] = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Folder for the case file as a page to print.")
    ] = None,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Callbacks with their costs and waiting days; with a number or --opening, the case file."""
    book, settings = common(ctx)
    until = answer_day(book, as_of)
    _check(callback_id, opening, only_open=only_open, out=out)
    if callback_id is None and opening is None:
        from pipeline.runs.callbacks import callbacks_

        result = callbacks_(book, settings, as_of=until, only_open=only_open)
        finish(result, as_json, lines(result, only_open=only_open))
        return
    from pipeline.runs.case_file import case_of_callback, case_of_opening

    if callback_id is not None:
        case = case_of_callback(book, settings, callback_id, as_of=until)
    else:
        case = case_of_opening(book, settings, str(opening), as_of=until)
    written = [] if out is None else [_page(case, out)]
    finish(case, as_json, [*case_lines(case), *written])


def _check(callback_id: str | None, opening: str | None, *, only_open: bool, out: Path | None) -> None:
    from pipeline.errors import WrongUsage

    one = callback_id is not None or opening is not None
    if callback_id is not None and opening is not None:
        raise WrongUsage("give a callback or --opening, not both")
    if one and only_open:
        raise WrongUsage("--open goes with the list; leave it out of a case file")
    if out is not None and not one:
        raise WrongUsage("--out writes a case file; give a callback or --opening with it")


def _page(case: "CaseFile", out: Path) -> str:
    from pipeline.runs.case_page import write_case_page

    return f"The page to print: {write_case_page(case, out)}"


def lines(result: "Callbacks", *, only_open: bool) -> Iterator[str]:
    """The list as a person reads it."""
    found = result["rows"]
    waiting = [row["days_open"] for row in found if row["days_open"] is not None]
    counted = sum(row["counts"] for row in found)
    yield f"{len(found)} reports up to {result['as_of']}, {counted} of them count; {_open(waiting)}"
    yield ""
    yield from table(
        ["callback", "opening", "reported", "complaint", "counts", "cost", "days open"],
        [_row(row) for row in found[:SHOWN]],
    )
    if len(found) > SHOWN:
        yield f"… and {len(found) - SHOWN} older ones; --json gives all."
    if not only_open:
        yield ""
        yield from _watch_lines(result)


def _open(waiting: list[int]) -> str:
    if not waiting:
        return "none waits."
    return f"{len(waiting)} wait, the longest for {max(waiting)} days."


def _row(row: "CallbackRow") -> list[str]:
    counts = "yes" if row["counts"] else str(row["why_not"])
    waits = "" if row["days_open"] is None else str(row["days_open"])
    cost = "not yet" if row["cost"] is None else usd(row["cost"])
    return [row["callback_id"], row["opening_id"], str(row["reported_on"]), row["complaint"], counts, cost, waits]


def _watch_lines(result: "Callbacks") -> Iterator[str]:
    watching = result["watching"]
    for title, months in (
        ("report", watching["by_month_of_report"]),
        ("setting", watching["by_month_of_setting"]),
    ):
        high = [month["month"] for month in months if month["outside"] and month["rate"] > month["centre"]]
        yield f"Months of {title} with more callbacks than chance gives openings so old: {', '.join(high) or 'none'}."
    rise = watching["rise"]
    if rise is None:
        yield "Too few months to watch for a rise: two years of them are needed, with callbacks in the first."
        return
    yield _rise_sentence(rise["alarm_since"], rise["months_until_a_doubling_shows"], rise["false_alarm_every_months"])


def _rise_sentence(alarm_since: str | None, months_to_show: float, false_alarm: float) -> str:
    state = "no sign of a lasting rise" if alarm_since is None else f"a lasting rise shows since {alarm_since}"
    return (
        f"Watching for a doubling: {state}. At this firm's rate a doubling takes about {months_to_show:.0f} months "
        f"to show; a false alarm comes about every {false_alarm:.0f} months."
    )


def case_lines(case: "CaseFile") -> Iterator[str]:
    """The case file as a person reads it."""
    opening = case["opening"]
    yield f"Opening {opening['opening_id']}, job {opening['job_id']}, crew {opening['crew'] or NOTHING}"
    yield f"  {_words(opening, ('wall_type', 'opening_work', 'soil', 'dig_method', 'well_type', 'drain'))}"
    yield ""
    yield "What happened:"
    yield from (f"  {entry['date']}  {entry['event']}" for entry in case["timeline"])
    yield ""
    yield "Readings on the check card:"
    yield from _card_lines(case["checks"])
    yield ""
    yield "Weather:"
    yield from (_weather_line(row) for row in case["weather"])
    if not case["weather"]:
        yield "  no setting day and no call to look up"
    yield ""
    yield "Findings present:"
    yield from (f"  {row['text']}" for row in case["patterns_present"])
    if not case["patterns_present"]:
        yield "  none of the known patterns was recorded here"
    yield ""
    yield "Among similar openings, callbacks of this kind go with (a lead to look into, not a verdict):"
    for cause in case["likely_causes"]:
        yield f"  {percent(cause['share']):>5}  {cause['pattern']}: {cause['why']}"
    yield ""
    yield "Nearest cases and how they were solved:"
    yield from (_similar_line(row) for row in case["similar"])
    if not case["similar"]:
        yield "  none with the same complaint is on record"
    yield ""
    yield _cost_line(case["cost"], str(opening["opening_id"]))


def _words(row: dict[str, Any], names: tuple[str, ...]) -> str:
    return ", ".join(f"{name.replace('_', ' ')} {row[name]}" for name in names if row.get(name) is not None)


def _card_lines(checks: list[dict[str, Any]]) -> Iterator[str]:
    from pipeline.runs.case_page import card_lines

    if not checks:
        yield "  no check card was filled in"
    for card in checks:
        yield from (f"  {line}" for line in card_lines(card))


def _weather_line(row: dict[str, Any]) -> str:
    rain = "rain not recorded" if row["precipitation_in"] is None else f"{row['precipitation_in']:.2f} in of rain"
    cold = "" if row["temp_min_f"] is None else f", low {row['temp_min_f']:.0f} °F"
    return f"  {row['date']}  {row['what']}: {rain}{cold}"


def _similar_line(row: dict[str, Any]) -> str:
    found = row["cause_found"] or "cause not recorded"
    done = row["work_done"] or "work not recorded"
    fixed = {True: "solved", False: "not solved", None: "outcome not recorded"}[row["fixed"]]
    place = f"{row['callback_id']} at {row['opening_id']} ({row['reported_on']})"
    return f"  {place}: {found}; {done}; {fixed}; {usd(row['cost'])}"


def _cost_line(cost: dict[str, Any], opening_id: str) -> str:
    if cost["marked_standard"] is None:
        return "Cost: no callback at this opening."
    if cost["visit_opening_id"] != opening_id:
        known = "not costed yet" if cost["net_cost"] is None else usd(cost["net_cost"])
        return (
            f"Cost: {known}, on the visit at opening {cost['visit_opening_id']}, which this report is marked to repeat."
        )
    if cost["net_cost"] is None:
        return "Cost: not costed yet." if cost["all_callbacks_here"] is None else _total(cost)
    marked = " (labour at the standard rate)" if cost["marked_standard"] else ""
    return f"Cost: {usd(cost['net_cost'])}{marked}. {_total(cost)}"


def _total(cost: dict[str, Any]) -> str:
    return f"All callbacks at this opening so far: {usd(cost['all_callbacks_here'])}."
