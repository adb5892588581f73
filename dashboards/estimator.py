"""The estimator's page: what will this opening take, and how far can the answer be trusted?"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from dashboards import estimator_charts
from dashboards.charts import Chart, render
from dashboards.html import Cell, Table, bullets, disclosure, paragraph, section, table, too_few
from dashboards.page import Page
from dashboards.parts import Parts, have, missing, rows_of
from dashboards.quote_form import quote_form
from dashboards.words import count, listed, percent, plain, sentence_case, units, word

SCRIPTS = ("areaway.js", "quote.js", "quote_checks.js", "quote_cost.js", "quote_form.js")
FEW_JOBS = "fewer than 6 finished jobs: the estimate leans on other walls"
FEWEST_TO_NAME = 12  # openings of a wall before it is called the hardest; house rule
CLEARLY_HARDER = 1.25  # times the usual miss; house rule
PACKS_BY_EYE = 0.6  # packs right less often than this are worth a look; house rule
USE_BY_THE_PACK = 0.5  # below this, "1 box for 81 shims" reads better than "0.0124 boxes per shim"; house rule


def estimator(parts: Parts) -> Page:
    """The estimator's page from the answer of fit and the models it stored.

    parts: as_of, fit, models, crew_names, holdout (rows), rates (rows), usage (rows)
    """
    form = quote_form(have(parts, "models"), have(parts, "crew_names") or [], missing(parts, "models"))
    body = "".join(
        (
            section("Price an opening", form, name="quote"),
            section("How far to trust it", _trust(parts), _charts(estimator_charts.accuracy(parts)), name="careful"),
            section("What our work takes", _charts(estimator_charts.rates(parts)), _uses(parts), name="rates"),
            section("What changed", _changes(parts), name="changes"),
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
    return [sentence, *_against_quotes(labour)]


def _against_quotes(labour: Mapping[str, Any]) -> Iterator[str]:
    """What our own quotes held on the same jobs; nothing where no quoted hours are in the book."""
    held = labour.get("quotes")
    if held:
        yield (
            f"On {count(held['jobs'], 'of those jobs', 'of those jobs')} our own quotes held "
            f"{off(held['quoted']['bias'])} hours than were worked; these estimates {off(held['ours']['bias'])}."
        )


def off(bias: float) -> str:
    """2 % fewer, 5 % more."""
    return f"{percent(abs(bias))} {'fewer' if bias < 0 else 'more'}"


def _trust(parts: Parts) -> str:
    labour = _labour(parts)
    if labour is None:
        return too_few(missing(parts, "fit"))
    not_fitted = [
        f"No {entry['part']} model: {entry['reason']}." for entry in (have(parts, "fit") or {}).get("not_fitted", [])
    ]
    said = bullets([*_doubtful(labour), *_hardest(labour), *not_fitted])
    return said + disclosure("The measured misses, wall by wall", _measured(labour))


def _doubtful(labour: Mapping[str, Any]) -> Iterator[str]:
    doubtful = [word(row["wall_type"]) for row in labour["by_wall_type"] if row["pooled"]]
    if doubtful:
        yield f"Too few jobs of their own: {', '.join(doubtful)}. Check such an estimate by hand."


def _hardest(labour: Mapping[str, Any]) -> Iterator[str]:
    """The wall whose estimates miss most, where it is clear which."""
    judged = [row for row in labour["by_wall_type"] if row["openings"] >= FEWEST_TO_NAME and row["median_ape"]]
    worst = max(judged, key=lambda row: float(row["median_ape"]), default=None)
    if worst and labour["median_ape"] and worst["median_ape"] > CLEARLY_HARDER * labour["median_ape"]:
        yield (
            f"Hardest to estimate: {word(worst['wall_type'])}. Half of its {count(worst['openings'], 'opening')} "
            f"missed by more than {percent(worst['median_ape'])}; over all walls it is {percent(labour['median_ape'])}."
        )


def _measured(labour: Mapping[str, Any]) -> str:
    rows: list[list[Cell]] = [
        [word(row["wall_type"]), row["openings"], percent(row["median_ape"]), FEW_JOBS if row["pooled"] else ""]
        for row in labour["by_wall_type"]
    ]
    rows.append(["all", labour.get("holdout_openings"), percent(labour["median_ape"]), _whole(labour)])
    headers = ["Wall", "Openings", "Half missed by less than", "Note"]
    return table(Table("On the openings kept back from the fit", headers, rows))


def _whole(labour: Mapping[str, Any]) -> str:
    if labour["median_ape"] is None:
        return ""
    said = f"mean miss {percent(labour['mape'])}; together {off(labour['bias'])} hours estimated than worked"
    if labour.get("coverage_80") is None:
        return said
    return (
        f"{said}; 8-in-10 ranges held for {percent(labour['coverage_80'])}, 9-in-10 ranges for "
        f"{percent(labour['coverage_90'])}"
    )


def _uses(parts: Parts) -> str:
    rows = rows_of(parts, "usage")
    if not rows:
        return too_few(missing(parts, "usage"))
    fit = have(parts, "fit") or {}
    hits = {row["item"]: row.get("pack_hit") for row in (fit.get("materials") or {}).get("by_item", [])}
    body: list[list[Cell]] = [
        [
            word(row["item"]),
            *_use(row),
            f"{row['pack_size']:g} {units(row['unit'])}",
            percent(hits.get(row["item"])),
            row["lines"],
        ]
        for row in rows
    ]
    headers = ["Item", "We use", "95 % range", "Pack", "Packs right", "Purchases"]
    listed_ = table(Table("What an opening uses; packs right: tested on the jobs kept back", headers, body))
    return paragraph(_by_eye(hits)) + disclosure("What an opening uses, item by item", listed_)


def _by_eye(hits: Mapping[str, float | None]) -> str:
    known = sorted((share, item) for item, share in hits.items() if share is not None)
    if not known:
        return "How often the packs come out right is not measured yet: too few jobs kept back."
    low = [f"{word(item)} ({percent(share)})" for share, item in known if share < PACKS_BY_EYE]
    if not low:
        return f"The right number of packs is ordered at least {percent(known[0][0])} of the time for every item."
    return f"The right number of packs comes out least often for {listed(low)}: look these over before you order."


def _use(row: Mapping[str, Any]) -> tuple[str, str]:
    """Use per unit measured with its range, or, of what one pack lasts for long, how far one unit goes."""
    unit, per = units(row["unit"]), plain(units(row["per"])).removeprefix("ea of ")
    if row["use"] >= USE_BY_THE_PACK:
        one = per.removesuffix("s") if row["per"].startswith("ea of ") else per
        return f"{row['use']:.3g} {unit} per {one}", f"{row['low']:.3g} to {row['high']:.3g}"
    return f"1 {unit} for {1 / row['use']:.3g} {per}", f"{1 / row['high']:.3g} to {1 / row['low']:.3g}"


def _changes(parts: Parts) -> str:
    labour = _labour(parts)
    if labour is None:
        return too_few(missing(parts, "fit"))
    if not labour["changes"]:
        return paragraph("No phase has changed its pace for good in these records, as far as they can tell.")
    return bullets([f"{sentence_case(text).removesuffix('.')}." for text in labour["changes"]])
