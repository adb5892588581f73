"""`areaway fit`: learn from the book and say in plain words how far to trust it."""

import os
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import typer

from pipeline.cli.options import AsJson, AsOf
from pipeline.cli.text import answer_day, common, finish, percent, progress, table

if TYPE_CHECKING:
    from schemas.results_fit import CallbacksFit, Fit, LabourFit, MaterialsFit

TOO_FEW = "too few"
NAMES = {"labour": "Hours", "materials": "Materials", "callbacks": "Callbacks"}


SHOWN = 5
EVEN = 0.0005  # prints as 0.0 %


def fit(
    ctx: typer.Context,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Learn hours, materials and callbacks from the book, measure them on recent jobs, keep them in the book."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: threads would only wait for one another
    from pipeline.runs.fit import fit_

    book, settings = common(ctx)
    progress("reading the finished jobs in the book")
    result = fit_(book, settings, as_of=answer_day(book, as_of), progress=progress)
    finish(result, as_json, lines(result))


def lines(result: "Fit") -> Iterator[str]:
    """The answer as a person reads it."""
    if result["labour"] is not None:
        yield from _labour(result["labour"])
    if result["materials"] is not None:
        yield ""
        yield from _materials(result["materials"])
    if result["callbacks"] is not None:
        yield ""
        yield from _callbacks(result["callbacks"])
    for part in result["not_fitted"]:
        yield ""
        yield f"{NAMES[part['part']]}: {part['reason']}."


def _labour(labour: "LabourFit") -> Iterator[str]:
    lean = "starter rates and " if labour["starter_rates"] else ""
    yield f"Hours: learned from {lean}{labour['jobs']} finished jobs with {labour['openings']} openings."
    if labour["openings_without_hours"]:
        yield f"  Left out, since no hour was booked to them: {labour['openings_without_hours']} more openings."
    if labour["presumed_split"]:
        yield "  Most hours stand under no phase: the split by phase is presumed from rough rates, the totals are not."
    if labour["median_ape"] is None:
        yield "  Too few finished jobs to hold some back and test on them: treat every figure as rough."
        return
    yield (
        f"  Tested on the {labour['holdout_openings']} openings of the latest fifth of jobs, which it had not seen: "
        f"half of them within {percent(labour['median_ape'])} of the hours worked; "
        f"all together {_over_under(labour['bias'])}."
    )
    yield f"  {_ranges(labour)}"
    yield from (f"  {sentence}" for sentence in _yardsticks(labour))
    yield from (f"  Changed: {change}." for change in labour["changes"])
    yield from _odd(labour["check_these"])
    yield from table(
        ["wall", "openings", "half within"],
        [
            [
                row["wall_type"].replace("_", " ") + (" (few jobs, leans on the others)" if row["pooled"] else ""),
                row["openings"],
                percent(row["median_ape"]),
            ]
            for row in labour["by_wall_type"]
        ],
    )


def _odd(entries: list[dict[str, Any]]) -> Iterator[str]:
    if not entries:
        return
    yield f"  Check these: {len(entries)} figures are far from what such work takes (given little weight, not deleted):"
    for row in entries[:SHOWN]:
        phase = row["phase"].replace("_", " ")
        usual = f"such work takes {row['expected_hours']:.1f} h"
        yield f"    opening {row['opening_id']}: {phase} {row['hours']:.1f} h, {usual}"
    if len(entries) > SHOWN:
        yield f"    and {len(entries) - SHOWN} more: areaway fit --json lists all under labour, check_these"


def _over_under(bias: float | None) -> str:
    if bias is None:
        return TOO_FEW
    if abs(bias) < EVEN:
        return "neither too high nor too low"
    return f"{percent(abs(bias), digits=1)} too {'high' if bias > 0 else 'low'}"


def _ranges(labour: "LabourFit") -> str:
    if labour["coverage_80"] is None:
        return f"Too few of them ({labour['holdout_openings']}, 20 are needed) to say how often its ranges hold."
    return (
        f"Its “8 of 10” ranges held {percent(labour['coverage_80'])} of the time, "
        f"its “9 of 10” ranges {percent(labour['coverage_90'])}."
    )


def _yardsticks(labour: "LabourFit") -> Iterator[str]:
    for rival in labour["yardsticks"]:
        figure = f"{rival['name']}: half within {percent(rival['median_ape'])}"
        if rival["standard_error"] is None:
            yield f"One job kept back is too few to say whether a plain average does as well ({figure})."
        elif rival["beaten"]:
            yield f"Better than a plain average ({figure})."
        else:
            yield f"A plain average does as well on this book ({figure})."
    quotes = labour["quotes"]
    if quotes is not None:
        yield _quotes(quotes)


def _quotes(quotes: dict[str, Any]) -> str:
    return (
        f"Your own quoted hours on {quotes['jobs']} of these jobs: half within "
        f"{percent(quotes['quoted']['median_ape'])}, all together {_over_under(quotes['quoted']['bias'])}; "
        f"this model on the same jobs: half within {percent(quotes['ours']['median_ape'])}, "
        f"{_over_under(quotes['ours']['bias'])}."
    )


def _materials(materials: "MaterialsFit") -> Iterator[str]:
    yield f"Materials: {materials['items']} items, learned from the purchases of {materials['jobs']} finished jobs."
    if materials["cost_error"] is None:
        yield "  Too few jobs to hold some back and test on: treat every order as rough."
        return
    yield (
        f"  On the latest {materials['holdout_jobs']} jobs its orders were off by {percent(materials['cost_error'])} "
        f"of what was bought in money, all together {_over_under(materials['bias'])}."
    )
    yield from table(
        ["item", "pack", "orders", "off by", "same packs"],
        [
            [
                row["item"].replace("_", " "),
                f"{row['pack_size']:g} {row['unit']}",
                row["holdout_lines"],
                percent(row["cost_error"]),
                percent(row["pack_hit"]),
            ]
            for row in materials["by_item"]
        ],
    )


def _callbacks(callbacks: "CallbacksFit") -> Iterator[str]:
    yield f"Callbacks: {callbacks['events']} first visits at {callbacks['openings']} finished openings."
    if callbacks["one_rate_for_all"]:
        yield "  Too few to tell openings apart (15 of one complaint are needed): every opening gets the same rate."
    if callbacks["observed_over_expected"] is None or callbacks["c_index"] is None:
        yield "  Too few to say how well that holds." if callbacks["one_rate_for_all"] else "  Too few to test on."
        return
    yield "  On jobs kept back, with the range that holds the figure in 95 of 100 such samples:"
    yield f"  - chances in a quote: {_held(callbacks)}"
    yield f"  - chances in the visit list, which knows the check cards: {_held(callbacks['visit_list'])}"


def _held(figures: Mapping[str, Any]) -> str:
    """How the chances held, each figure with its 95 % range."""
    if figures["observed_over_expected"] is None or figures["c_index"] is None:
        return "too few visits to say."
    words = (
        f"{_ranged(figures, 'observed_over_expected')} openings called for each one expected; of two openings the one "
        f"that called earlier had the higher chance in {_ranged(figures, 'c_index', 100)} of 100 pairs (a coin: 50)"
    )
    if figures["slope"] is None:
        return f"{words}."
    slope = f"slope {_ranged(figures, 'slope')}: 1 is right; below 1 high chances came out too high, low ones too low"
    return f"{words}; {slope}."


def _ranged(figures: Mapping[str, Any], name: str, scale: float = 1) -> str:
    digits = 2 if scale == 1 else 0
    value, low, high = (f"{scale * figures[name + end]:.{digits}f}" for end in ("", "_low", "_high"))
    return f"{value} ({low} to {high})"
