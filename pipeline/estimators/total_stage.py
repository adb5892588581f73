"""The total's own correction: what crew, wall and mix add to or take off the sum of the phases."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.design import (
    LEVELS,
    Column,
    Features,
    Group,
    column_as_plain,
    column_from_plain,
    column_values,
    columns_of,
    design_of,
    may_meet,
    with_numbers,
)
from pipeline.estimators.phase_model import FittedPhase
from pipeline.estimators.pooled import (
    Beliefs,
    Design,
    PooledFit,
    as_plain,
    fit_pooled,
    left_out_effects,
    left_out_fit,
    leverage,
)
from pipeline.estimators.records import Finished
from pipeline.takeoff.openings import Numbers

# Simulation study, fresh seeds.
PRIOR_SCALE = 0.7
WINSOR_SD = 3.5
BEYOND_LOW, BEYOND_HIGH = 0.6, 1.3  # past these multiples of the limits an entry is mis-keyed, not unusual
LEVEL_SD = 0.3
BELIEFS = Beliefs(noise_sd=0.2, noise_rows=2.0)  # of the log total
SHARED_NOISE = 0.5
SHARE_PHASES = ("excavation", "wall_cutting", "well_setting")
USUALLY_RECORDED = 0.8  # a phase recorded less often than this may well have taken no hours; house rule
LEAST_TOTAL_HOURS = 1e-6
# Of an ordinary opening, used only before any is finished. Common practice, no source.
ROUGH_CENTRES = {
    "log_total": float(np.log(30.0)),
    "share excavation": 0.25,
    "share wall_cutting": 0.2,
    "share well_setting": 0.1,
}
GROUPS = (
    Group("wall", 0.04 * PRIOR_SCALE, "wall_type"),
    Group("crew", 0.07 * PRIOR_SCALE, "crew"),
    Group("size of the work", 0.04 * PRIOR_SCALE, numbers=("log_total",)),
    Group("openings in the job", 0.04 * PRIOR_SCALE, numbers=("log_m",)),
    Group("mix of the work", 0.08 * PRIOR_SCALE, numbers=tuple(f"share {phase}" for phase in SHARE_PHASES)),
    Group("crew on wall", 0.02 * PRIOR_SCALE, "crew_and_wall"),
)


@dataclass(frozen=True)
class TotalModel:
    """What is stored of the correction: effects, covariance, centres of its numbers, spread of unknown crews."""

    columns: tuple[Column, ...]
    effects: Numbers
    V: Numbers
    rows_with: NDArray[np.int64]
    centres: dict[str, float]
    unknown_crew_variance: float

    def as_plain(self) -> dict[str, Any]:
        """The model as JSON-able values."""
        return {
            "columns": [column_as_plain(column) for column in self.columns],
            "effects": as_plain(self.effects),
            "V": _by_pair(self.V, may_meet(self.columns)),
            "rows_with": self.rows_with.tolist(),
            "centres": self.centres,
            "unknown_crew_variance": self.unknown_crew_variance,
        }

    @property
    def crews(self) -> tuple[str, ...]:
        """The crews whose pace is known."""
        return tuple(column.level for column in self.columns if column.word == "crew")


def total_from_plain(body: Mapping[str, Any]) -> TotalModel:
    """The model that as_plain wrote."""
    return TotalModel(
        columns=tuple(column_from_plain(column) for column in body["columns"]),
        effects=np.array(body["effects"]),
        V=_whole(body["V"]),
        rows_with=np.array(body["rows_with"]),
        centres=dict(body["centres"]),
        unknown_crew_variance=body["unknown_crew_variance"],
    )


def _by_pair(V: Numbers, meet: NDArray[np.bool_]) -> list[dict[str, float]]:
    """Covariances of each column with itself and later ones; pairs that no opening can have are left out.

    With a column per crew and wall the whole square would be most of the book and of the estimator's page.
    """
    return [
        {str(other): float(V[at, other]) for other in np.flatnonzero(meet[at]) if other >= at} for at in range(len(V))
    ]


def _whole(stored: Sequence[Mapping[str, float]] | Sequence[Sequence[float]]) -> Numbers:
    """The square of covariances, 0 for pairs left out; a book fitted earlier holds the square itself."""
    V = np.zeros((len(stored), len(stored)))
    for at, row in enumerate(stored):
        if not isinstance(row, Mapping):
            return np.array(stored, dtype=float)
        for other, both in row.items():
            V[at, int(other)] = V[int(other), at] = both
    return V


@dataclass(frozen=True)
class FittedTotal:
    """The correction with its left-out residuals: r = log(actual / left-out prediction) per opening."""

    model: TotalModel
    residual: Numbers
    leverage: Numbers
    adjusted_total: Numbers
    left_out_median: Numbers


def held_to_reason(data: Finished, phases: Mapping[str, FittedPhase]) -> Numbers:
    """Hours of each opening with every phase held near what others like it took. [h]

    in:     hours per phase; left-out means and noise of the phases
    out:    one total per opening: a phase beyond its limits is cut to them, one far beyond or not recorded is
            replaced by its mean; hours under no possible phase count where no phase is missing
    source: winsorising; simulation study, fresh seeds
    """
    total = np.zeros(len(data.job))
    complete = np.ones(len(data.job), dtype=bool)
    for phase, fitted in phases.items():
        mean, hours = fitted.left_out_mean, data.hours[phase]
        reach = np.exp(WINSOR_SD * fitted.model.noise_sd)
        low, high = mean / reach, mean * reach
        skipped = np.isnan(hours) & (data.recorded_share(phase) < USUALLY_RECORDED)
        missing = np.isnan(hours) | (hours < BEYOND_LOW * low) | (hours > BEYOND_HIGH * high)
        held = np.where(missing, mean, np.clip(hours, low, high))
        total += np.where(data.possible[phase] & ~skipped, held, 0.0)
        complete &= ~(data.possible[phase] & np.isnan(hours) & ~skipped)
    return np.where(data.split, total + np.where(complete, data.elsewhere, 0.0), data.total)


def mix_numbers(phase_means: Mapping[str, Numbers], centres: Mapping[str, float] | None = None) -> dict[str, Numbers]:
    """log of the summed phases and the shares of the big ones, less their training means where given."""
    total = np.maximum(sum(phase_means.values(), start=np.zeros(1)), LEAST_TOTAL_HOURS)
    raw = {"log_total": np.log(total)}
    raw |= {f"share {phase}": phase_means.get(phase, np.zeros(len(total))) / total for phase in SHARE_PHASES}
    if centres is None:
        return raw
    return {name: values - centres[name] for name, values in raw.items()}


def fit_total(data: Finished, features: Features, phases: Mapping[str, FittedPhase]) -> FittedTotal:
    """The correction, fitted on totals against the sum of left-out phase means.

    in:     finished openings, their features, the fitted phases
    out:    FittedTotal
    source: simulation study, fresh seeds
    """
    means = {phase: fitted.left_out_mean for phase, fitted in phases.items()}
    raw = mix_numbers(means)
    centres = {name: float(values.mean()) if len(values) else ROUGH_CENTRES[name] for name, values in raw.items()}
    features = with_numbers(features, mix_numbers(means, centres))
    columns = [Column("level", "", "", "one", LEVEL_SD, fixed=True)]
    columns += columns_of(GROUPS, levels={**LEVELS, **_seen(features)})
    actual = held_to_reason(data, phases)
    y = np.log(actual) - raw["log_total"]
    design = design_of(columns, column_values(columns, features))
    fit = fit_pooled(design, y, 1 / (1 + (data.openings_in_job - 1) * SHARED_NOISE), BELIEFS)
    effects = left_out_effects(design, y, fit, data.folds)
    left_out = _left_out(design, effects, fit, data)
    model = TotalModel(
        columns=tuple(columns),
        effects=fit.beta,
        V=(fit.V + fit.V.T) / 2,  # even to the last digit, as it is stored by pair
        rows_with=(design.X != 0).sum(axis=0),
        centres=centres,
        unknown_crew_variance=_unknown_crew_variance(columns, fit),
    )
    return FittedTotal(
        model=model,
        residual=y - left_out,
        leverage=leverage(design.X, fit.V),
        adjusted_total=actual,
        left_out_median=np.exp(raw["log_total"] + left_out),
    )


def _left_out(design: Design, effects: Numbers, fit: PooledFit, data: Finished) -> Numbers:
    folds = data.folds
    missing = int(folds.max(initial=0)) + 1 - len(effects)
    return left_out_fit(design, np.vstack([effects, np.tile(fit.beta, (missing, 1))]), folds)


def _seen(features: Features) -> dict[str, tuple[str, ...]]:
    return {
        word: tuple(str(level) for level in np.unique(features.words[word]) if level)
        for word in ("crew", "crew_and_wall")
    }


def _unknown_crew_variance(columns: list[Column], fit: PooledFit) -> float:
    spread = {column.group: float(sd) for column, sd in zip(columns, fit.sd, strict=True)}
    return spread.get("crew", GROUPS[1].sd0) ** 2 + spread.get("crew on wall", GROUPS[5].sd0) ** 2


def predict_total(
    model: TotalModel, features: Features, phase_means: Mapping[str, Numbers]
) -> tuple[Numbers, Numbers]:
    """log(median of the total / sum of the phase means), and its variance from doubt in the effects.

    in:     openings to be predicted; the phases' means
    out:    correction and variance per opening, log units
    """
    columns = list(model.columns)
    X = column_values(columns, with_numbers(features, mix_numbers(phase_means, model.centres)))
    return X @ model.effects, leverage(X, model.V)


def unknown_crew_doubt(model: TotalModel, features: Features) -> Numbers:
    """Variance to add for a crew not met before: the spread of crews, log units; 0 for a known one."""
    strange = ~np.isin(features.words["crew"], model.crews)
    return np.where(strange, model.unknown_crew_variance, 0.0)
