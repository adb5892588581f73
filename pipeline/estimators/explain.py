"""How a phase's hours are made up: quantity, rate and adjustments, each with its count and its doubt."""

from dataclasses import dataclass

import numpy as np

from pipeline.estimators.design import RATE, SLOPE, Features
from pipeline.estimators.phase_model import PhaseModel, phase_columns
from pipeline.estimators.total_stage import TotalModel
from pipeline.takeoff.openings import Numbers
from pipeline.takeoff.phases import JOB_LEVEL_PHASES, PHASE_UNITS

LEAST_FACTOR = 0.005  # an adjustment under half a percent is not worth a word; house rule
CREW_WORDS = ("crew", "crew_and_wall")


@dataclass(frozen=True)
class Factor:
    """One adjustment: what it is, the multiplier, its standard error on the log scale, openings it rests on."""

    name: str
    factor: float
    standard_error: float
    openings: int


@dataclass(frozen=True)
class Explanation:
    """hours = rate x (quantity + setup) x the factors, in the phase's unit; text says it in one line."""

    hours: float
    rate: float
    quantity: float
    setup: float
    unit: str
    openings: int
    factors: list[Factor]
    text: str


def explain_phase(
    fitted: PhaseModel, total: TotalModel, features: Features, quantity: Numbers, index: int, hours: float
) -> Explanation:
    """The make-up of one phase of one opening.

    in:     the phase and total models, features and quantities of all openings, which one, its mean hours
    out:    Explanation; rate x (quantity + setup) x product of factors = hours
    """
    one = Features(
        {name: values[index : index + 1] for name, values in features.words.items()},
        {name: values[index : index + 1] for name, values in features.numbers.items()},
    )
    q = float(quantity[index])
    factors = _phase_factors(fitted, one, quantity[index : index + 1])
    if fitted.phase not in JOB_LEVEL_PHASES:
        factors += _crew_factors(total, one)
    factors = [factor for factor in factors if abs(factor.factor - 1) >= LEAST_FACTOR]
    setup = fitted.setup_share * fitted.typical_quantity
    adjusted = float(np.prod([factor.factor for factor in factors])) if factors else 1.0
    rate = float(hours) / ((q + setup) * adjusted)
    return Explanation(
        hours=float(hours),
        rate=rate,
        quantity=q,
        setup=setup,
        unit=PHASE_UNITS[fitted.phase],
        openings=fitted.rows,
        factors=factors,
        text=_text(fitted.phase, float(hours), rate, q, setup, factors),
    )


def _phase_factors(fitted: PhaseModel, one: Features, quantity: Numbers) -> list[Factor]:
    x = phase_columns(fitted, one, quantity)[0]
    named: dict[str, list[int]] = {}
    for j, column in enumerate(fitted.columns):
        if x[j] and column.group not in (RATE, SLOPE):
            named.setdefault(column.level or column.group, []).append(j)
    return [_factor(name, j, x, fitted) for name, j in named.items()]


def _crew_factors(total: TotalModel, one: Features) -> list[Factor]:
    j = [
        j
        for j, column in enumerate(total.columns)
        if column.word in CREW_WORDS and str(one.words[column.word][0]) == column.level
    ]
    if not j:
        return []
    x = np.zeros(len(total.columns))
    x[j] = 1.0
    return [_factor(_crew_name(str(one.words["crew"][0])), j, x, total)]


def _crew_name(crew: str) -> str:
    return crew if crew.lower().startswith("crew") else f"crew {crew}"


def _factor(name: str, j: list[int], x: Numbers, model: PhaseModel | TotalModel) -> Factor:
    picked = x[j]
    variance = float(picked @ model.V[np.ix_(j, j)] @ picked)
    return Factor(
        name=name.replace("_", " "),
        factor=float(np.exp(picked @ model.effects[j])),
        standard_error=float(np.sqrt(max(variance, 0.0))),
        openings=int(model.rows_with[j[0]]),
    )


def _text(phase: str, hours: float, rate: float, quantity: float, setup: float, factors: list[Factor]) -> str:
    unit = PHASE_UNITS[phase]
    base = f"{quantity:.1f} {unit}" if not setup else f"({quantity:.1f} + {setup:.1f} set-up) {unit}"
    words = "".join(f" × {factor.name} {factor.factor:.2f}" for factor in factors)
    return f"{phase.replace('_', ' ')} {hours:.1f} h = {rate:.2f} h/{unit} × {base}{words}"
