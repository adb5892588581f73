"""The estimator's page: what will this opening take, and how far can the answer be trusted?"""

from collections.abc import Mapping, Sequence
from typing import Any

from dashboards import estimator_charts
from dashboards.charts import Chart, render
from dashboards.html import Big, Cell, Raw, Table, bigs, bullets, paragraph, section, table, too_few
from dashboards.page import Page
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.quote_form import quote_form
from dashboards.words import anchor, count, esc, hours, percent, plain, sentence_case, word

SCRIPTS = ("areaway.js", "quote.js", "quote_checks.js", "quote_cost.js", "quote_form.js")
FEW_JOBS = "fewer than 6 finished jobs: the estimate leans on other walls"


def estimator(parts: Parts) -> Page:
    """The estimator's page from the answer of fit and the models it stored.

    parts: as_of, fit, models, crew_names, holdout (rows), rates (rows), usage (rows)
    """
    form = quote_form(have(parts, "models"), have(parts, "crew_names") or [], missing(parts, "models"))
    body = "".join(
        (
            section("Price an opening", form, name="quote"),
            section("How well the hours have fitted", bigs(_bigs(parts)), _charts(estimator_charts.accuracy(parts))),
            section("Where to be careful", _careful(parts), name="careful"),
            section("What our work takes", _charts(estimator_charts.rates(parts)), _uses(parts), name="rates"),
            section("What changed", _changes(parts), name="changes"),
            section("The openings behind the check", _openings(parts), name="openings"),
        )
    )
    return Page("estimator", "What will this opening take?", _lead(parts), body, str(parts["as_of"]), SCRIPTS)


def _charts(charts: Sequence[Chart]) -> str:
    return f'<div class="charts">{"".join(render(chart) for chart in charts)}</div>'


def _labour(parts: Parts) -> Mapping[str, Any] | None:
    fit = have(parts, "fit")
    return None if fit is None else fit.get("labour")


def _lead(parts: Parts) -> list[str]:
    labour = _labour(parts)
    if labour is None:
        return [missing(parts, "fit")]
    sentence = f"Estimates stand on {count(labour['jobs'], 'finished job')} and {count(labour['openings'], 'opening')}."
    if labour["median_ape"] is not None:
        sentence += (
            f" Half of the last jobs, kept back as a test, came within {percent(labour['median_ape'])} of the estimate."
        )
    return [sentence]


def _bigs(parts: Parts) -> list[Big]:
    labour = _labour(parts)
    if labour is None or labour["median_ape"] is None:
        return []
    tested = f"{count(labour['holdout_openings'], 'opening')} kept back"
    figures = [
        Big("Usual miss", percent(labour["median_ape"]), "of the hours", f"mean {percent(labour['mape'])}", tested),
        Big(
            "Too low or too high", percent(labour["bias"], 1), "of the hours", "", "above 0: we estimate too many hours"
        ),
    ]
    if labour.get("coverage_80") is not None:
        figures.append(
            Big(
                "Ranges that held",
                percent(labour["coverage_80"]),
                "of openings",
                f"the wider range: {percent(labour['coverage_90'])}",
                "promised: 80 % and 90 %",
            )
        )
    return figures


def _careful(parts: Parts) -> str:
    labour = _labour(parts)
    if labour is None:
        return too_few(missing(parts, "fit"))
    rows = [
        [word(row["wall_type"]), row["openings"], percent(row["median_ape"]), FEW_JOBS if row["pooled"] else ""]
        for row in labour["by_wall_type"]
    ]
    doubtful = [word(row["wall_type"]) for row in labour["by_wall_type"] if row["pooled"]]
    said = f"Too few jobs of their own: {', '.join(doubtful)}. Check such an estimate by hand." if doubtful else ""
    not_fitted = [
        f"No {entry['part']} model: {entry['reason']}" for entry in (have(parts, "fit") or {}).get("not_fitted", [])
    ]
    listed = table(Table("By wall type, on the openings kept back", ["Wall", "Openings", "Usual miss", "Note"], rows))
    return (paragraph(said, "alert-line") if said else "") + listed + bullets(not_fitted)


def _uses(parts: Parts) -> str:
    rows = rows_of(parts, "usage")
    if not rows:
        return too_few(missing(parts, "usage"))
    fit = have(parts, "fit") or {}
    hits = {row["item"]: row.get("pack_hit") for row in (fit.get("materials") or {}).get("by_item", [])}
    body = [
        [
            word(row["item"]),
            f"{row['use']:.3g}",
            f"{row['low']:.3g} to {row['high']:.3g}",
            f"{row['unit']} per {plain(row['per'])}",
            f"{row['pack_size']:g} {row['unit']}",
            percent(hits.get(row["item"])),
            row["lines"],
        ]
        for row in rows
    ]
    headers = ["Item", "We use", "95 % range", "Unit", "Pack", "Packs ordered right", "Purchases"]
    said = "Use per unit of what the opening measures. The last column but one is tested on the jobs kept back."
    return paragraph(said, "note") + table(Table("What an opening uses", headers, body))


def _changes(parts: Parts) -> str:
    labour = _labour(parts)
    if labour is None:
        return too_few(missing(parts, "fit"))
    if not labour["changes"]:
        return paragraph("No phase has changed its pace for good in these records, as far as they can tell.")
    return bullets([sentence_case(text) for text in labour["changes"]])


def _openings(parts: Parts) -> str:
    if have(parts, "holdout") is None:
        return too_few(missing(parts, "holdout"))
    shown = estimator_charts.listed(parts)
    body: list[list[Cell]] = [
        [
            Raw(f"<b>{esc(row['opening_id'])}</b>"),
            word(row["wall_type"]),
            hours(row["predicted_hours"]),
            f"{row['low']:,.1f} to {row['high']:,.1f} h",
            hours(row["actual_hours"]),
        ]
        for row in shown
    ]
    names = [anchor("opening", row["opening_id"]) for row in shown]
    headers = ["Opening", "Wall", "Estimated", "8 times in 10 between", "Took"]
    return table(Table("Openings kept back, the widest misses first", headers, body, names))
