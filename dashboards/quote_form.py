"""The estimator's form: the openings record as inputs, and the places where the page's script puts its answers.

assets/quote*.js compute; this module only lays out. Inputs bear the names of the openings columns, then crew,
started_on, margin and price; each has a place for its fault, #quote-NAME-fault. The fitted models are the JSON block
#models. Places the script fills: in the strip that stays in sight #quote-verdict, #quote-offer #quote-hours
#quote-risk, below it #quote-cost #quote-crew-days, each figure with its -range (text); #quote-phases #quote-order
#quote-costs #quote-egress #quote-why (table bodies), #quote-assumed #quote-out-of-range #quote-cautions #quote-similar
(lists), #quote-say (the one live line for screen readers). A list left empty hides its heading.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from dashboards.html import data_block, disclosure, too_few
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
    hint: str = "not given"


SIZES = "Sizes in inches, or as read off the tape: 54 1/2, 4' 6 1/2\", 138 cm. Leave empty what you do not know."
YES_NO = ("yes", "no")
WALL = (
    Field("wall_type", "Wall", words=tuple(WALL_TYPE), start="poured_concrete", required=True),
    Field("wall_thickness_in", "Wall thickness", "in", start="8"),
    Field("opening_work", "Work", words=tuple(OPENING_WORK), start="new_cut", required=True),
    Field("rough_width_in", "Rough width", "in", start="48", required=True),
    Field("rough_height_in", "Rough height", "in", start="48", required=True),
    Field("existing_width_in", "Existing width", "in", hint="none"),
    Field("existing_height_in", "Existing height", "in", hint="none"),
    Field("reinforced", "Reinforced", words=YES_NO),
)
DIG = (
    Field("depth_below_grade_in", "Dig below grade", "in", start="60"),
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
    ("quote-phases", "Hours by phase", ("Phase", "Hours", "8 times in 10 between")),
    ("quote-order", "What to order, in whole packs", ("Item", "Order", "Unit price", "Cost")),
    ("quote-costs", "Expected cost", ("Part", "USD")),
    ("quote-egress", "Escape window", ("Rule", "Needs", "This opening")),
)
MADE_UP = ("quote-why", "How each phase's hours are made up", ("Phase", "Hours ="))
HOW_TO_READ_IT = (
    "Rate × (what is there to do + getting set up) × what makes this one slower (over 1) or faster (under 1)."
)
FIGURE_HEADS = ("Hours", "8 times in 10 between", "Order", "Unit price", "Cost", "USD")
FIGURES_TO_THE_RIGHT = ' class="figures"'
LISTS = (
    ("quote-assumed", "Check what was assumed"),
    ("quote-out-of-range", "Outside what the records hold"),
    ("quote-similar", "Openings like it that we have done"),
    ("quote-cautions", "Before you promise this"),
)
IN_SIGHT = (("quote-offer", "Price"), ("quote-hours", "Labour hours"), ("quote-risk", "Chance of loss"))
BELOW = (("quote-cost", "Expected cost"), ("quote-crew-days", "Crew days"))


def quote_form(models: Mapping[str, Any] | None, crews: Sequence[str], why_not: str) -> str:
    """The form with its models; without models, what is missing."""
    if models is None:
        return too_few(why_not)
    groups = "".join(_group(title, fields) for title, fields in (*GROUPS, ("The job", _job_fields(crews))))
    return (
        f'<p class="note">{SIZES}</p><div class="quote">{_strip()}<div class="beside">'
        f'<form id="quote-form" autocomplete="off" novalidate aria-label="The opening to price">{groups}</form>'
        f'<noscript><p class="too-few">This form computes in the page and needs scripts; '
        f"the command areaway quote gives the same answer.</p></noscript>"
        f"{_answer()}</div>{_remarks()}</div>{data_block('models', models)}"
    )


def _job_fields(crews: Sequence[str]) -> tuple[Field, ...]:
    return (
        Field("crew", "Crew", words=tuple(crews)),
        Field("started_on", "Start", kind="date"),
        Field("margin", "Margin", "35 % or 0.35", hint="our usual"),
        Field("price", "Customer's price", "$", hint="none yet"),
    )


def _group(title: str, fields: Sequence[Field]) -> str:
    return (
        f'<fieldset><legend>{esc(title)}</legend><div class="fields">'
        f"{''.join(_field(field) for field in fields)}</div></fieldset>"
    )


def _field(field: Field) -> str:
    hint = f' <span class="hint">({esc(field.unit)})</span>' if field.unit else ""
    label = f'<label for="quote-{field.name}">{esc(field.label)}{hint}</label>'
    fault = f'<p class="fault" id="quote-{field.name}-fault" hidden></p>'
    return f'<div class="field">{label}{_control(field)}{fault}</div>'


def _control(field: Field) -> str:
    needed = " required" if field.required else ""
    name = f'id="quote-{field.name}" name="{field.name}" aria-describedby="quote-{field.name}-fault"{needed}'
    if field.words:
        return f"<select {name}>{_options(field)}</select>"
    empty = f'value="{esc(field.start)}" placeholder="{esc(field.hint)}"'
    if field.kind == "number":
        return f'<input {name} type="text" inputmode="{_keys(field)}" {empty}>'
    return f'<input {name} type="{field.kind}" {empty}>'


def _keys(field: Field) -> str:
    """Sizes are typed with feet marks and fractions, which a phone's figure keys do not have."""
    return "decimal" if field.name == "price" else "text"


def _options(field: Field) -> str:
    empty = "" if field.required else '<option value="">not given</option>'
    chosen = {field.start: " selected"}
    return empty + "".join(
        f'<option value="{esc(value)}"{chosen.get(value, "")}>{esc(word(value))}</option>' for value in field.words
    )


def _strip() -> str:
    """Price, hours and chance of loss: first on the page, and in sight while the inputs below them change."""
    return (
        f'<div class="strip" id="quote-strip">{_figures(IN_SIGHT)}'
        '<p class="alert-line" id="quote-verdict" hidden></p></div>'
        '<p class="unseen" id="quote-say" role="status"></p>'
    )


def _answer() -> str:
    tables = "".join(_table(*named) for named in TABLES)
    made_up = disclosure(MADE_UP[1], f'<p class="note">{HOW_TO_READ_IT}</p>{_table(*MADE_UP)}')
    return f'<div id="quote-answer">{_figures(BELOW)}<div class="paired">{tables}</div>{made_up}</div>'


def _remarks() -> str:
    lists = "".join(
        f'<div class="answer-list" hidden><h3 class="small">{title}</h3><ul id="{name}"></ul></div>'
        for name, title in LISTS
    )
    return f'<div class="paired" id="quote-remarks">{lists}</div>'


def _figures(named: Sequence[tuple[str, str]]) -> str:
    return f'<dl class="bigs">{"".join(_figure(name, label) for name, label in named)}</dl>'


def _figure(name: str, label: str) -> str:
    """A figure and its range; announced by #quote-say alone, not each by itself at every key."""
    return (
        f'<div class="big"><dt>{label}</dt><dd><output class="value" id="{name}" form="quote-form" aria-live="off">–'
        f'</output> <output class="spread" id="{name}-range" form="quote-form" aria-live="off"></output></dd></div>'
    )


def _table(name: str, caption: str, heads: Sequence[str]) -> str:
    return (
        f'<div class="scroll flat" role="region" aria-label="{caption}" tabindex="0"><table>'
        f"<caption>{caption}</caption><thead><tr>{_heads(heads)}</tr></thead>"
        f'<tbody id="{name}"></tbody></table></div>'
    )


def _heads(heads: Sequence[str]) -> str:
    return "".join(
        f'<th scope="col"{FIGURES_TO_THE_RIGHT if head in FIGURE_HEADS else ""}>{esc(head)}</th>' for head in heads
    )
