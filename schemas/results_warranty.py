"""Shapes handed out about callback money, crews and case files."""

from datetime import date
from typing import TypedDict


class NotCosted(TypedDict):
    """Visits reported by now whose cost is not known yet."""

    callbacks: float
    expected_cost: float


class ReserveMonth(TypedDict):
    """Visits and cost expected in one month to come."""

    month: str
    expected_callbacks: float
    expected_cost: float


class RollForwardMonth(TypedDict):
    """opening + accrued − spent + change_in_estimate = closing; spent_not_costed is in spent. [USD]"""

    month: str
    opening: float
    accrued: float
    spent: float
    change_in_estimate: float
    closing: float
    spent_not_costed: float


class CrossCheck(TypedDict):
    """Cost to come by another method, or why it cannot tell; standard_error where the method has one. [USD]"""

    method: str
    expected_cost: float | None
    standard_error: float | None
    why_not: str | None


class ComplaintShare(TypedDict):
    """What is expected of one complaint."""

    complaint: str
    expected_callbacks: float
    expected_cost: float
    cost_per_callback: float


class VisitsByAge(TypedDict):
    """Visits per 100 openings by age, counted and as the model has them."""

    months: int
    counted: float
    low: float
    high: float
    model: float


class Reserve(TypedDict):
    """Expected remaining callback cost of all openings under warranty."""

    as_of: date
    openings_under_warranty: int
    expected_callbacks: float
    expected_cost: float
    low_80: float
    high_80: float
    low_95: float
    high_95: float
    reported_not_costed: NotCosted
    by_month: list[ReserveMonth]
    roll_forward: list[RollForwardMonth]
    visits_behind_it: int
    costed_visits: int
    order_of_magnitude_only: bool
    by_complaint: list[ComplaintShare]
    cross_checks: list[CrossCheck]
    visits_by_age: list[VisitsByAge]
    more_got_back_than_spent: bool


class CrewRow(TypedDict):
    """One crew: first callbacks counted against what its work would give."""

    crew: str
    openings: int
    callbacks: int
    expected: float
    ratio: float | None
    low: float
    high: float
    shrunk_ratio: float
    level: str | None
    outside_limits: bool
    chance_alone: float
    chance_any: float | None


class Crews(TypedDict):
    """Callbacks per crew."""

    as_of: date
    rows: list[CrewRow]


class CallbackRow(TypedDict):
    """One report: does it count, what did it cost, how long has it waited."""

    callback_id: str
    opening_id: str
    reported_on: date
    complaint: str
    counts: bool
    why_not: str | None
    cost: float | None
    days_open: int | None
    job_id: str
    visit_id: str
    in_warranty: bool | None
    before_completion: bool | None
    labour_cost: float | None
    material_cost: float | None
    recovered: float | None
    marked_standard: bool
    cause_found: str | None
    visited_on: date | None
    visited_by_crew: str | None
    work_done: str | None
    fixed: bool | None
    closed_on: date | None
    duplicate_of: str | None


class ChartMonth(TypedDict):
    """Callbacks per opening-month; centre and limits: what is usual of openings of the ages watched in the month.

    expected: callbacks the firm's own rates by age give those openings in that time.
    """

    month: str
    callbacks: float
    opening_months: float
    expected: float
    rate: float
    centre: float
    lower: float
    upper: float
    outside: bool


class Rise(TypedDict):
    """Running sum that watches for a doubling; one sum per month of report."""

    sums: list[float]
    limit: float
    alarm_since: str | None
    months_until_a_doubling_shows: float
    false_alarm_every_months: float


class Watching(TypedDict):
    """Callbacks month by month; rise is null with fewer than 24 months or without callbacks in the older ones."""

    by_month_of_report: list[ChartMonth]
    by_month_of_setting: list[ChartMonth]
    rise: Rise | None


class Callbacks(TypedDict):
    """The list of reports."""

    as_of: date
    rows: list[CallbackRow]
    watching: Watching


class LikelyCause(TypedDict):
    """Share of similar callbacks that goes with a pattern; nothing_recorded for the rest."""

    pattern: str
    share: float
    why: str


class TimelineEntry(TypedDict):
    """What happened on a day."""

    date: date | None
    event: str


class CaseFile(TypedDict):
    """Everything recorded about one callback, or one opening."""

    callback: dict[str, object] | None
    opening: dict[str, object]
    checks: list[dict[str, object]]
    weather: list[dict[str, object]]
    patterns_present: list[dict[str, object]]
    likely_causes: list[LikelyCause]
    similar: list[dict[str, object]]
    cost: dict[str, object]
    timeline: list[TimelineEntry]
