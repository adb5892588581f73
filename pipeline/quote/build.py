"""The offer: openings, jobs and the whole, with cost, price and the chance of a loss."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.estimators.job_total import TotalHours, all_jobs, job_total
from pipeline.estimators.materials import MaterialLine, job_order, predict_materials
from pipeline.estimators.predict import HoursPrediction, predict_hours
from pipeline.quote.cost_draws import JobCost, cost_draws, quantile_80, share_above
from pipeline.quote.opening_lines import (
    callback_chances,
    callback_row,
    expected_visits,
    hours_range,
    left_out,
    quoted_opening,
)
from pipeline.quote.other_costs import OtherCost, kind_of_work, predict_other_costs
from pipeline.quote.request import QuoteParts, QuoteRequest
from pipeline.takeoff.openings import words
from schemas.results_quote import (
    CrewDays,
    LearnedFrom,
    OrderRow,
    OtherCostRow,
    QuotedAlone,
    QuotedJob,
    QuotedOpening,
    QuoteResult,
    QuoteTotal,
)

REFUSED = "outside_experience"
# 90 % quantile of a standard normal: the draws have the mean and the 80 % range that are said.
Z_90 = 1.2815515655446004


@dataclass(frozen=True)
class _Job:
    """One job on the way to its quote."""

    job_id: str
    members: list[int]
    hours: TotalHours
    materials: list[list[MaterialLine]]
    other: list[OtherCost]
    cost: JobCost


def build_quote(parts: QuoteParts, request: QuoteRequest) -> QuoteResult:
    """The whole answer; `quote_id` is filled in by the caller that holds the book.

    in:     models, rates and settings; the openings asked for
    out:    QuoteResult; the total's mean hours are the sum of the openings' means; price and chance of loss are null
            when any opening is outside experience
    """
    predicted = _predicted_hours(parts, request)
    materials = _materials(parts, predicted, len(request.opening_ids))
    chances = callback_chances(parts, request)
    visits = expected_visits(parts, chances)
    jobs = [
        _job(parts, request, name, members, predicted=predicted, materials=materials, visits=visits)
        for name, members in request.jobs().items()
    ]
    openings = [
        quoted_opening(
            parts, request, at,
            hours=job_total(parts.hours, predicted, [at]),
            predicted=predicted,
            materials=materials[at],
            callback=callback_row(parts, chances, visits, at),
        )
        for at in range(len(request.opening_ids))
    ]  # fmt: skip
    quoted = [_quoted_job(parts, request, job, openings) for job in jobs]
    return QuoteResult(
        quote_id="",
        as_of=parts.as_of.isoformat(),
        models=dict(parts.fitted_at),
        learned_from=_learned_from(parts),
        left_out=left_out(parts, openings, quoted),
        overhead_set=parts.overhead_set,
        hourly_cost=parts.hourly_cost,
        crew_hours_per_day=parts.rates["crew_hours_per_day"],
        within_experience=_within_experience(parts, request, openings),
        openings=openings,
        jobs=quoted,
        total=_total(parts, request, jobs, openings),
        price_guidance=parts.rates["price_guidance"],
    )


def _within_experience(
    parts: QuoteParts, request: QuoteRequest, openings: Sequence[QuotedOpening]
) -> QuotedAlone | None:
    """Cost and price of the openings that need no pricing by hand, where others do; else None."""
    fine = [at for at, opening in enumerate(openings) if opening["confidence"] != REFUSED]
    if len(fine) in (0, len(openings)):
        return None
    alone = build_quote(parts, request.only(fine))["total"]
    if alone["price_at_margin"] is None:
        return None
    return QuotedAlone(
        openings=[openings[at]["opening_id"] for at in fine],
        expected_cost=alone["expected_cost"],
        price_at_margin=alone["price_at_margin"],
    )


def _learned_from(parts: QuoteParts) -> LearnedFrom:
    visits = sum(cause["events"] for cause in parts.risk["causes"].values()) if parts.risk else None
    return LearnedFrom(
        jobs=parts.hours.jobs,
        openings=parts.hours.openings,
        coverage_80=parts.held[0],
        holdout_openings=parts.held[1],
        until=parts.learned_until.isoformat(),
        starter_rates=parts.hours.starter,
        material_jobs=parts.materials.jobs if parts.materials else None,
        callback_visits=visits or None,
    )


def _predicted_hours(parts: QuoteParts, request: QuoteRequest) -> HoursPrediction:
    jobs = request.jobs()
    sizes = np.array([len(jobs[job]) for job in request.job_ids], dtype=float)
    crews, months = np.array(request.crews, dtype=object), np.array(request.months, dtype=float)
    return predict_hours(parts.hours, request.openings, crews, months, sizes)


def _materials(parts: QuoteParts, predicted: HoursPrediction, openings: int) -> list[list[MaterialLine]]:
    if parts.materials is None:
        return [[] for _ in range(openings)]
    return predict_materials(parts.materials, predicted.filled)


def _job(
    parts: QuoteParts, request: QuoteRequest, name: str, members: list[int], *, predicted: HoursPrediction,
    materials: Sequence[list[MaterialLine]], visits: Mapping[str, np.ndarray],
) -> _Job:  # fmt: skip
    works = words(request.openings, "opening_work")
    other = predict_other_costs(
        parts.rates["other_costs"], kind_of_work([str(works[at]) for at in members]), len(members)
    )
    hours = job_total(parts.hours, predicted, members)
    lines = [materials[at] for at in members]
    expected = {complaint: float(found[members].sum()) for complaint, found in visits.items()}
    return _Job(name, members, hours, lines, other, _job_cost(parts, hours, lines, other=other, visits=expected))


def _job_cost(
    parts: QuoteParts, hours: TotalHours, materials: Sequence[list[MaterialLine]], *, other: list[OtherCost],
    visits: Mapping[str, float],
) -> JobCost:  # fmt: skip
    priced = [line for lines in materials for line in lines if line.expected_cost is not None]
    allowance = sum(count * parts.rates["visit_usd"].get(name, 0.0) for name, count in visits.items())
    expected = sum(visits.values())
    return JobCost(
        hours_mean=hours.mean,
        hours_log_sd=float(np.log(hours.p90 / hours.p50)) / Z_90,
        hour_usd=parts.hourly_cost + parts.overhead_per_hour,
        material_mean=sum(line.expected_cost or 0.0 for line in priced),
        material_variance=sum(line.variance for line in priced),
        other_mean=sum(line["expected"] for line in other),
        other_variance=sum(line["variance"] for line in other),
        visits=expected,
        visit_usd=allowance / expected if expected > 0 else 0.0,
        visit_log_sd=parts.rates["visit_log_sd"],
    )


def _expected_usd(cost: JobCost) -> float:
    """All that a job is expected to cost. [USD]"""
    running = cost.hours_mean * cost.hour_usd + cost.visits * cost.visit_usd
    return running + cost.material_mean + cost.other_mean


def _quoted_job(
    parts: QuoteParts, request: QuoteRequest, job: _Job, openings: Sequence[QuotedOpening]
) -> QuotedJob:
    order = [
        OrderRow(item=line.item, spec=line.spec, order_quantity=line.order_quantity, unit=line.unit, cost=line.cost)
        for line in job_order(job.materials)
    ]
    other = [
        OtherCostRow(
            category=line["category"], expected=line["expected"], low=line["low"], high=line["high"], jobs=line["jobs"]
        )
        for line in job.other
    ]
    refused = any(openings[at]["confidence"] == REFUSED for at in job.members)
    expected = _expected_usd(job.cost)
    return QuotedJob(
        job_id=job.job_id,
        material_cost=job.cost.material_mean,
        expected_cost=expected,
        price_at_margin=None if refused else expected / (1 - request.margin),
        labour_hours=hours_range(job.hours),
        order=order,
        other_costs=other,
        crew_days=_crew_days(parts, job.hours),
    )


def _crew_days(parts: QuoteParts, hours: TotalHours) -> CrewDays:
    per_day = parts.rates["crew_hours_per_day"]
    return CrewDays(p50=hours.p50 / per_day, p90=hours.p90 / per_day)


def _total(
    parts: QuoteParts, request: QuoteRequest, jobs: Sequence[_Job], openings: Sequence[QuotedOpening]
) -> QuoteTotal:
    hours = all_jobs(parts.hours, [job.hours for job in jobs])
    mean_hours = sum(job.hours.mean for job in jobs)
    labour, overhead = mean_hours * parts.hourly_cost, mean_hours * parts.overhead_per_hour
    material = sum(job.cost.material_mean for job in jobs)
    other = sum(job.cost.other_mean for job in jobs)
    allowance = sum(job.cost.visits * job.cost.visit_usd for job in jobs)
    expected = labour + material + other + overhead + allowance
    costs = sum((cost_draws(job.cost, parts.rates["draws"], at) for at, job in enumerate(jobs)), start=np.zeros(1))
    refused = any(opening["confidence"] == REFUSED for opening in openings)
    at_margin = expected / (1 - request.margin)
    price = at_margin if request.price is None else request.price
    return QuoteTotal(
        labour_hours=hours_range(hours),
        labour_cost=labour,
        material_cost=material,
        other_cost=other,
        overhead=overhead,
        callback_allowance=allowance,
        expected_cost=expected,
        cost_p80=quantile_80(costs),
        price_at_margin=None if refused else at_margin,
        price=None if refused else price,
        margin=request.margin,
        chance_of_loss=None if refused else share_above(costs, price),
        crew_days=_crew_days(parts, hours),
    )
