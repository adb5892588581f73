"""Hours of one phase: rate x (quantity + set-up allowance) x adjustments, fitted on finished openings."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.design import (
    CHANGE_SD,
    LEVELS,
    PHASE_GROUPS,
    SLOPE,
    Column,
    Features,
    column_as_plain,
    column_from_plain,
    column_values,
    columns_of,
    design_of,
    with_numbers,
)
from pipeline.estimators.drift import Change, find_change
from pipeline.estimators.pooled import (
    Beliefs,
    Design,
    PooledFit,
    as_plain,
    clipped,
    fit_pooled,
    left_out_effects,
    left_out_fit,
    leverage,
    smearing,
)
from pipeline.estimators.records import Finished
from pipeline.estimators.starter import ROUGH_QUANTITIES, lean_on, rate_columns
from pipeline.takeoff.openings import Numbers
from pipeline.takeoff.phases import JOB_LEVEL_PHASES

# Simulation study, fresh seeds.
SETUP_SHARES = (0.0, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0)  # set-up allowance as a share of the typical quantity
SETUP_PRIOR_CENTRE, SETUP_PRIOR_SD, SETUP_PRIOR_SHIFT = 0.5, 1.5, 0.05
LEAST_SIZE = 0.02  # of the typical quantity, where there is no set-up allowance
CHOOSING = Beliefs(noise_sd=0.3, noise_rows=2.0, tolerance=1e-2)  # the same, only nearly converged
BELIEFS = Beliefs(noise_sd=0.3, noise_rows=2.0)  # of a phase's log hours
SHARED_NOISE = 0.5  # how much the openings of a job share their noise
ROWS_TO_CHOOSE_BY = 2000  # enough to choose the allowance; keeps a large book fast
ROWS_TO_CHOOSE = 10  # fewer rows than this leave the allowance at its prior centre
CHANGE = "change"
BEFORE = "before "


@dataclass(frozen=True)
class PhaseModel:
    """What is stored of one phase: effects of its columns, their covariance, and the scale of its quantity."""

    phase: str
    columns: tuple[Column, ...]
    effects: Numbers
    V: Numbers
    rows_with: NDArray[np.int64]
    typical_quantity: float
    setup_share: float
    smearing: float
    noise_sd: float
    rows: int
    change: Change | None

    def as_plain(self) -> dict[str, Any]:
        """The model as JSON-able values."""
        return {
            "columns": [column_as_plain(column) for column in self.columns],
            "effects": as_plain(self.effects),
            "V": as_plain(self.V),
            "rows_with": self.rows_with.tolist(),
            "typical_quantity": self.typical_quantity,
            "setup_share": self.setup_share,
            "smearing": self.smearing,
            "noise_sd": self.noise_sd,
            "rows": self.rows,
            "change": None if self.change is None else self.change.as_plain(),
        }


def phase_from_plain(phase: str, body: Mapping[str, Any]) -> PhaseModel:
    """The model that as_plain wrote."""
    return PhaseModel(
        phase=phase,
        columns=tuple(column_from_plain(column) for column in body["columns"]),
        effects=np.array(body["effects"]),
        V=np.array(body["V"]),
        rows_with=np.array(body["rows_with"]),
        typical_quantity=body["typical_quantity"],
        setup_share=body["setup_share"],
        smearing=body["smearing"],
        noise_sd=body["noise_sd"],
        rows=body["rows"],
        change=None if body["change"] is None else Change(**body["change"]),
    )


@dataclass(frozen=True)
class FittedPhase:
    """A phase model with what it said of each training opening by effects that never saw its job."""

    model: PhaseModel
    left_out_mean: Numbers
    leverage: Numbers


def relative_size(quantity: Numbers, typical_quantity: float, setup_share: float) -> Numbers:
    """log((q / typical + c) / (1 + c)); without an allowance the log of a ratio held above 0."""
    ratio = quantity / typical_quantity
    if setup_share == 0:
        return np.log(np.maximum(ratio, LEAST_SIZE))
    return np.log((ratio + setup_share) / (1 + setup_share))


def phase_columns(model: PhaseModel, features: Features, quantity: Numbers) -> Numbers:
    """The design rows of openings to be predicted; a change of the past counts 0: today's level."""
    size = relative_size(quantity, model.typical_quantity, model.setup_share)
    today = {c.number: np.zeros(len(size)) for c in model.columns if c.number.startswith(BEFORE)}
    return column_values(list(model.columns), with_numbers(features, {SLOPE: size, **today}))


def predict_phase(model: PhaseModel, features: Features, quantity: Numbers) -> tuple[Numbers, Numbers]:
    """Mean hours of the phase and the variance of their log from doubt in the effects, x'Vx.

    in:     openings for which the phase can be
    out:    hours per opening; variance per opening, log units
    """
    X = phase_columns(model, features, quantity)
    return np.exp(X @ model.effects) * model.smearing, leverage(X, model.V)


@dataclass(frozen=True)
class _Rows:
    """The openings one phase is learned from, and all those it can be predicted for."""

    phase: str
    can: NDArray[np.bool_]
    use: NDArray[np.bool_]
    features: Features
    quantity: Numbers
    w0: Numbers
    y: Numbers
    typical_quantity: float


def _rows_of(phase: str, data: Finished, features: Features) -> _Rows:
    can = data.possible[phase]
    hours = data.hours[phase]
    use = can & data.split & (hours > 0)
    quantity = data.quantity[phase]
    m = data.openings_in_job[use]
    known = quantity[use]
    return _Rows(
        phase=phase,
        can=can,
        use=use,
        features=features,
        quantity=quantity,
        w0=1 / m if phase in JOB_LEVEL_PHASES else 1 / (1 + (m - 1) * SHARED_NOISE),
        y=np.log(hours[use]),
        typical_quantity=_typical(known, ROUGH_QUANTITIES[phase]),
    )


def _typical(quantities: Numbers, usual: float) -> float:
    above = quantities[quantities > 0]
    return float(np.median(above)) if len(above) else usual


def fit_phase(phase: str, data: Finished, features: Features, *, rates: Mapping[str, float]) -> FittedPhase:
    """The model of one phase, with a step change in it where the records show one.

    in:     phase; the finished openings and their features; starter rates
    out:    FittedPhase; left_out_mean and leverage have one value per opening, 0 where the phase cannot be
    source: simulation study, fresh seeds
    """
    rows = _rows_of(phase, data, features)
    columns = lean_on(columns_of(PHASE_GROUPS[phase], levels=LEVELS), phase, rates)
    columns = rate_columns(phase, rows.typical_quantity, rates) + columns
    share = _choose_setup_share(rows, columns)
    fitted = _fit_columns(rows, columns, share, data.folds)
    change = find_change(_left_out_error(rows, data, fitted), data.job[rows.use], data.day[rows.use])
    if change is None or not change.sure:  # a possible change is told, not applied
        return replace(fitted, model=replace(fitted.model, change=change))
    number = f"{BEFORE}{change.since}"
    columns = [*columns, Column(CHANGE, "", "", number, CHANGE_SD, fixed=True)]
    before = {number: np.where(data.day < change.day, -1.0, 0.0)}
    changed = _Rows(**{**vars(rows), "features": with_numbers(features, before)})
    return _fit_columns(changed, columns, share, data.folds, change)


def _left_out_error(rows: _Rows, data: Finished, fitted: FittedPhase) -> Numbers:
    error = rows.y - np.log(fitted.left_out_mean[rows.use])
    return clipped(error - np.median(error) if len(error) else error, fitted.model.noise_sd)


def _choose_setup_share(rows: _Rows, columns: list[Column]) -> float:
    """The allowance with the largest evidence, times its prior; measured on a part of a large book."""
    used = np.flatnonzero(rows.use)
    if len(used) < ROWS_TO_CHOOSE:
        return SETUP_PRIOR_CENTRE
    step = -(-len(used) // ROWS_TO_CHOOSE_BY)
    part = np.arange(0, len(used), step)
    X = _matrix(rows, columns, 1.0, used[part])
    with_size = [j for j, column in enumerate(columns) if column.number == SLOPE]

    def score(share: float) -> float:
        size = relative_size(rows.quantity[used[part]], rows.typical_quantity, share)
        for j in with_size:
            X[:, j] = size * _counts(columns[j], rows.features, used[part])
        fit = fit_pooled(design_of(columns, X), rows.y[part], rows.w0[part], CHOOSING)
        return fit.evidence * step + _setup_prior(share)

    return _climb(_allowed_shares(rows.quantity[rows.use]), score)


def _climb(shares: tuple[float, ...], score: Callable[[float], float]) -> float:
    """The best of ordered shares whose score rises to one top: uphill from the usual one."""
    scores: dict[int, float] = {}

    def at(place: int) -> float:
        if place not in scores:
            scores[place] = score(shares[place]) if 0 <= place < len(shares) else -np.inf
        return scores[place]

    place = shares.index(SETUP_PRIOR_CENTRE)
    while max(at(place - 1), at(place + 1)) > at(place):
        place += 1 if at(place + 1) >= at(place - 1) else -1
    return shares[place]


def _counts(column: Column, features: Features, index: NDArray[np.int64]) -> Numbers | float:
    return (features.words[column.word][index] == column.level).astype(float) if column.word else 1.0


def _allowed_shares(quantities: Numbers) -> tuple[float, ...]:
    return SETUP_SHARES[1:] if (quantities <= 0).any() else SETUP_SHARES


def _setup_prior(share: float) -> float:
    off = np.log(share + SETUP_PRIOR_SHIFT) - np.log(SETUP_PRIOR_CENTRE)
    return float(-0.5 * (off / SETUP_PRIOR_SD) ** 2)


def _matrix(rows: _Rows, columns: list[Column], share: float, index: NDArray[np.int64]) -> Numbers:
    size = relative_size(rows.quantity[index], rows.typical_quantity, share)
    words = {name: values[index] for name, values in rows.features.words.items()}
    numbers = {name: values[index] for name, values in rows.features.numbers.items()}
    return column_values(columns, Features(words, {**numbers, SLOPE: size}))


def _fit_columns(
    rows: _Rows, columns: list[Column], share: float, folds: NDArray[np.int64], change: Change | None = None
) -> FittedPhase:
    can = np.flatnonzero(rows.can)
    X = _matrix(rows, columns, share, can)
    used = rows.use[can]
    design = design_of(columns, X[used])
    fit = fit_pooled(design, rows.y, rows.w0, BELIEFS)
    smear = smearing(fit)
    effects = left_out_effects(design, rows.y, fit, folds[rows.use])
    everywhere = Design(X, design.group, design.sd0, design.prior)
    mean, doubt = np.zeros(len(rows.can)), np.zeros(len(rows.can))
    mean[can] = np.exp(left_out_fit(everywhere, _for_every_fold(effects, fit, folds), folds[can])) * smear
    doubt[can] = leverage(X, fit.V)
    model = PhaseModel(
        phase=rows.phase,
        columns=tuple(columns),
        effects=fit.beta,
        V=fit.V,
        rows_with=(design.X != 0).sum(axis=0),
        typical_quantity=rows.typical_quantity,
        setup_share=share,
        smearing=smear,
        noise_sd=_noise_sd(fit),
        rows=int(used.sum()),
        change=change,
    )
    return FittedPhase(model, mean, doubt)


def _for_every_fold(effects: Numbers, fit: PooledFit, folds: NDArray[np.int64]) -> Numbers:
    """A fold without rows of this phase left nothing out: its effects are the full ones."""
    missing = int(folds.max(initial=0)) + 1 - len(effects)
    return np.vstack([effects, np.tile(fit.beta, (missing, 1))])


def _noise_sd(fit: PooledFit) -> float:
    """Root mean square of the clipped residuals, allowing for the columns used."""
    n = len(fit.residuals)
    left = max(n - fit.effective_columns, 0.3 * n)
    squares = float(np.sum(clipped(fit.residuals, fit.noise_sd) ** 2))
    return float(np.sqrt((squares + BELIEFS.noise_rows * BELIEFS.noise_sd**2) / (left + BELIEFS.noise_rows)))
