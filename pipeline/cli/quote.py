"""areaway quote: an opening or a file of them in, the offer out."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from pipeline.cli.text import common, day, finish, hours, note, percent, table, usd

Size = Annotated[str | None, typer.Option(metavar="SIZE", help="Inches, or such as 4' 6\".")]
Word = Annotated[str | None, typer.Option(metavar="WORD")]
Text = Annotated[str | None, typer.Option(metavar="TEXT")]


def quote(
    ctx: typer.Context,
    opening: Annotated[
        Path | None, typer.Option(help="A file with the columns of openings; rows of one job_id are one job.")
    ] = None,
    wall_type: Word = None,
    opening_work: Word = None,
    rough_width_in: Size = None,
    rough_height_in: Size = None,
    well_type: Word = None,
    wall_thickness_in: Size = None,
    existing_width_in: Size = None,
    existing_height_in: Size = None,
    depth_below_grade_in: Size = None,
    soil: Word = None,
    dig_method: Word = None,
    reinforced: Word = None,
    well_width_in: Size = None,
    well_projection_in: Size = None,
    well_depth_in: Size = None,
    drain: Word = None,
    clear_width_in: Size = None,
    clear_height_in: Size = None,
    sill_above_floor_in: Size = None,
    sill_below_grade_in: Size = None,
    window_spec: Text = None,
    well_spec: Text = None,
    opening_id: Text = None,
    job_id: Text = None,
    crew: Annotated[str, typer.Option(help="Who will do it; left out, the doubt about the crew is in the range.")] = "",
    margin: Annotated[float | None, typer.Option(help="Share of the price that is profit, 0 to below 1.")] = None,
    price: Annotated[float | None, typer.Option(help="Price to hold the cost against. [USD]")] = None,
    start: Annotated[str | None, typer.Option(metavar="DATE", help="First day of work; sets the season.")] = None,
    as_of: Annotated[str | None, typer.Option(metavar="DATE", help="Answer as of this day.")] = None,
    save: Annotated[bool, typer.Option("--save", help="Keep the quote in the book.")] = False,
    out: Annotated[Path | None, typer.Option(help="Folder for a one-page offer and a CSV.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON document.")] = False,
) -> None:
    """Hours, materials, cost, price and risk of one or more openings."""
    from pipeline.runs.quote import Asked, quote_

    texts = {name: value for name, value in ctx.params.items() if isinstance(value, str)}
    book, settings = common(ctx)
    asked = Asked(
        openings=_asked(opening, texts, settings), crew=crew, start=day(start, "--start"), margin=margin, price=price,
        save=save,
    )  # fmt: skip
    result = quote_(book, settings, asked, as_of=day(as_of, "--as-of"))
    if out is not None:
        from pipeline.runs.quote_sheet import write_quote_sheet

        for path in write_quote_sheet(result, out):
            note(f"wrote {path}")
    finish(result, as_json, lines(result))


def _asked(file: Path | None, texts: dict[str, str], settings: Any) -> list[Any]:
    from pipeline.errors import WrongUsage
    from pipeline.runs.quote_request import COLUMNS, asked_in_file, asked_opening

    given = {name: text for name, text in texts.items() if name in (*COLUMNS, "opening_id", "job_id")}
    if file is not None and given:
        raise WrongUsage(f"--opening FILE and {', '.join('--' + name for name in given)} exclude one another")
    if file is not None:
        return asked_in_file(file, settings)
    return [asked_opening(given, settings)] if given else []


def lines(result: Any) -> Iterator[str]:
    """The offer as a person reads it: what stops it first, then the figure, then how it is made up."""
    refused = [one for one in result["openings"] if one["confidence"] == "outside_experience"]
    if refused:
        yield "PRICE THIS BY HAND: " + "; ".join(_why(one) for one in refused)
        yield ""
    yield from _total_lines(result)
    for opening in result["openings"]:
        yield ""
        yield from _opening_lines(opening)
    for job in result["jobs"]:
        yield ""
        yield from _job_lines(job)
    yield from _guidance_lines(result["price_guidance"])
    yield ""
    yield from _caution_lines(result)


def _why(opening: Any) -> str:
    beyond = f" (outside what was done: {', '.join(opening['out_of_range'])})" if opening["out_of_range"] else ""
    return f"{opening['opening_id']} is outside the firm's experience{beyond}"


def _total_lines(result: Any) -> Iterator[str]:
    total = result["total"]
    found = total["labour_hours"]
    yield f"Quote {result['quote_id']}, as of {result['as_of']}"
    yield (
        f"Labour {hours(found['mean'])} on average; four cases in five between "
        f"{hours(found['p10'])} and {hours(found['p90'])}"
    )
    days = total["crew_days"]
    yield f"Crew {days['p50']:.1f} days, up to {days['p90']:.1f} in nine cases of ten"
    overhead = "" if result["overhead_set"] else "  (overhead not set in areaway.toml)"
    parts = [
        ("labour", total["labour_cost"]), ("materials", total["material_cost"]), ("other costs", total["other_cost"]),
        ("overhead", total["overhead"]), ("callback allowance", total["callback_allowance"]),
        ("expected cost", total["expected_cost"]),
    ]  # fmt: skip
    yield from table(("cost", "USD"), [(name, usd(amount)) for name, amount in parts])
    yield f"Four times in five it costs less than {usd(total['cost_p80'])}{overhead}"
    if total["price_at_margin"] is None:
        return
    yield f"Price at a margin of {percent(total['margin'])}: {usd(total['price_at_margin'])}"
    yield f"At {usd(total['price'])} the chance to lose money is {percent(total['chance_of_loss'], digits=1)}"


def _opening_lines(opening: Any) -> Iterator[str]:
    found = opening["labour_hours"]
    yield f"{opening['opening_id']}: {hours(found['p10'])} to {hours(found['p90'])}, {_confidence(opening)}"
    body = [
        (line["phase"].replace("_", " "), hours(line["mean"]), f"{line['p10']:.1f} to {line['p90']:.1f}",
         "" if line["explained"] is None else line["explained"]["text"].split(" = ", 1)[-1])
        for line in opening["phases"]
    ]  # fmt: skip
    yield from table(("phase", "hours", "range", "how"), body)
    if opening["assumed"]:
        yield "Assumed: " + "; ".join(name.replace("_in", "").replace("_", " ") for name in opening["assumed"])
    chances = opening["callback"]
    if chances["leak"] is not None:
        yield (
            f"Callback within the warranty: leak {percent(chances['leak'], digits=1)}, fit {percent(chances['fit'], digits=1)}, "
            f"drainage {percent(chances['drainage'], digits=1)}; {usd(chances['expected_cost'])} set aside"
        )
    if opening["similar_hours"]:
        yield "Like it: " + ", ".join(
            f"{one['opening_id']} took {hours(one['hours'])}" for one in opening["similar_hours"]
        )
    yield from _egress_lines(opening["egress"])


def _confidence(opening: Any) -> str:
    words = {
        "ok": "like much the firm has done",
        "few_like_it": "few jobs like it",
        "outside_experience": "outside the firm's experience",
    }
    return words[opening["confidence"]]


def _egress_lines(checks: Any) -> Iterator[str]:
    marks = {"pass": "meets", "fail": "FAILS", "cannot_tell": "cannot tell"}
    yield f"Escape opening, model code {checks[0]['edition']} (no approval; the building official decides):"
    for check in checks:
        value = "" if check["value"] is None else f" {check['value']:.4g}"
        limit = "" if check["limit"] is None else f" against {check['limit']:g}"
        why = f" – {check['note']}" if check["note"] else ""
        yield f"  {marks[check['result']]:<11} {check['rule'].replace('_', ' ')}{value}{limit} ({check['section']}){why}"


def _job_lines(job: Any) -> Iterator[str]:
    yield f"Order for {job['job_id']}:"
    body = [
        (
            f"{line['item'].replace('_', ' ')} {line['spec']}".strip(),
            f"{line['order_quantity']:g}",
            line["unit"],
            usd(line["cost"]),
        )
        for line in job["order"]
    ]
    yield from table(("item", "order", "unit", "cost"), body)
    for line in job["other_costs"]:
        yield (
            f"Other: {line['category']} {usd(line['expected'])}, usually {usd(line['low'])} to {usd(line['high'])} "
            f"({line['jobs']} past jobs)"
        )


def _guidance_lines(bands: Any) -> Iterator[str]:
    if not bands:
        return
    yield ""
    yield "What happened to past quotes, by price over predicted cost:"
    for band in bands:
        low = "" if band["low"] is None else f"from {band['low']:.2f} "
        high = "" if band["high"] is None else f"up to {band['high']:.2f} "
        yield (
            f"  {low}{high}times cost: {band['won']} of {band['decided']} won, {percent(band['win_rate'])} "
            f"({percent(band['rate_low'])} to {percent(band['rate_high'])})"
        )


def _caution_lines(result: Any) -> Iterator[str]:
    yield "Cautions (no clearance that work is safe):"
    shown = {
        (one["topic"], one["text"], one["authority"]) for opening in result["openings"] for one in opening["cautions"]
    }
    for topic, text, authority in sorted(shown):
        yield f"  {topic}: {text} [{authority}]"
