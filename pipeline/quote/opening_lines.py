"""One opening of a quote: hours by phase, materials, callbacks, code checks and cautions."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from pipeline.callbacks.risk import predict_risk
from pipeline.estimators.job_total import TotalHours
from pipeline.estimators.materials import MaterialLine
from pipeline.estimators.predict import HoursPrediction
from pipeline.estimators.prices import knows_spec
from pipeline.quote.cautions import cautions
from pipeline.quote.egress import egress_checks
from pipeline.quote.remarks import remarks
from pipeline.quote.request import QuoteParts, QuoteRequest
from pipeline.quote.similar import most_similar
from schemas.results_quote import CallbackRow, HoursRange, MaterialRow, PhaseLine, QuotedJob, QuotedOpening

NO_RISK = "callback allowance: too few callbacks in the book, counted as 0"
NO_MATERIALS = "materials: too few purchases in the book, counted as 0"
NO_VISIT_COST = "callback allowance: too few visits with a cost in the book, counted as 0"
NO_START = "no start given: winter counts by its share of the year"
NO_OTHER_COSTS = "permit, disposal and other costs"
ALWAYS_NEEDED, NEEDED_WITH_A_WELL = ("window", "frame", "anchor", "gasket_tape"), ("window_well",)
NO_SUCH_SPEC = "no {} {} was ever bought or listed: priced as any {}"
NO_OLD_WINDOW = "no size of the old window given: all of the hole is counted as wall to cut and take out"


def hours_range(found: TotalHours) -> HoursRange:
    """The quantiles a reader sees."""
    return HoursRange(p05=found.p05, p10=found.p10, p50=found.p50, p90=found.p90, p95=found.p95, mean=found.mean)


def expected_visits(parts: QuoteParts, chances: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Expected callback visits of each opening within its warranty, by complaint.

    in:     complaint -> chance of at least one, per opening
    out:    complaint -> visits per opening: -log(1 - chance of a first one) × visits for each first one
    """
    return {complaint: -np.log1p(-chance) * parts.rates["visits_per_first"] for complaint, chance in chances.items()}


def callback_chances(parts: QuoteParts, request: QuoteRequest) -> dict[str, np.ndarray]:
    """Chance of at least one visit within the warranty, by complaint; each opening with its own crew. [0-1]"""
    risk = parts.risk if knows_callbacks(parts) else None
    if risk is None:
        return {}
    found: dict[str, np.ndarray] = {}
    crews = np.array(request.crews, dtype=object)
    for crew in sorted(set(request.crews)):
        chances = predict_risk(risk, request.openings, crew or None, parts.warranty_months)
        for complaint, chance in chances.items():
            kept = found.setdefault(complaint, np.zeros(len(crews)))
            found[complaint] = np.where(crews == crew, chance, kept)
    return found


def callback_row(
    parts: QuoteParts, chances: Mapping[str, np.ndarray], visits: Mapping[str, np.ndarray], at: int
) -> CallbackRow:
    """The chances and the allowance of one opening; null chances without a fitted model."""
    shown = {cause: float(chances[cause][at]) if cause in chances else None for cause in ("leak", "fit", "drainage")}
    cost = sum(float(visits[name][at]) * parts.rates["visit_usd"].get(name, 0.0) for name in visits)
    return CallbackRow(leak=shown["leak"], fit=shown["fit"], drainage=shown["drainage"], expected_cost=cost)


def phase_lines(predicted: HoursPrediction, at: int) -> list[PhaseLine]:
    """Hours of each phase that can occur, each with its range and its make-up."""
    lines = []
    for phase, mean in predicted.phase_mean.items():
        if mean[at] > 0:
            made_up = predicted.explained[at].get(phase)
            lines.append(
                PhaseLine(
                    phase=phase,
                    mean=float(mean[at]),
                    p10=float(predicted.phase_p10[phase][at]),
                    p90=float(predicted.phase_p90[phase][at]),
                    explained=None if made_up is None else asdict(made_up),
                )
            )
    return lines


def material_row(line: MaterialLine) -> MaterialRow:
    """One material line as a reader sees it."""
    return MaterialRow(
        item=line.item,
        spec=line.spec,
        quantity=line.quantity,
        unit=line.unit,
        order_quantity=line.order_quantity,
        unit_cost=line.unit_cost,
        cost=line.cost,
        expected_cost=line.expected_cost,
        rule=line.rule,
        price_source=line.price_source,
    )


def quoted_opening(
    parts: QuoteParts, request: QuoteRequest, at: int, *, hours: TotalHours, predicted: HoursPrediction,
    materials: list[MaterialLine], callback: CallbackRow,
) -> QuotedOpening:  # fmt: skip
    """Everything about one opening."""
    opening = request.opening(at)
    alike = most_similar(parts.rates["openings_done"], opening, parts.as_of)
    checks = egress_checks(opening, edition=parts.edition, local=parts.local_code)
    return QuotedOpening(
        opening_id=request.opening_ids[at],
        job_id=request.job_ids[at],
        asked={name: value for name, value in opening.items() if value is not None},
        confidence=predicted.confidence[at],
        labour_hours=hours_range(hours),
        phases=phase_lines(predicted, at),
        materials=[material_row(line) for line in materials],
        callback=callback,
        egress=[asdict(check) for check in checks],  # type: ignore[misc]
        crew=request.crews[at],
        assumed=[*predicted.assumed[at], *_gaps(parts, opening, request.months[at], materials=materials)],
        assumed_values=_assumed_values(predicted, at),
        remarks=remarks(opening, start=request.starts[at], as_of=parts.as_of.isoformat()),
        in_range=not predicted.out_of_range[at],
        out_of_range=predicted.out_of_range[at],
        similar=[one["opening_id"] for one in alike],
        similar_hours=alike,
        cautions=[asdict(caution) for caution in cautions(opening)],  # type: ignore[misc]
    )


def _assumed_values(predicted: HoursPrediction, at: int) -> dict[str, str | float]:
    """What was put in for each column that was not given; yes/no as the share of such walls that are so."""
    columns = [name for name in predicted.assumed[at] if name in predicted.filled]
    return {name: predicted.filled[name][at].item() for name in columns}


def _gaps(
    parts: QuoteParts, opening: Mapping[str, Any], month: int, *, materials: list[MaterialLine]
) -> list[str]:
    gaps = [] if month else [NO_START]
    if opening["opening_work"] == "enlarge" and not (opening["existing_width_in"] and opening["existing_height_in"]):
        gaps.append(NO_OLD_WINDOW)
    gaps += [
        NO_SUCH_SPEC.format(*(part.replace("_", " ") for part in (line.item, line.spec, line.item)))
        for line in materials
        if line.spec and parts.materials is not None and not knows_spec(parts.materials.prices, line.item, line.spec)
    ]
    unpriced = [line.item.replace("_", " ") for line in materials if line.unit_cost is None]
    gaps += [f"no price known for {item}: counted as $0" for item in unpriced]
    if parts.materials is None:
        gaps.append(NO_MATERIALS)
    if not knows_callbacks(parts):
        gaps.append(NO_RISK)
    elif not parts.rates["visit_usd"]:
        gaps.append(NO_VISIT_COST)
    return gaps


def knows_callbacks(parts: QuoteParts) -> bool:
    """Whether the book holds any counted callback: without one a chance of 0 would be a claim, not a finding."""
    return parts.risk is not None and any(cause["events"] for cause in parts.risk["causes"].values())


def _never_bought(parts: QuoteParts, openings: Sequence[QuotedOpening]) -> list[str]:
    """What every opening, or every one with a well, needs, but no job in the book bought."""
    if parts.materials is None:
        return []
    has_well = any(opening["asked"]["well_type"] != "none" for opening in openings)
    needed = [*ALWAYS_NEEDED, *(NEEDED_WITH_A_WELL if has_well else [])]
    return [item for item in needed if item not in parts.materials.items]


def left_out(parts: QuoteParts, openings: Sequence[QuotedOpening], jobs: Sequence[QuotedJob]) -> list[str]:
    """The costs that the book cannot tell, so that a quote holds 0 for them."""
    lines = [line for opening in openings for line in opening["materials"]]
    unpriced = {line["item"] for line in lines if line["unit_cost"] is None}
    missing = [] if parts.materials is not None else ["materials"]
    missing += [f"{item.replace('_', ' ')} (no price)" for item in sorted(unpriced)]
    missing += [f"{item.replace('_', ' ')} (never bought)" for item in _never_bought(parts, openings)]
    missing += [] if all(job["other_costs"] for job in jobs) else [NO_OTHER_COSTS]
    return missing + ([] if knows_callbacks(parts) and parts.rates["visit_usd"] else ["callbacks"])
