"""Hours of new openings from a stored model: phases, total, range, and how the figure is made up."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.design import Features, features_of
from pipeline.estimators.experience import standing
from pipeline.estimators.explain import Explanation, explain_phase
from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.intervals import LEVELS, log_variance, own_variance, shared_leverage
from pipeline.estimators.known import fill_gaps
from pipeline.estimators.phase_model import predict_phase
from pipeline.estimators.total_stage import predict_total, unknown_crew_doubt
from pipeline.takeoff.openings import Numbers, Openings, count, words
from pipeline.takeoff.phases import JOB_LEVEL_PHASES, phase_quantities, possible_phases

OTHER = "other"


@dataclass(frozen=True)
class HoursPrediction:
    """What the model says of some openings; every array has one value per opening, hours unless said.

    log_sd: sd of the log of the total about p50; phase_*: phase -> hours (0 where it cannot be);
    phase_log_sd: sd of the log of a phase; leverage: doubt in the effects over residual variance.
    """

    mean: Numbers
    p05: Numbers
    p10: Numbers
    p50: Numbers
    p90: Numbers
    p95: Numbers
    log_sd: Numbers
    phase_mean: dict[str, Numbers]
    phase_p10: dict[str, Numbers]
    phase_p90: dict[str, Numbers]
    explained: list[dict[str, Explanation]]
    confidence: list[str]
    in_range: list[list[str]]
    out_of_range: list[list[str]]
    assumed: list[list[str]]
    leverage: Numbers
    filled: dict[str, Any]


@dataclass(frozen=True)
class _Parts:
    """Openings made ready, and the phases' means and doubts."""

    filled: dict[str, Any]
    features: Features
    possible: dict[str, NDArray[np.bool_]]
    quantity: dict[str, Numbers]
    mean: dict[str, Numbers]
    doubt: dict[str, Numbers]


def predict_hours(
    model: HoursModel,
    openings: Openings,
    crew: object = "",
    month: object = 0,
    openings_in_job: object = 1,
    *,
    explain: bool = True,
) -> HoursPrediction:
    """Hours of openings that are not built yet.

    in:     the stored model; the columns of openings (nan, None or "" = not recorded); crew ("" = not known),
            month of the start 1-12 (0 = not known) and openings in the job, each one value or one per opening
    out:    HoursPrediction; everything finite, p05 < p10 < p50 < p90 < p95, phases add up to the mean
    source: simulation study, fresh seeds
    """
    n = count(openings)
    filled, assumed = fill_gaps(openings, model.defaults)
    filled["openings_in_job"] = np.broadcast_to(np.asarray(openings_in_job, dtype=float), (n,)).copy()
    parts = _parts(model, filled, _crew(crew, n), np.broadcast_to(np.asarray(month, dtype=float), (n,)))
    correction, total_doubt = predict_total(model.total, parts.features, parts.mean)
    doubt = shared_leverage(parts.mean, parts.doubt) + total_doubt
    own = own_variance(parts.mean, {phase: fitted.noise_sd for phase, fitted in model.phases.items()})
    any_crew = doubt + unknown_crew_doubt(model.total, parts.features)
    log_sd = np.sqrt(log_variance(model.spread, own, any_crew, words(filled, "wall_type")))
    p50 = sum(parts.mean.values(), start=np.zeros(n)) * np.exp(correction)
    mean = p50 * np.exp(0.5 * model.spread.residual_variance * log_sd**2 / model.spread.mean_variance)
    phase_mean = _phase_means(model, parts, correction, mean)
    relative = doubt / model.spread.residual_variance
    stands = standing(model.experience, filled, relative, assumed=assumed, starter=model.starter)
    return HoursPrediction(
        mean=mean,
        **_bounds(model, p50, log_sd),
        log_sd=log_sd,
        phase_mean=phase_mean,
        **_phase_bounds(model, parts, phase_mean),
        explained=_explained(model, parts, phase_mean) if explain else [],
        confidence=stands.confidence,
        in_range=stands.in_range,
        out_of_range=stands.out_of_range,
        assumed=_with_unknowns(assumed, parts, model),
        leverage=relative,
        filled=filled,
    )


def _crew(crew: object, n: int) -> NDArray[np.str_]:
    values = np.broadcast_to(np.asarray("" if crew is None else crew, dtype=object), (n,))
    return np.array(["" if value is None else str(value) for value in values], dtype=str)


def _parts(model: HoursModel, filled: dict[str, Any], crew: NDArray[np.str_], month: Numbers) -> _Parts:
    features = features_of(filled, crew=crew, month=month)
    possible, quantity = possible_phases(filled), phase_quantities(filled)
    means, doubts = {}, {}
    for phase, fitted in model.phases.items():
        can = possible[phase]
        safe = np.where(can, quantity[phase], fitted.typical_quantity)
        hours, doubt = predict_phase(fitted, features, safe)
        means[phase], doubts[phase] = np.where(can, hours, 0.0), np.where(can, doubt, 0.0)
    return _Parts(filled, features, possible, quantity, means, doubts)


def _bounds(model: HoursModel, p50: Numbers, log_sd: Numbers) -> dict[str, Any]:
    bounds = {"p50": p50}
    for name, level in LEVELS.items():
        sign = 1.0 if name in ("p90", "p95") else -1.0
        bounds[name] = p50 * np.exp(sign * model.spread.multipliers[str(level)] * log_sd)
    return bounds


def _phase_means(model: HoursModel, parts: _Parts, correction: Numbers, mean: Numbers) -> dict[str, Numbers]:
    """The phases scaled to add up to the mean; setup and travel are once per job and take no correction."""
    drawn = {
        phase: hours if phase in JOB_LEVEL_PHASES else hours * np.exp(correction)
        for phase, hours in parts.mean.items()
    }
    whole = sum(drawn.values(), start=np.zeros(len(mean)))
    scaled = {phase: hours * (1 - model.other_share) * mean / whole for phase, hours in drawn.items()}
    if model.other_share > 0:
        scaled[OTHER] = model.other_share * mean
    return scaled


def _phase_bounds(model: HoursModel, parts: _Parts, phase_mean: dict[str, Numbers]) -> dict[str, Any]:
    """80 % range of each phase about its median: its own noise and the doubt in its effects."""
    h = model.spread.multipliers["0.8"]
    low, high = {}, {}
    for phase, mean in phase_mean.items():
        fitted = model.phases.get(phase)
        if fitted is None:
            low[phase], high[phase] = (mean * (share / model.other_share) for share in model.other_range)
            continue
        sd = np.sqrt(fitted.noise_sd**2 + parts.doubt[phase])
        median = mean / fitted.smearing
        low[phase], high[phase] = median * np.exp(-h * sd), median * np.exp(h * sd)
    return {"phase_p10": low, "phase_p90": high}


def _explained(
    model: HoursModel, parts: _Parts, phase_mean: Mapping[str, Numbers]
) -> list[dict[str, Explanation]]:
    n = len(next(iter(phase_mean.values())))
    explained: list[dict[str, Explanation]] = [{} for _ in range(n)]
    for phase, fitted in model.phases.items():
        for index in np.flatnonzero(parts.possible[phase]):
            explained[index][phase] = explain_phase(
                fitted, model.total, parts.features, parts.quantity[phase], int(index), phase_mean[phase][index]
            )
    return explained


def _with_unknowns(assumed: list[list[str]], parts: _Parts, model: HoursModel) -> list[list[str]]:
    known = frozenset(model.total.crews)
    for index, crew in enumerate(parts.features.words["crew"]):
        if crew not in known:
            assumed[index].append("crew")
    return assumed
