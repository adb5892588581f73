"""The estimator's form: the openings record as inputs, and the places where the page's script puts its answers.

assets/quote*.js compute; this module only lays out. Inputs bear the names of the openings columns, then crew,
started_on, margin and price. The fitted models are the JSON block #models. Places the script fills:
#quote-verdict, #quote-hours #quote-cost #quote-offer #quote-risk #quote-crew-days each with its -range (text),
#quote-phases #quote-order #quote-egress #quote-costs (table bodies), #quote-cautions #quote-similar #quote-assumed
#quote-out-of-range (lists), #quote-say (a live line for screen readers). A list left empty hides its heading.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dashboards.html import data_block, too_few
from dashboards.words import esc, word
from schemas.vocab import DIG_METHOD, DRAIN, OPENING_WORK, SOIL, WALL_TYPE, WELL_TYPE


@dataclass(frozen=True)
class Field:
    """One input: its name, label and unit; a list of words, a yes/no, a date or a number."""

    name: str
    label: str
    unit: str = ""
    words: Sequence[str] = ()
    start: str = ""
    required: bool = False
    kind: str = "number"


SIZES = "Sizes in inches, or as read off the tape: 54 1/2, 4' 6 1/2\", 138 cm. Empty means not known."
YES_NO = ("yes", "no")
WALL = (
    Field("wall_type", "Wall", words=tuple(WALL_TYPE), start="poured_concrete", required=True),
    Field("wall_thickness_in", "Wall thickness", "in", start="8"),
    Field("opening_work", "Work", words=tuple(OPENING_WORK), start="new_cut", required=True),
    Field("rough_width_in", "Rough width", "in", start="48", required=True),
    Field("rough_height_in", "Rough height", "in", start="48", required=True),
    Field("existing_width_in", "Existing width", "in, 0 if none"),
    Field("existing_height_in", "Existing height", "in, 0 if none"),
    Field("reinforced", "Reinforced", words=YES_NO),
)
DIG = (
    Field("depth_below_grade_in", "Grade to bottom of dig", "in", start="60"),
    Field("soil", "Soil", words=tuple(SOIL)),
    Field("dig_method", "Dig by", words=tuple(DIG_METHOD)),
    Field("well_type", "Well", words=tuple(WELL_TYPE), start="steel", required=True),
    Field("well_width_in", "Well width", "in"),
    Field("well_projection_in", "Well projection", "in"),
    Field("well_depth_in", "Well depth", "in"),
    Field("drain", "Drain", words=tuple(DRAIN)),
)
WINDOW = (
    Field("clear_width_in", "Net clear width", "in"),
    Field("clear_height_in", "Net clear height", "in"),
    Field("sill_above_floor_in", "Sill above floor", "in"),
    Field("sill_below_grade_in", "Sill below grade", "in"),
    Field("window_spec", "Window size or model", kind="text"),
    Field("well_spec", "Well size or model", kind="text"),
)
GROUPS = (("The wall and the hole", WALL), ("Outside: dig and well", DIG), ("The window", WINDOW))
TABLES = (
    ("quote-phases", "Hours by phase", ("Phase", "Hours", "8 times in 10 between", "Why")),
    ("quote-order", "What to order, in whole packs", ("Item", "Order", "Unit", "Unit price", "Cost")),
    ("quote-costs", "Expected cost", ("Part", "USD")),
    ("quote-egress", "Escape window", ("Rule", "This opening", "Limit", "Result", "Section")),
)
FIGURE_HEADS = ("Hours", "8 times in 10 between", "Order", "Unit price", "Cost", "USD")
FIGURES_TO_THE_RIGHT = ' class="figures"'
LISTS = (
    ("quote-cautions", "Before you promise this"),
    ("quote-assumed", "Assumed, because it was not given"),
    ("quote-out-of-range", "Outside what the records hold"),
    ("quote-similar", "Openings like it that we have done"),
)
FIGURES = (
    ("quote-hours", "Labour hours", "quote-hours-range"),
    ("quote-cost", "Expected cost", "quote-cost-range"),
    ("quote-offer", "Price for our margin", "quote-offer-range"),
    ("quote-risk", "Chance we lose money", "quote-risk-range"),
    ("quote-crew-days", "Crew days", "quote-crew-days-range"),
)


def quote_form(models: Mapping[str, Any] | None, crews: Sequence[str], why_not: str) -> str:
    """The form with its models; without models, what is missing."""
    if models is None:
        return too_few(why_not)
    groups = "".join(_group(title, fields) for title, fields in (*GROUPS, ("The job", _job_fields(crews))))
    return (
        f'<p class="note">{SIZES}</p><div class="quote">'
        f'<form id="quote-form" autocomplete="off" aria-label="The opening to price">{groups}</form>'
        f'<noscript><p class="too-few">This form computes in the page and needs scripts; '
        f"the command areaway quote gives the same answer.</p></noscript>"
        f"{_answer()}</div>{data_block('models', models)}"
    )


def _job_fields(crews: Sequence[str]) -> tuple[Field, ...]:
    return (
        Field("crew", "Crew", words=tuple(crews)),
        Field("started_on", "Start", kind="date"),
        Field("margin", "Margin we want", "share of price, 0 to below 1"),
        Field("price", "Price the customer wants", "USD"),
    )


def _group(title: str, fields: Sequence[Field]) -> str:
    return (
        f'<fieldset><legend>{esc(title)}</legend><div class="fields">'
        f"{''.join(_field(field) for field in fields)}</div></fieldset>"
    )


def _field(field: Field) -> str:
    hint = f' <span class="hint">({esc(field.unit)})</span>' if field.unit else ""
    label = f'<label for="quote-{field.name}">{esc(field.label)}{hint}</label>'
    return f'<div class="field">{label}{_control(field)}</div>'


def _control(field: Field) -> str:
    needed = " required" if field.required else ""
    name = f'id="quote-{field.name}" name="{field.name}"{needed}'
    if field.words:
        return f"<select {name}>{_options(field)}</select>"
    if field.kind == "number":
        return f'<input {name} type="text" inputmode="decimal" value="{esc(field.start)}">'
    return f'<input {name} type="{field.kind}" value="{esc(field.start)}">'


def _options(field: Field) -> str:
    empty = "" if field.required else '<option value="">not given</option>'
    chosen = {field.start: " selected"}
    return empty + "".join(
        f'<option value="{esc(value)}"{chosen.get(value, "")}>{esc(word(value))}</option>' for value in field.words
    )


def _answer() -> str:
    figures = "".join(
        f'<div class="big"><dt>{label}</dt><dd><output class="value" id="{name}" form="quote-form">–</output>'
        f"{_range(spread)}</dd></div>"
        for name, label, spread in FIGURES
    )
    tables = "".join(
        f'<div class="scroll" role="region" aria-label="{caption}" tabindex="0"><table><caption>{caption}</caption>'
        f'<thead><tr>{_heads(heads)}</tr></thead><tbody id="{name}"></tbody></table></div>'
        for name, caption, heads in TABLES
    )
    lists = "".join(
        f'<div class="answer-list" hidden><h3 class="small">{title}</h3><ul id="{name}"></ul></div>'
        for name, title in LISTS
    )
    return (
        f'<div id="quote-answer"><p class="alert-line" id="quote-verdict" hidden></p>'
        f'<p class="note" id="quote-say" aria-live="polite"></p><dl class="bigs">{figures}</dl>'
        f'<div class="paired">{tables}</div>{lists}</div>'
    )


def _range(name: str) -> str:
    return f'<output class="spread" id="{name}" form="quote-form"></output>' if name else ""


def _heads(heads: Sequence[str]) -> str:
    return "".join(
        f'<th scope="col"{FIGURES_TO_THE_RIGHT if head in FIGURE_HEADS else ""}>{esc(head)}</th>' for head in heads
    )
