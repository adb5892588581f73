"""What `fit` hands out: how well hours, materials and callbacks are predicted on jobs not seen."""

from datetime import date
from typing import Any, TypedDict


class WallError(TypedDict):
    """Error of held-out openings of one wall type; pooled = fewer than 6 finished jobs of it to learn from."""

    wall_type: str
    openings: int
    median_ape: float
    pooled: bool


class Yardstick(TypedDict):
    """A plain average's own error; gain = mean over jobs of its log error less ours; beaten: by 2 standard errors.

    standard_error: None where a single job was kept back
    """

    name: str
    median_ape: float
    mape: float
    bias: float
    gain: float
    standard_error: float | None
    beaten: bool


class LabourFit(TypedDict):
    """Hours: what the model rests on and how it did on the last fifth of finished jobs.

    presumed_split: hours were mostly under no phase; check_these: entries far from what such work takes;
    openings_without_hours: of finished jobs whose hours are all booked to other openings; nothing is learned from them.
    """

    jobs: int
    openings: int
    openings_without_hours: int
    holdout_openings: int
    median_ape: float | None
    mape: float | None
    bias: float | None
    coverage_80: float | None
    coverage_90: float | None
    by_wall_type: list[WallError]
    yardsticks: list[Yardstick]
    quotes: dict[str, Any] | None
    changes: list[str]
    starter_rates: bool
    presumed_split: bool
    check_these: list[dict[str, Any]]
    backtest: dict[str, Any]


class MaterialsFit(TypedDict):
    """Materials: ordered by the model against bought, on the last fifth of finished jobs."""

    jobs: int
    items: int
    holdout_jobs: int
    holdout_lines: int
    cost_error: float | None
    bias: float | None
    by_item: list[dict[str, Any]]


class CalibrationFigures(TypedDict):
    """Held-out chances against what came, with 95 % ranges; null where there are too few events."""

    observed_over_expected: float | None
    observed_over_expected_low: float | None
    observed_over_expected_high: float | None
    slope: float | None
    slope_low: float | None
    slope_high: float | None
    c_index: float | None
    c_index_low: float | None
    c_index_high: float | None


class CallbacksFit(CalibrationFigures):
    """Callbacks: the chances a quote gives, against what came.

    one_rate_for_all: no complaint has 15 first visits yet, so every opening has the same rate; visit_list: the same
    figures for the chances behind `revisit`, which know the check cards
    """

    openings: int
    events: int
    one_rate_for_all: bool
    visit_list: CalibrationFigures


class NotFitted(TypedDict):
    """A part without enough records, and what it needs."""

    part: str
    reason: str


class Fit(TypedDict):
    """All parts; null = not fitted, with its reason in not_fitted."""

    as_of: date
    labour: LabourFit | None
    materials: MaterialsFit | None
    callbacks: CallbacksFit | None
    not_fitted: list[NotFitted]
