"""The month in words: what a good bookkeeper tells the owner, and nothing the records cannot carry."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.costing.change import FEWEST_JOBS, Change, change_of_ratio, count_is_unusual
from pipeline.costing.figures import (
    cents_text,
    day_name,
    dollars,
    hours_text,
    month_name,
    points,
    several,
    share,
    span_of_shares,
)
from schemas.results_money import JobRow, JobThatExplains, MarginRow, PriceChange, QuoteBias, Sentence

MONTHS_BEFORE = 12
FEWEST_HOURS = 40.0  # a week of one person: below it a mean wage says who worked, not what an hour costs; house rule
FEWEST_JOBS_A_YEAR = 12  # house rule
FEWEST_LINES = 20  # bought lines behind a price change; house rule
AMONG_FIVE = 2.576 / 1.96  # normal quantiles: 1 chance in 100 for each wall, about 1 in 20 for the five together
WORTH_SAYING = 0.005  # half a percent


@dataclass(frozen=True)
class MonthFacts:
    """Everything the words are made of.

    jobs, jobs_before: sums of the question `margins` by job, of the month and of the twelve months before
    """

    as_of: date
    first_day: date
    last_day: date
    is_over: bool
    month: MarginRow
    year: MarginRow
    jobs: Sequence[Mapping[str, Any]]
    jobs_before: Sequence[Mapping[str, Any]]
    explaining: Sequence[JobThatExplains]
    bias: Sequence[QuoteBias]
    bias_by_wall: Sequence[tuple[str, QuoteBias]]
    against_model: QuoteBias | None
    wages: PriceChange
    materials: PriceChange
    callbacks: Mapping[str, Any]
    open_jobs: Sequence[JobRow]
    target_margin: Decimal
    standard_hourly_cost: Decimal
    reserve: Sequence[Sentence]
    doubts: Sequence[Sentence]


def sentences(facts: MonthFacts) -> list[Sentence]:
    """The month told from result to prices; topics that the records cannot carry are left out."""
    if not facts.month["jobs"]:
        return [_nothing(facts), *facts.reserve, *facts.doubts]
    what_changed = (_result, _margin, _hours, _model, _wages, _materials, _explaining, _callbacks)
    what_it_means = (_quotes, _walls, _target, _open)
    told = [sentence for tell in (*what_changed, *what_it_means) for sentence in tell(facts)]
    return [*told, *facts.reserve, *facts.doubts]


def say(topic: str, text: str, **numbers: float | int | str | Decimal | None) -> Sentence:
    """A sentence with the numbers it stands on."""
    return Sentence(topic=topic, text=text, numbers={name: _plain(value) for name, value in numbers.items()})


def _plain(value: float | int | str | Decimal | None) -> float | int | str | None:
    return float(value) if isinstance(value, Decimal) else value


def _name(facts: MonthFacts) -> str:
    return month_name(facts.first_day) + ("" if facts.is_over else f" (up to {day_name(facts.last_day)})")


def _nothing(facts: MonthFacts) -> Sentence:
    return say("result", f"No job was completed in {_name(facts)}.", jobs=0)


def _result(facts: MonthFacts) -> Iterator[Sentence]:
    row = facts.month
    kept = "" if row["margin_after_callbacks"] is None else f" ({share(row['margin_after_callbacks'])} of revenue)"
    yield say(
        "result",
        f"{_name(facts)}: {several(row['jobs'], 'job')} completed for {dollars(row['revenue'])}; "
        f"job profit {dollars(row['job_profit'])}, after callbacks {dollars(row['profit_after_callbacks'])}{kept}.",
        jobs=row["jobs"],
        revenue=row["revenue"],
        job_profit=row["job_profit"],
        callback_cost=row["callback_cost"],
        profit_after_callbacks=row["profit_after_callbacks"],
        margin_after_callbacks=row["margin_after_callbacks"],
    )


def _pairs(jobs: Sequence[Mapping[str, Any]], part: str, whole: str) -> list[tuple[float, float]]:
    """Part and whole of the jobs that have both."""
    return [(float(job[part]), float(job[whole])) for job in jobs if job[part] is not None and job[whole] is not None]


def _change(facts: MonthFacts, part: str, whole: str) -> Change | None:
    return change_of_ratio(_pairs(facts.jobs, part, whole), _pairs(facts.jobs_before, part, whole))


def _margin(facts: MonthFacts) -> Iterator[Sentence]:
    change = _change(facts, "ratio_job_profit", "ratio_revenue")
    if change is None:
        return
    numbers = {"now": change.now, "twelve_months_before": change.before, "standard_error": change.error}
    if not change.is_real:
        text = (
            f"Job margin {share(change.now)} against {share(change.before)} over the twelve months before: "
            "no more than a job or two moves any month."
        )
    else:
        word = "up" if change.difference > 0 else "down"
        text = (
            f"Job margin is {word} {points(change.difference)}, to {share(change.now)} from {share(change.before)} "
            "over the twelve months before; no single job made the difference."
        )
    yield say("margin", text, **numbers)


def _hours(facts: MonthFacts) -> Iterator[Sentence]:
    row = facts.month
    if row["labour_efficiency_variance"] is None or row["hours_of_quoted_jobs"] is None:
        return
    if row["quoted_jobs"] < FEWEST_JOBS:
        return
    quoted = (row["quoted_hours"] or Decimal(0)) + (row["change_order_hours"] or Decimal(0))
    over = row["hours_of_quoted_jobs"] - quoted
    word = "more" if over > 0 else "fewer"
    yield say(
        "hours",
        f"{several(row['quoted_jobs'], 'quoted job')} took {hours_text(abs(over))} {word} than quoted "
        f"({hours_text(row['hours_of_quoted_jobs'])} against {hours_text(quoted)} with change orders), "
        f"{dollars(abs(row['labour_efficiency_variance']))} at the standard hour.",
        quoted_jobs=row["quoted_jobs"],
        quoted_hours=quoted,
        actual_hours=row["hours_of_quoted_jobs"],
        labour_efficiency_variance=row["labour_efficiency_variance"],
    )


def _model(facts: MonthFacts) -> Iterator[Sentence]:
    """Hours beside those the hours model expects of such openings; it may have learned from these very jobs."""
    bias = facts.against_model
    if bias is None or bias["bias"] is None:
        return
    took = f"{hours_text(bias['actual'])} where the hours model expects {hours_text(bias['quoted'])} for such openings"
    judged = f"{share(abs(bias['bias']))} {_more(bias['bias'])}" if _stands(bias) else "no more apart than usual"
    yield say(
        "hours against the model",
        f"{several(bias['jobs'], 'job')} took {took}: {judged}.",
        jobs=bias["jobs"],
        expected_hours=bias["quoted"],
        actual_hours=bias["actual"],
        bias=bias["bias"],
        low=bias["low"],
        high=bias["high"],
    )


def _wages(facts: MonthFacts) -> Iterator[Sentence]:
    wages = facts.wages
    if wages["change"] is None or min(wages["weight_now"], wages["weight_before"]) < FEWEST_HOURS:
        return
    if abs(wages["change"]) < WORTH_SAYING:
        return
    yield say(
        "wages",
        f"An hour of the same people cost {share(abs(wages['change']))} {_more(wages['change'])} than over the twelve "
        f"months before, {dollars(abs(wages['effect']))} on the hours of the month.",
        change=wages["change"],
        effect=wages["effect"],
        hours_compared=wages["weight_now"],
    )


def _materials(facts: MonthFacts) -> Iterator[Sentence]:
    materials = facts.materials
    if materials["change"] is None or materials["weight_now"] < FEWEST_LINES:
        return
    if abs(materials["change"]) < WORTH_SAYING:
        return
    yield say(
        "materials",
        f"The same materials cost {share(abs(materials['change']))} {_more(materials['change'])} than over the twelve "
        f"months before, {dollars(abs(materials['effect']))} on what was bought in the month "
        f"(compared on {materials['weight_now']:.0f} bought lines).",
        change=materials["change"],
        effect=materials["effect"],
        lines_compared=materials["weight_now"],
    )


def _more(change: float) -> str:
    return "more" if change > 0 else "less"


def _explaining(facts: MonthFacts) -> Iterator[Sentence]:
    for job in facts.explaining:
        word = "more" if job["effect"] > 0 else "less"
        yield say(
            "jobs",
            f"Job {job['job_id']} earned {dollars(abs(job['effect']))} {word} than its revenue usually brings: "
            f"{job['why']}.",
            job_id=job["job_id"],
            effect=job["effect"],
        )


def _callbacks(facts: MonthFacts) -> Iterator[Sentence]:
    now, before = facts.callbacks["visits"], facts.callbacks["visits_before"]
    usual = before / MONTHS_BEFORE
    if count_is_unusual(now, before, MONTHS_BEFORE):
        word = "unusually many" if now > usual else "unusually few"
        judged = f"{word} (usual {usual:.1f} a month)"
    else:
        judged = f"about as usual ({usual:.1f} a month)"
    yield say(
        "callbacks",
        f"{several(now, 'callback')} reported in the month, {cost_so_far(facts.callbacks)}: {judged}.",
        callbacks=now,
        usual_per_month=usual,
        cost=facts.callbacks["cost"],
        not_costed=facts.callbacks["not_costed"],
    )


def cost_so_far(callbacks: Mapping[str, Any]) -> str:
    """What the month's callbacks cost as far as it is recorded: an unknown cost is not $0."""
    waiting = callbacks["not_costed"]
    if waiting and waiting == callbacks["visits"]:
        return "not costed yet"
    so_far = f"{dollars(callbacks['cost'])} so far"
    return f"{so_far}, {waiting} of them not costed yet" if waiting else so_far


def _stands(bias: QuoteBias) -> bool:
    """Whether the range of a bias leaves out zero."""
    return bias["low"] is not None and bias["high"] is not None and bias["low"] * bias["high"] > 0


def _stands_among_walls(bias: QuoteBias) -> bool:
    """Stricter than _stands, as one of five walls would often stand out by chance."""
    if bias["bias"] is None or bias["low"] is None or bias["high"] is None:
        return False
    return abs(bias["bias"]) > AMONG_FIVE * (bias["high"] - bias["low"]) / 2


def _quotes(facts: MonthFacts) -> Iterator[Sentence]:
    for bias in facts.bias:
        if bias["measure"] != "hours" or bias["bias"] is None or bias["correction"] is None:
            continue
        if not _stands(bias):
            text = f"Quoted hours of the last twelve months were right on the whole ({several(bias['jobs'], 'job')})."
        else:
            a_year = (bias["actual"] - bias["quoted"]) * float(facts.standard_hourly_cost)
            text = (
                f"For prices: {_off(bias)} ({_span(bias)}), {dollars(abs(a_year))} a year at "
                f"{cents_text(facts.standard_hourly_cost)} an hour; {_right(bias)}."
            )
        yield say("prices", text, **_numbers_of(bias))


def _walls(facts: MonthFacts) -> Iterator[Sentence]:
    for wall, bias in facts.bias_by_wall:
        if _stands_among_walls(bias):
            yield say(
                "prices",
                f"On {wall.replace('_', ' ')}: {_off(bias)} ({_span(bias)}); {_right(bias)}.",
                wall_type=wall,
                **_numbers_of(bias),
            )


def _off(bias: QuoteBias) -> str:
    off = bias["bias"] or 0.0
    return f"over the last twelve months jobs took {share(abs(off))} {_more(off)} hours than quoted"


def _span(bias: QuoteBias) -> str:
    return f"range {span_of_shares(bias['low'] or 0, bias['high'] or 0)}, {several(bias['jobs'], 'job')}"


def _right(bias: QuoteBias) -> str:
    return f"quoted hours times {bias['correction']:.2f} would have been right"


def _numbers_of(bias: QuoteBias) -> dict[str, float | int | str | Decimal | None]:
    return {
        "jobs": bias["jobs"],
        "quoted": bias["quoted"],
        "actual": bias["actual"],
        "bias": bias["bias"],
        "low": bias["low"],
        "high": bias["high"],
        "correction": bias["correction"],
    }


def _target(facts: MonthFacts) -> Iterator[Sentence]:
    year, target = facts.year, facts.target_margin
    kept = year["margin_after_callbacks"]
    if kept is None or year["jobs"] < FEWEST_JOBS_A_YEAR or not year["revenue"]:
        return
    cost = year["revenue"] - year["profit_after_callbacks"]
    needed = float(cost / (1 - target) / year["revenue"]) - 1
    meaning = f"prices {share(needed)} higher would have met it" if needed > WORTH_SAYING else "the target was met"
    yield say(
        "prices",
        f"Margin after callbacks over the last twelve months {share(kept)}, target {share(target)}: {meaning}.",
        margin_after_callbacks=kept,
        target_margin=target,
        price_change_needed=needed,
    )


def _open(facts: MonthFacts) -> Iterator[Sentence]:
    losing = [job for job in facts.open_jobs if job["heading_for_loss"]]
    if losing:
        named = ", ".join(f"{job['job_id']} ({dollars(job['expected_profit'] or 0)})" for job in losing)
        yield say(
            "open jobs",
            f"Open on {day_name(facts.as_of)}: {several(len(facts.open_jobs), 'job')}; heading for a loss: {named}.",
            open_jobs=len(facts.open_jobs),
            heading_for_loss=len(losing),
        )
    elif facts.open_jobs:
        yield say(
            "open jobs",
            f"Open on {day_name(facts.as_of)}: {several(len(facts.open_jobs), 'job')}, "
            "none heading for a loss by what is known.",
            open_jobs=len(facts.open_jobs),
            heading_for_loss=0,
        )
