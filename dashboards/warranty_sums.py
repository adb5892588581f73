"""The warranty page's choices: which figures follow branch, crew, wall type and dates, and which never do."""

from collections.abc import Mapping

import polars as pl

from dashboards import charts, sums
from dashboards.charts import Marks, figure_data
from dashboards.html import Table, bullets, disclosure, paragraph, section, table, too_few
from dashboards.parts import Parts, have, missing
from dashboards.words import count, usd
from schemas.vocab import COMPLAINT

MOST_CELLS = 4_000  # of 17 measures, most of them counts, and 4 codes: about 0.4 MB in the page, which may hold 1.5 MB
DATED = (
    ("Callbacks reported", "reports", "count"),
    ("Ours to pay, doubles counted once", "counted", "count"),
    *((f"of these: {word}", f"counted_{word}", "count") for word in COMPLAINT),
    ("Still waiting", "waiting", "count"),
    ("Cost of those ours to pay, so far", "cost", "usd"),
    ("Callbacks with a known cost", "costed", "count"),
    ("Cost of one of them, on average", "cost_each", "usd_few"),
    ("Years under warranty watched, all openings", "opening_years", "years"),
    ("Callbacks a year per 100 openings under warranty", "rate", "rate"),
    ("Readings outside our limits", "readings", "count"),
    ("of these: opening called back since", "readings_back", "count"),
)
AS_OF_TODAY = (
    ("Openings under warranty", "under_warranty", "count"),
    ("Callbacks still expected", "expected_callbacks", "expected"),
    ("Their expected cost", "expected_cost", "usd"),
)
MEASURES = (
    "reports",
    "counted",
    *(f"counted_{word}" for word in COMPLAINT),
    "waiting",
    "cost",
    "costed",
    "visits",
    "opening_years",
    "readings",
    "readings_back",
    *(name for _, name, _ in AS_OF_TODAY),
)
GROUPS = ("branch", "crew", "wall_type")
MOVES = (
    "Branch, crew and wall type move the lists on this page (waiting, to visit, readings, case files) "
    "and both tables here.",
    "Dates move the first table and the chart: the day a callback was reported, a card filled in, a month watched. "
    "They move no list and nothing that looks ahead.",
    "Nothing else moves. Patterns, torque, time to callback, rain, crews and the chance of each opening are worked out "
    "from the whole book, since a part of it would be too few; so are the large figures at the top.",
    "A callback belongs to its opening: to the wall of the opening, and to the branch and crew that set it.",
)


def cells(parts: Parts) -> pl.DataFrame | None:
    """The sums per branch, crew, wall type and period; None when nothing was gathered."""
    given = have(parts, "warranty_sums")
    if given is None or given.is_empty():
        return None
    absent = [pl.lit(0.0).alias(name) for name in MEASURES if name not in given.columns]
    return sums.coarsened(given.with_columns(absent), "month", MEASURES, most_cells=MOST_CELLS)


def choices(counted: pl.DataFrame | None) -> str:
    """The form, closed until it is wanted, and the line that says what is shown."""
    if counted is None:
        return ""
    form = sums.form(counted, kind="callbacks", dated=("Dates from", "Dates up to"))
    few = paragraph("The address of this page keeps your choice: copy it to send the same view.", "note")
    few += '<p class="note"><a href="#cut">To the totals of your choice</a></p>'
    return (
        f'<div id="choice">{disclosure("Choose branch, crew, wall type or dates", form + few)}{sums.CHOICE_SAID}</div>'
    )


def totals(parts: Parts, counted: pl.DataFrame | None) -> str:
    """The figures of the choice, a chart of them, and what does not move."""
    if counted is None:
        return section("Totals of your choice", too_few(missing(parts, "warranty_sums")), name="cut")
    dated = Table("By the day it was reported, checked or watched", ["Figure", "Amount"], sums.answer_rows(DATED))
    ahead = Table("As it stands today, whatever the dates", ["Figure", "Amount"], sums.answer_rows(AS_OF_TODAY))
    crews = (
        "" if "crew" in counted.columns else paragraph("There are too many crews to choose single ones here.", "note")
    )
    held = disclosure("What moves with the choice, and what does not", bullets(MOVES))
    figures = f"<div>{table(dated)}{table(ahead)}{_whole_range(parts)}</div>"
    block = sums.as_block(counted, MEASURES)
    return section(
        "Totals of your choice", held, crews, f'<div class="charts">{figures}{_chart()}</div>{block}', name="cut"
    )


def _whole_range(parts: Parts) -> str:
    reserve = have(parts, "reserve")
    if reserve is None:
        return ""
    return paragraph(
        f"Expected figures of a part are its share of the whole firm's: {usd(reserve['expected_cost'])}, 8 times in 10 "
        f"between {usd(reserve['low_80'])} and {usd(reserve['high_80'])}, on "
        f"{count(reserve['openings_under_warranty'], 'opening')}. A part varies more, for its size, than the whole.",
        "note",
    )


def _chart() -> str:
    empty = charts.lines([Marks("callbacks", [], [], hover=[])], y_title="callbacks ours to pay")
    data = figure_data("filtered", empty).replace(' class="plot-data"', "")
    return (
        '<figure class="chart"><h3 class="claim">Callbacks ours to pay in your choice, by period of report</h3>'
        '<div class="plot" id="filtered-plot" style="min-height:330px" role="img" aria-label="Callbacks ours to pay in'
        ' your choice, one point per period; the totals stand in the table beside it"></div>'
        f"{data}</figure>"
    )


def marks(parts: Parts, opening_ids: list[str]) -> list[Mapping[str, str]]:
    """By what a choice finds the row of each opening; nothing for an opening that is not known."""
    groups = have(parts, "opening_groups")
    if groups is None:
        return [{} for _ in opening_ids]
    mine = groups.filter(pl.col("opening_id").is_in(opening_ids)).select("opening_id", *GROUPS)
    known = {row["opening_id"]: {name: row[name] for name in GROUPS} for row in mine.iter_rows(named=True)}
    return [known.get(name, {}) for name in opening_ids]
