"""Shapes handed out about callbacks: readings beyond limits, patterns, openings to revisit."""

from datetime import date
from typing import TypedDict


class CheckRow(TypedDict):
    """A reading beyond the firm's own limit. value and limit in the reading's unit.

    checked_on: day of the check card; without one, the setting day (for limits on sizes and on that day's weather)
    under_warranty: whether a callback would still be ours: the job is open, or its warranty is not over.
    """

    opening_id: str
    job_id: str
    crew: str | None
    checked_on: date
    reading: str
    value: float
    limit: float
    called_back: bool
    under_warranty: bool


class CrewShare(TypedDict):
    """A crew's openings with a check card, and those of them with a reading beyond a limit.

    share: of the one in the other, pulled towards that of all crews; low, high: 95 % range
    """

    crew: str
    cards: int
    beyond: int
    share: float
    low: float
    high: float


class ChecksResult(TypedDict):
    """Readings beyond limits, newest card first; limits: how many readings have one; by_crew: in the order of names."""

    as_of: date
    limits: int
    cards: int
    rows: list[CheckRow]
    by_crew: list[CrewShare]


class YearPart(TypedDict):
    """What goes with a pattern in one calendar year. cost in USD."""

    year: int
    callbacks: float
    cost: float | None


class PatternRow(TypedDict):
    """One pattern and cause. fact: what was found at setting, in words; text: what it goes with, a whole sentence.

    hazard_ratio with its 95 % range; plain_*: counted within crews and wall types, without the model, as a check;
    attributable_* over all years of the book, USD.
    """

    pattern: str
    cause: str
    fact: str
    text: str
    level: str
    openings_with: int
    openings_without: int
    callbacks_with: int
    callbacks_without: int
    recorded_share: float | None
    hazard_ratio: float | None
    low: float | None
    high: float | None
    p: float | None
    q: float | None
    flagged: bool
    enough_data: bool
    smallest_hr_seen: float | None
    plain_ratio: float | None
    plain_low: float | None
    plain_high: float | None
    stands_in_for: str | None
    threshold: float | None
    threshold_low: float | None
    threshold_high: float | None
    attributable_callbacks: float | None
    attributable_callbacks_low: float | None
    attributable_callbacks_high: float | None
    attributable_cost: float | None
    attributable_cost_low: float | None
    attributable_cost_high: float | None
    by_year: list[YearPart]


class ThresholdSearch(TypedDict):
    """A numeric reading searched for the value where callbacks begin; threshold null = it cannot be placed."""

    reading: str
    cause: str
    callbacks: int
    p: float | None
    threshold: float | None
    low: float | None
    high: float | None
    text: str


class CauseMoney(TypedDict):
    """The callbacks of a cause that count, and their cost: USD, net, of those costed so far.

    callbacks: first ones of an opening inside its warranty, of which `explained` go with flagged patterns if the links
    are causal; repeat_*: more of the same at the same opening, inside; outside_*: before completion or after the
    warranty's end; cost = cost_explained + cost_not_explained + repeat_cost + outside_cost
    """

    callbacks: int
    explained: float
    not_explained: float
    repeat_callbacks: int
    outside_callbacks: int
    not_costed: int
    cost: float
    cost_explained: float
    cost_not_explained: float
    repeat_cost: float
    outside_cost: float


class CauseYear(CauseMoney):
    """The same for the reports of one calendar year."""

    year: int


class CauseTotal(CauseMoney):
    """All callbacks of a cause with their cost, and how often they came.

    rate_per_100_years: with exact 95 % limits; by_12_months, by_24_months: share of openings called back for it by
    then; first_by_24_months: share whose first callback of all five complaints was this one
    """

    cause: str
    by_year: list[CauseYear]
    opening_years: float
    rate_per_100_years: float | None
    rate_low: float | None
    rate_high: float | None
    by_12_months: float | None
    by_24_months: float | None
    first_by_24_months: float | None


class PatternsResult(TypedDict):
    """The answer of `areaway patterns`; left_out: reports that do not count, by reason.

    left_out_by_words: callbacks not ours to pay by the words of the cause found alone, without a value in `warranty`
    """

    as_of: date
    openings: int
    patterns: list[PatternRow]
    causes: list[CauseTotal]
    left_out: dict[str, int]
    left_out_by_words: list[str]
    thresholds: list[ThresholdSearch]


class RevisitRow(TypedDict):
    """A finished opening under warranty. probability: any complaint before the warranty ends; cost in USD."""

    opening_id: str
    job_id: str
    crew: str | None
    completed_on: date
    warranty_ends_on: date
    probability: float
    expected_cost: float | None
    by_cause: dict[str, float]
    reasons: list[str]


class RevisitResult(TypedDict):
    """The answer of `areaway revisit`; base_rate: complaints with too few visits to tell openings apart."""

    as_of: date
    openings_under_warranty: int
    base_rate: list[str]
    rows: list[RevisitRow]
