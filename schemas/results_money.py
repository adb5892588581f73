"""Shapes handed out about money: margins, jobs, the month."""

from datetime import date
from decimal import Decimal
from typing import NotRequired, TypedDict


class MarginRow(TypedDict):
    """What a group of completed jobs cost and earned; money is USD to the cent, shares are of 1."""

    group: str | None
    jobs: int
    revenue: Decimal
    labour_cost: Decimal
    material_cost: Decimal
    other_cost: Decimal
    gross_profit: Decimal
    gross_margin: float | None
    overhead: Decimal
    job_profit: Decimal
    job_margin: float | None
    callback_cost: Decimal
    profit_after_callbacks: Decimal
    margin_after_callbacks: float | None
    profit_per_labour_hour: float | None
    actual_hours: Decimal
    quoted_jobs: int
    quoted_hours: Decimal | None
    change_order_hours: Decimal | None
    hours_of_quoted_jobs: Decimal | None
    labour_rate_variance: Decimal
    labour_efficiency_variance: Decimal | None
    material_price_variance: Decimal | None
    material_usage_variance: Decimal | None
    material_cost_with_list_price: Decimal | None
    hours_at_standard: Decimal | None
    callback_count: int
    callbacks_not_costed: int


class QuoteBias(TypedDict):
    """How far quotes were off on completed jobs; shares of 1, positive = the work took more than quoted."""

    measure: str
    jobs: int
    quoted: float
    actual: float
    bias: float | None
    low: float | None
    high: float | None
    correction: float | None


class PriceStep(TypedDict):
    """Prices of a quarter, the newest quarter being 100; null where nothing links it to the next quarter."""

    quarter: str
    materials: float | None
    wages: float | None
    material_lines: int
    hours: float


class TodaysPrices(TypedDict):
    """Labour and material of a group of jobs as they cost then, and at the newest quarter's wages and prices."""

    group: str | None
    labour_cost: float
    material_cost: float
    labour_cost_today: float
    material_cost_today: float


class ReserveOfGroup(TypedDict):
    """Callback cost still expected under warranty for the jobs of a group, and their profit after it."""

    group: str | None
    reserve_to_come: float
    profit_after_reserve: float


class Margins(TypedDict):
    """Answer of `margins`. newest_completed_on: the day of the newest job finished by `as_of`."""

    as_of: date
    by: str
    newest_completed_on: date | None
    overhead_set: bool
    standard_hourly_cost: Decimal
    standard_set: bool
    waiting_rows: int
    jobs_without_labour: list[str]
    rows: list[MarginRow]
    total: MarginRow
    trailing_twelve_months: MarginRow
    quote_bias: list[QuoteBias]
    price_index: NotRequired[list[PriceStep]]
    at_todays_prices: NotRequired[list[TodaysPrices]]
    after_reserve: NotRequired[list[ReserveOfGroup]]


class JobRow(MarginRow):
    """A margins row of one job; open jobs say where they are heading (null for completed ones)."""

    job_id: str
    completed_on: date | None
    status: str
    crew: str | None
    branch: str | None
    wall_type: str | None
    quoted_cost: Decimal | None
    waiting_rows: int
    cost_to_date: Decimal | None
    expected_final_cost: Decimal | None
    expected_profit: Decimal | None
    expected_basis: str | None
    heading_for_loss: bool | None


class Jobs(TypedDict):
    """Answer of `jobs`."""

    as_of: date
    overhead_set: bool
    waiting_rows: int
    jobs_without_labour: list[str]
    rows: list[JobRow]


class JobOpening(TypedDict):
    """One opening's share of its job, to the cent; shared lines are spread by the stated rule."""

    opening_id: str
    wall_type: str
    opening_work: str
    hours: float
    labour_cost: Decimal
    material_cost: Decimal
    other_cost: Decimal
    callback_cost: Decimal
    cost: Decimal


class JobPhase(TypedDict):
    """Hours and cost of one phase; predicted hours come from the model, null when it is not fitted."""

    phase: str
    hours: Decimal
    cost: Decimal
    predicted_hours: float | None


class JobItem(TypedDict):
    """What was bought of one item, against the standard."""

    item: str
    unit: str
    quantity: Decimal
    cost: Decimal
    standard_quantity: Decimal | None
    price_variance: Decimal | None
    usage_variance: Decimal | None


class JobWorkerDay(TypedDict):
    """Hours of one worker on one day; worker null = not recorded."""

    worked_on: date
    worker_id: str | None
    hours: Decimal
    cost: Decimal


class JobOther(TypedDict):
    """Other costs of one category."""

    category: str
    amount: Decimal


class JobCallback(TypedDict):
    """A callback of the job; cost null = not costed yet."""

    callback_id: str
    opening_id: str
    reported_on: date
    complaint: str
    counts: bool
    why_not: str | None
    cost: Decimal | None


class BridgeStep(TypedDict):
    """One step from quoted to actual profit; positive = profit rose."""

    step: str
    amount: Decimal


class OneJob(JobRow):
    """Answer of `jobs JOB_ID`."""

    as_of: date
    overhead_set: bool
    openings: list[JobOpening]
    phases: list[JobPhase]
    items: list[JobItem]
    worker_days: list[JobWorkerDay]
    other_costs: list[JobOther]
    callbacks: list[JobCallback]
    bridge: list[BridgeStep]
    spread_rule: str


class PriceChange(TypedDict):
    """What the same things cost more now than before (share of 1), its worth in USD, and how much was compared."""

    change: float | None
    effect: float
    weight_now: float
    weight_before: float


class Sentence(TypedDict):
    """One thing said about the month, and the numbers it stands on."""

    topic: str
    text: str
    numbers: dict[str, float | int | str | None]


class JobThatExplains(TypedDict):
    """A job that moved the month, why, and by how much; USD against its quote."""

    job_id: str
    effect: Decimal
    why: str
    steps: list[BridgeStep]


class Month(TypedDict):
    """Answer of `month`."""

    month: str
    as_of: date
    overhead_set: bool
    waiting_rows: int
    sentences: list[Sentence]
    jobs_that_explain_it: list[JobThatExplains]
