"""areaway quote: an opening or a file of them in, the offer out."""

from pathlib import Path
from typing import Annotated, Any

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import common, day, finish, note

Size = Annotated[str | None, typer.Option(metavar="SIZE", help="Inches, or such as 4' 6\".")]
Word = Annotated[str | None, typer.Option(metavar="WORD")]
Text = Annotated[str | None, typer.Option(metavar="TEXT")]

Listed = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="A file with the columns of openings; rows of one job_id are one job."),
]


def quote(
    ctx: typer.Context,
    opening: Listed = None,
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
    crew: Annotated[
        str, typer.Option(metavar="CREW", help="Who will do it; left out, the doubt about the crew is in the range.")
    ] = "",
    margin: Annotated[
        float | None, typer.Option(metavar="SHARE", help="Share of the price that is profit, 0 to below 1.")
    ] = None,
    price: Annotated[float | None, typer.Option(metavar="USD", help="Price to hold the cost against. [USD]")] = None,
    start: Annotated[str | None, typer.Option(metavar="DATE", help="First day of work; sets the season.")] = None,
    as_of: AsOf = None,
    save: Annotated[bool, typer.Option("--save", help="Keep the quote in the book.")] = False,
    out: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Folder for a one-page offer and a CSV.")] = None,
    as_json: AsJson = False,
) -> None:
    """Hours, materials, cost, price and risk of one or more openings."""
    _answer(ctx)


def _answer(ctx: typer.Context) -> None:
    from pipeline.cli.quote_text import lines
    from pipeline.runs.quote import Asked, quote_

    given = ctx.params
    texts = {name: value for name, value in given.items() if isinstance(value, str)}
    book, settings = common(ctx)
    asked = Asked(
        openings=_asked(given["opening"], texts, settings),
        crew=given["crew"],
        start=day(given["start"], "--start"),
        margin=given["margin"],
        price=given["price"],
        save=given["save"],
    )
    result = quote_(book, settings, asked, as_of=day(given["as_of"], "--as-of"))
    _write(result, given["out"])
    finish(result, given["as_json"], lines(result))


def _asked(file: Path | None, texts: dict[str, str], settings: Any) -> list[Any]:
    from pipeline.errors import WrongUsage
    from pipeline.runs.quote_request import COLUMNS, asked_in_file, asked_opening

    given = {name: text for name, text in texts.items() if name in (*COLUMNS, "opening_id", "job_id")}
    if file is not None and given:
        raise WrongUsage(f"--opening FILE and {', '.join('--' + name for name in given)} exclude one another")
    if file is not None:
        asked, notes = asked_in_file(file, settings)
        for text in notes:
            note(text)
        return asked
    return [asked_opening(given, settings)] if given else []


def _write(result: Any, out: Path | None) -> None:
    if out is None:
        return
    from pipeline.runs.quote_sheet import write_quote_sheet

    for path in write_quote_sheet(result, out):
        note(f"wrote {path}")
