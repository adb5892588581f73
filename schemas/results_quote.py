"""Shape of a quote: what each opening, each job and the whole takes and costs."""

from typing import Any, TypedDict


class HoursRange(TypedDict):
    """Labour hours: four cases in five lie between p10 and p90, nine in ten between p05 and p95. [h]"""

    p05: float
    p10: float
    p50: float
    p90: float
    p95: float
    mean: float


class PhaseLine(TypedDict):
    """Hours of one phase, and how the figure is made up."""

    phase: str
    mean: float
    p10: float
    p90: float
    explained: dict[str, Any] | None


class MaterialRow(TypedDict):
    """One item of one opening; costs are null where no price is known. [USD]"""

    item: str
    spec: str
    quantity: float
    unit: str
    order_quantity: float
    unit_cost: float | None
    cost: float | None
    expected_cost: float | None
    rule: str
    price_source: str


class CallbackRow(TypedDict):
    """Chance of a visit within the warranty, by complaint, and what it costs on average. [0-1, USD]"""

    leak: float | None
    fit: float | None
    drainage: float | None
    expected_cost: float


class EgressRow(TypedDict):
    """One rule of the model code held against the opening."""

    rule: str
    value: float | None
    limit: float | None
    result: str
    section: str
    edition: str
    note: str


class CautionRow(TypedDict):
    """What to mind, and who decides."""

    topic: str
    text: str
    authority: str


class SimilarRow(TypedDict):
    """A finished opening like this one, what it took, and its sizes, ground and differences in words. [h]"""

    opening_id: str
    hours: float
    told: str


class QuotedOpening(TypedDict):
    """Everything about one opening; `asked` is what was given of it, in inches and the records' words.

    remarks: what contradicts itself in what was asked
    """

    opening_id: str
    job_id: str
    asked: dict[str, Any]
    confidence: str
    labour_hours: HoursRange
    phases: list[PhaseLine]
    materials: list[MaterialRow]
    callback: CallbackRow
    egress: list[EgressRow]
    crew: str
    assumed: list[str]
    assumed_values: dict[str, str | float]
    remarks: list[str]
    in_range: bool
    out_of_range: list[str]
    similar: list[str]
    similar_hours: list[SimilarRow]
    cautions: list[CautionRow]


class OrderRow(TypedDict):
    """One item of a job's order list, in whole packs. [USD]"""

    item: str
    spec: str
    order_quantity: float
    unit: str
    cost: float | None


class CrewDays(TypedDict):
    """Days of a crew. [days]"""

    p50: float
    p90: float


class OtherCostRow(TypedDict):
    """Permit, disposal, hire and the like, from past jobs of this kind. [USD]"""

    category: str
    expected: float
    low: float
    high: float
    jobs: int


class QuotedJob(TypedDict):
    """One job of the quote; the price is that for the margin asked, null where an opening is outside experience. [USD]

    material_cost: what its openings use on average; the order buys whole packs
    """

    job_id: str
    material_cost: float
    expected_cost: float
    price_at_margin: float | None
    labour_hours: HoursRange
    order: list[OrderRow]
    other_costs: list[OtherCostRow]
    crew_days: CrewDays


class LearnedFrom(TypedDict):
    """What the quote rests on: jobs and openings of the hours, jobs with purchases, first visits; null = none.

    until: the day of the newest record that was learned from; coverage_80: how often its "8 times in 10" ranges held
    on the holdout_openings kept back at the last fit
    """

    jobs: int
    openings: int
    until: str
    coverage_80: float | None
    holdout_openings: int
    starter_rates: bool
    material_jobs: int | None
    callback_visits: int | None


class QuoteTotal(TypedDict):
    """The whole quote. Price and chance of loss are null when an opening is outside the firm's experience. [USD]"""

    labour_hours: HoursRange
    labour_cost: float
    material_cost: float
    other_cost: float
    overhead: float
    callback_allowance: float
    expected_cost: float
    cost_p80: float
    price_at_margin: float | None
    price: float | None
    margin: float
    chance_of_loss: float | None
    crew_days: CrewDays


class WinBand(TypedDict):
    """Quotes won among those decided in one band of price over predicted cost."""

    low: float | None
    high: float | None
    decided: int
    won: int
    win_rate: float
    rate_low: float
    rate_high: float


class QuotedAlone(TypedDict):
    """What the openings within experience cost and are priced at without the others. [USD]"""

    openings: list[str]
    expected_cost: float
    price_at_margin: float


class QuoteResult(TypedDict):
    """The answer to `areaway quote`; `models` tells when each part was fitted: the model's version.

    left_out: costs that are not in it because the book cannot tell them; within_experience: the price of the other
    openings where some are outside experience; crew_hours_per_day: hours of all hands in a crew day
    """

    quote_id: str
    as_of: str
    models: dict[str, str]
    learned_from: LearnedFrom
    left_out: list[str]
    overhead_set: bool
    hourly_cost: float
    crew_hours_per_day: float
    within_experience: QuotedAlone | None
    openings: list[QuotedOpening]
    jobs: list[QuotedJob]
    total: QuoteTotal
    price_guidance: list[WinBand]
