"""The callbacks half of `make study`: patterns, thresholds and two-year risk on invented firms with planted truths.

Run: python tests/recovery/study_callbacks.py [first seed] [sizes ...]. Seeds from 910,000 on: not used while building.
"""

import os
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(threads, "1")  # before numpy counts them
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np  # noqa: E402

from pipeline.callbacks.calibration import compared, folds, held_out_chances, held_out_quotes  # noqa: E402
from pipeline.callbacks.catalogue import Ready, ready_patterns  # noqa: E402
from pipeline.callbacks.design import facts_of  # noqa: E402
from pipeline.callbacks.exposure import at_risk, first_of_any  # noqa: E402
from pipeline.callbacks.forecast import (  # noqa: E402
    LEAST_EVENTS,
    clocks_of,
    forecast_models,
    probabilities,
    with_adjusters,
)
from pipeline.callbacks.patterns import Findings, find_patterns  # noqa: E402
from pipeline.callbacks.revisit import remaining_risk  # noqa: E402
from pipeline.callbacks.threshold import Threshold, find_threshold, held_patterns  # noqa: E402
from tests.recovery.callback_files import through_the_command_line  # noqa: E402
from tests.recovery.callback_world import (  # noqa: E402
    AGE_EDGES,
    AGE_SHAPE,
    AS_OF,
    PAIRS,
    World,
    counted_visits,
    make_world,
)
from tests.recovery.study_verdict import CERTAIN, FEWEST_FIRMS, bounds, mean_and_error, verdict  # noqa: E402

FIRST_SEED = 960_000  # seeds from 70,000 on and from 910,000 to 945,200 have been looked at
WORKERS = 2
NULL_SHIFT = 5_000
SEEDS = {400: 60, 1_000: 80, 4_000: 24, 20_000: 4}
NULL_SEEDS = {400: 200, 1_000: 200, 4_000: 50, 20_000: 0}
FEWEST_NULLS = {400: 200, 1_000: 200, 4_000: 50}
FEWEST = {20_000: 4}
NULL_FIGURES = ("complete-null books with a flag", "threshold declared, none there")
BIG_RATIO = 2.5
HORIZON_DAYS = 730.0
TORQUE = ("fit", "anchor_torque_max_lbft")
TARGETS = {
    "power, all true": {400: ">= 0.05", 1_000: ">= 0.22", 4_000: ">= 0.68", 20_000: ">= 0.90"},
    "power, ratio >= 2.5": {400: ">= 0.08", 1_000: ">= 0.33", 4_000: ">= 0.92", 20_000: "1.0"},
    "false share": {400: "<= 0.10", 1_000: "<= 0.10", 4_000: "<= 0.10", 20_000: "<= 0.08"},
    "log ratio bias of flagged": {400: "within 0.2", 1_000: "within 0.1", 4_000: "within 0.12", 20_000: "within 0.12"},
    "coverage of its 95 % range": {400: "0.95", 1_000: "0.95", 4_000: "0.93", 20_000: "0.90"},
    "complete-null books with a flag": {400: "<= 0.12", 1_000: "<= 0.12", 4_000: "<= 0.12", 20_000: "<= 0.12"},
    "threshold declared": {400: "refuse", 1_000: ">= 0.35", 4_000: ">= 0.55", 20_000: "1.0"},
    "threshold error when declared [lbft]": {1_000: "<= 1.4", 4_000: "<= 1.0", 20_000: "<= 0.4"},
    "threshold in its range": {1_000: "0.90", 4_000: "0.92", 20_000: "0.95"},
    "threshold declared, none there": {400: "<= 0.05", 1_000: "<= 0.05", 4_000: "<= 0.05", 20_000: "<= 0.05"},
    "two years: observed / expected": {400: "0.7-1.5", 1_000: "0.8-1.25", 4_000: "0.9-1.15", 20_000: "0.85-1.15"},
    "quotes, held out: observed / expected": {
        400: "0.7-1.5", 1_000: "0.8-1.25", 4_000: "0.9-1.15", 20_000: "0.85-1.15",
    },
    "rest of the warranty: observed / expected": {
        400: "0.7-1.5", 1_000: "0.8-1.25", 4_000: "0.9-1.15", 20_000: "0.85-1.15",
    },
    "two years: slope": {1_000: "0.7-1.2", 4_000: "0.8-1.2", 20_000: "0.85-1.15"},
    "two years: C, any complaint": {},
    "two years: C of the true chances": {},
    "two years: C, mean of causes with 15 events": {1_000: ">= 0.62", 4_000: ">= 0.67", 20_000: ">= 0.68"},
    "two years: C of the true chances, mean of causes": {},
    "held out: slope": {},
    "held out: C, any complaint": {},
    "two years: excess": {400: "<= 1.1", 1_000: "<= 0.95", 4_000: "<= 0.65", 20_000: "<= 0.40"},
}


@dataclass(frozen=True)
class Case:
    """One invented firm, searched."""

    world: World
    patterns: list[Ready]
    found: Findings
    threshold: Threshold


class Flag(NamedTuple):
    """A flagged pair with its hazard ratio and range."""

    pair: tuple[str, str]
    ratio: float
    low: float
    high: float


def case(openings: int, seed: int, *, null: bool = False) -> Case:
    """Draw a firm and search its records."""
    world = make_world(openings, seed, null=null)
    as_of = AS_OF.astype(object)
    population = at_risk(world.jobs, world.facts, counted_visits(world), as_of)
    patterns = ready_patterns(world.limits, facts_of(population), population.height)
    found = find_patterns(population, patterns)
    cause, reading = TORQUE
    held = held_patterns(found.study, cause, reading)
    return Case(world, patterns, found, find_threshold(found.study, cause, reading, held))


def detection(one: Case) -> dict[str, float]:
    """Power, false share, bias and coverage of the ratios flagged on frames."""
    flagged = [f for f in one.found.findings if f.flagged]
    flags = [Flag((f.pattern, f.cause), f.ratio, f.low, f.high) for f in flagged]
    return flag_figures(flags, one.world.ratios)


def detection_by_command(answer: dict[str, Any], world: World) -> dict[str, float]:
    """The same from the JSON document of `areaway patterns`."""
    flagged = [row for row in answer["patterns"] if row["flagged"]]
    flags = [Flag((row["pattern"], row["cause"]), row["hazard_ratio"], row["low"], row["high"]) for row in flagged]
    return flag_figures(flags, world.ratios)


def flag_figures(flags: list[Flag], ratios: dict[tuple[str, str], float]) -> dict[str, float]:
    """Power, false share, bias and coverage of flagged ratios against the planted ones."""
    true = [flag for flag in flags if ratios.get(flag.pair, 1.0) > 1]
    big = [pair for pair in PAIRS if ratios[pair] >= BIG_RATIO]
    hits = {flag.pair for flag in true}
    logs = [np.log(ratios[flag.pair]) for flag in true]
    errors = [np.log(flag.ratio) - log for flag, log in zip(true, logs, strict=True)]
    inside = [np.log(flag.low) <= log <= np.log(flag.high) for flag, log in zip(true, logs, strict=True)]
    return {
        "power, all true": len(true) / len(PAIRS),
        "power, ratio >= 2.5": sum(pair in hits for pair in big) / len(big),
        "false share": (len(flags) - len(true)) / max(len(flags), 1),
        "log ratio bias of flagged": float(np.mean(errors)) if errors else np.nan,
        "coverage of its 95 % range": float(np.mean(inside)) if inside else np.nan,
    }


def placed(search: dict[str, Any], truth: float) -> dict[str, float]:
    """Whether `areaway patterns` declares a torque threshold, how far off, and whether its range holds it."""
    if search["threshold"] is None:
        return {"threshold declared": 0.0}
    return {
        "threshold declared": 1.0,
        "threshold error when declared [lbft]": abs(search["threshold"] - truth),
        "threshold in its range": float(search["low"] <= truth <= search["high"]),
    }


def two_years(one: Case) -> dict[str, float]:
    """Two-year chances against the planted chances: the level, the slope, the order, the distance.

    C: chance that of two openings the one called back had the higher figure, callbacks falling by the planted chances
    """
    chances, truth = _chances(one), _true_chances(one)
    chance, true = _any(chances), _any(truth)
    population = one.found.study.population
    held_out, quoted = (_any(of(population, one.patterns, HORIZON_DAYS)) for of in (held_out_chances, held_out_quotes))
    days, kind = first_of_any(population)
    against = compared(held_out, days, kind > 0, HORIZON_DAYS, fold=folds(population))
    causes = [cause for cause, time in one.found.study.clocks.items() if time.events >= LEAST_EVENTS]
    per_cause = [(_c_by_chance(chances[c], truth[c]), _c_by_chance(truth[c], truth[c])) for c in causes]
    own, best = np.mean(per_cause, axis=0) if causes else (np.nan, np.nan)
    return {
        "two years: observed / expected": true.sum() / chance.sum(),
        "quotes, held out: observed / expected": true.sum() / quoted.sum(),
        "rest of the warranty: observed / expected": _rest_of_the_warranty(one),
        "two years: slope": _slope_on(chance, true),
        "two years: C, any complaint": _c_by_chance(chance, true),
        "two years: C of the true chances": _c_by_chance(true, true),
        "two years: C, mean of causes with 15 events": float(own),
        "two years: C of the true chances, mean of causes": float(best),
        "two years: excess": float(np.mean((chance - true) ** 2) / np.var(true)),
        "held out: slope": against.slope,
        "held out: C, any complaint": against.c_index,
    }


def _rest_of_the_warranty(one: Case) -> float:
    """Planted chances of a call between today and the end of the warranty over those the visit list gives."""
    population = one.found.study.population
    said = _any(remaining_risk(population, one.patterns, None).chances)
    age, end = (population[name].to_numpy()[:, None] for name in ("age_days", "warranty_days"))
    edges = np.asarray(AGE_EDGES)
    years = np.clip(np.minimum(edges[1:], end) - np.maximum(edges[:-1], age), 0, None) / 365.25
    rates = _of_population(one, one.world.yearly_rate)
    due = {cause: 1 - np.exp(-rate * (years @ AGE_SHAPE)) for cause, rate in rates.items()}
    return float(_any(due).sum() / said.sum())


def _chances(one: Case) -> dict[str, np.ndarray]:
    """Chance of each complaint within two years, as `revisit` would give it on the day of completion."""
    study = one.found.study
    features, adjusters = with_adjusters(study.population, study.filled)
    models = forecast_models(features, adjusters.penalty, clocks_of(study.population))
    rows = study.population.height
    return probabilities(models, features, np.zeros(rows), np.full(rows, HORIZON_DAYS))


def _slope_on(chance: np.ndarray, true: np.ndarray) -> float:
    """Slope of the planted log-log on the predicted one; nan where all predictions are one."""
    score, aim = (np.log(-np.log1p(-values)) for values in (chance, true))
    return float(np.polyfit(score, aim, 1)[0]) if np.ptp(score) > 1e-6 else np.nan


def _c_by_chance(chance: np.ndarray, true: np.ndarray) -> float:
    """C expected over callbacks that fall by the planted chances; ties count half."""
    order = np.argsort(chance, kind="stable")
    ranked, case_weight, other = chance[order], true[order], 1 - true[order]
    below = np.concatenate([[0.0], np.cumsum(other)])
    first, last = (np.searchsorted(ranked, ranked, side=side) for side in ("left", "right"))
    return float(case_weight @ (below[first] + below[last]) / 2 / (case_weight.sum() * other.sum()))


def _any(chances: dict[str, np.ndarray]) -> np.ndarray:
    return 1 - np.prod([1 - values for values in chances.values()], axis=0)


def _true_chances(one: Case) -> dict[str, np.ndarray]:
    return _of_population(one, one.world.two_years)


def _of_population(one: Case, truth: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """What is true of the openings searched, in their order."""
    place = {name: i for i, name in enumerate(one.world.facts["opening_id"].to_list())}
    rows = [place[name] for name in one.found.study.population["opening_id"].to_list()]
    return {cause: values[rows] for cause, values in truth.items()}


def null_case(openings: int, seed: int) -> dict[str, float]:
    """A firm where no pattern does anything, from its files through the command line."""
    world = make_world(openings, seed + NULL_SHIFT, null=True)
    with TemporaryDirectory() as folder:
        answer = through_the_command_line(world, Path(folder) / "firm", "patterns")
    return {
        "complete-null books with a flag": float(any(row["flagged"] for row in answer["patterns"])),
        "threshold declared, none there": float(answer["thresholds"][0]["threshold"] is not None),
    }


def full_case(openings: int, seed: int) -> dict[str, float]:
    """All figures of one firm with planted patterns: found by command; two-year chances on frames."""
    one = case(openings, seed)
    with TemporaryDirectory() as folder:
        answer = through_the_command_line(one.world, Path(folder) / "firm", "patterns")
    events = {"events": float(sum(time.events for time in one.found.study.clocks.values()))}
    found = detection_by_command(answer, one.world)
    return {**events, **found, **placed(answer["thresholds"][0], one.world.torque_limit_lbft), **two_years(one)}


def gathered(
    run: Callable[[int, int], dict[str, float]], openings: int, seeds: Sequence[int]
) -> dict[str, list[float]]:
    """Figures of many seeds by name; what does not apply to a seed is left out."""
    figures: dict[str, list[float]] = {}
    with ProcessPoolExecutor(WORKERS) as pool:
        for found in pool.map(run, [openings] * len(seeds), seeds):
            for name, value in found.items():
                if np.isfinite(value):
                    figures.setdefault(name, []).append(value)
    return figures


def shown(values: list[float]) -> str:
    """Mean, two standard errors, number of firms."""
    mean, error = mean_and_error(values)
    return f"{mean:.3f} ± {error:.3f} ({len(values)})"


def main(first_seed: int, sizes: Sequence[int]) -> None:
    """Print the table."""
    results = {}
    for size in sizes:
        print(f"… callbacks, {size} openings", file=sys.stderr, flush=True)
        figures = gathered(full_case, size, range(first_seed, first_seed + SEEDS[size]))
        figures |= gathered(null_case, size, range(first_seed, first_seed + NULL_SEEDS[size]))
        results[size] = figures
    print(table(results, f"Seeds from {first_seed:,}, null books from {first_seed + NULL_SHIFT:,}."))


def table(results: dict[int, dict[str, list[float]]], seeds: str) -> str:
    """The section of the page: one row per figure, one column per size; `seeds` says which firms were drawn."""
    lines = [
        "## Callbacks",
        "",
        f"{seeds} Mean ± 2 standard errors (firms that give the figure), target below. Flags, ratios, thresholds are "
        "the answers of `areaway patterns` over files taken in by `areaway ingest`. The two-year and held-out chances "
        "are the same functions on frames: no command gives the chance of an opening from its first day on. "
        f"{CERTAIN}",
        "",
        "| figure | " + " | ".join(f"{size:,} openings" for size in results) + " |",
        "|---" * (len(results) + 1) + "|",
    ]
    for name in ["events", *TARGETS]:
        cells = [shown(figures[name]) if name in figures else "–" for figures in results.values()]
        aims = [TARGETS.get(name, {}).get(size, "") for size in results]
        asked = FEWEST_NULLS if name in NULL_FIGURES else FEWEST
        least = [asked.get(size, FEWEST_FIRMS) for size in results]
        values = [figures.get(name) for figures in results.values()]
        told = [_judged(*each) for each in zip(cells, aims, values, least, strict=True)]
        lines.append(f"| {name} | " + " | ".join(told) + " |")
    return "\n".join(lines)


def _judged(cell: str, aim: str, values: list[float] | None, fewest: int) -> str:
    """A figure, its target and the verdict."""
    if not aim:
        return cell
    if not values or aim == "refuse":
        return f"{cell}<br>{aim}"
    mean, error = mean_and_error(values)
    return f"{cell}<br>{aim}: {verdict((mean, error), bounds(aim), len(values), fewest)}"


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(given[0] if given else FIRST_SEED, given[1:] or list(SEEDS))
