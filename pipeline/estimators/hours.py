"""Hours of an opening, fitted from finished jobs: phases, their total, its range."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pipeline.errors import NotEnoughRecords
from pipeline.estimators.design import features_of
from pipeline.estimators.experience import experience_of
from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.intervals import (
    Scatter,
    Spread,
    fit_spread,
    own_variance,
    shared_leverage,
    starting_spread,
)
from pipeline.estimators.phase_model import FittedPhase, fit_phase
from pipeline.estimators.predict import HoursPrediction, predict_hours
from pipeline.estimators.records import Finished, finished_openings
from pipeline.estimators.starter import check_starter_rates
from pipeline.estimators.total_stage import FittedTotal, fit_total
from pipeline.takeoff.openings import words
from pipeline.takeoff.phases import MEASURED_PHASES

if TYPE_CHECKING:
    import polars as pl

FEWEST_OPENINGS = 12  # house rule: below this an estimate needs starter rates
LEAST_RECORDED_SHARE = 0.05  # house rule
OTHER_QUANTILES = (0.1, 0.9)  # 8 openings in 10

__all__ = ["FEWEST_OPENINGS", "HoursFit", "HoursModel", "HoursPrediction", "fit_finished", "fit_hours", "predict_hours"]


@dataclass(frozen=True)
class HoursFit:
    """The model with what was left out to make it: for measuring, and for spotting odd entries."""

    model: HoursModel
    phases: dict[str, FittedPhase]
    total: FittedTotal


def fit_hours(
    jobs: "pl.DataFrame",
    openings: "pl.DataFrame",
    labour: "pl.DataFrame",
    *,
    starter_rates: Mapping[str, float] | None = None,
) -> HoursModel:
    """The hours model of a firm.

    in:     frames with the columns of jobs, openings and labour (see schemas); the user's starter rates
    out:    HoursModel
    errors: NotEnoughRecords under 12 finished openings without starter rates; InputError for a rate that
            means nothing
    source: simulation study, fresh seeds
    """
    return fit_finished(finished_openings(jobs, openings, labour).worked(), starter_rates or {}).model


def fit_finished(data: Finished, rates: Mapping[str, float]) -> HoursFit:
    """The same from records that are arrays already, with the left-out figures kept.

    in:     openings that hours were booked to, all of them (see Finished.worked); starter rates
    """
    check_starter_rates(rates)
    if len(data.job) < FEWEST_OPENINGS and not rates:
        raise NotEnoughRecords(
            f"no estimate of hours yet: {len(data.job)} finished openings with labour in the book, at least "
            f"{FEWEST_OPENINGS} are needed; or write [starter_rates] into the settings"
        )
    features = features_of(data.openings, crew=data.crew, month=data.month)
    phases = {phase: fit_phase(phase, data, features, rates=rates) for phase in used_phases(data, rates)}
    total = fit_total(data, features, phases)
    share, low, high = _other(data)
    model = HoursModel(
        phases={phase: fitted.model for phase, fitted in phases.items()},
        total=total.model,
        spread=_spread(data, phases, total),
        defaults=data.defaults,
        experience=experience_of(data),
        other_share=share,
        other_range=(low, high),
        jobs=len(data.jobs),
        openings=len(data.job),
        starter=bool(rates),
        presumed_split=data.presumed_split,
    )
    return HoursFit(model, phases, total)


def _other(data: Finished) -> tuple[float, float, float]:
    """Share of all hours under no measured phase, and its 10 and 90 % quantile over the openings."""
    split = data.split & (data.total > 0)
    if not split.any():
        return 0.0, 0.0, 0.0
    share = float(data.elsewhere[split].sum() / data.total.sum())
    low, high = np.quantile(data.elsewhere[split] / data.total[split], OTHER_QUANTILES)
    return share, float(low), max(float(high), share)


def used_phases(data: Finished, rates: Mapping[str, float]) -> list[str]:
    """The phases this firm records: one that hardly ever has hours is done under another name."""
    starters = {name.split(".")[0] for name in rates}
    return [
        phase
        for phase in MEASURED_PHASES
        if phase in starters or data.recorded_share(phase) >= LEAST_RECORDED_SHARE
    ]


def _spread(data: Finished, phases: Mapping[str, FittedPhase], total: FittedTotal) -> Spread:
    if len(data.job) < FEWEST_OPENINGS:
        return starting_spread()
    means = {phase: fitted.left_out_mean for phase, fitted in phases.items()}
    walls = words(data.openings, "wall_type")
    scatter = Scatter(
        residual=total.residual,
        own=own_variance(means, {phase: fitted.model.noise_sd for phase, fitted in phases.items()}),
        leverage=shared_leverage(means, {phase: fitted.leverage for phase, fitted in phases.items()})
        + total.leverage,
        walls=walls,
        job=data.job,
    )
    jobs_per_wall = {str(wall): len(np.unique(data.job[walls == wall])) for wall in np.unique(walls)}
    return fit_spread(scatter, jobs_per_wall, len(data.jobs))
