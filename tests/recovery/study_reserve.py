"""Reserve and crews on invented firms whose truth is known: bias, error, coverage, alarms, against the targets."""

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from pipeline.callbacks.crews import crew_lines
from pipeline.callbacks.history import history_of
from pipeline.callbacks.reserve import fitted_model, remaining
from pipeline.callbacks.reserve_range import doubt_of, simulated_costs
from tests.recovery.reserve_world import Physics, make_world

FIRST_SEED = 50_000  # the model was built on seeds below 10,000
SIZES = ((400, 60), (1000, 40), (4000, 40), (20_000, 6))
CREW_SIZES = ((400, 60), (1000, 40), (4000, 20))
FIRST = Physics()
SECOND = Physics(hump_days=240.0, wet_year_sd=0.15, heavy_tail=True, log_sd=0.6, inflation=0.03, fix_fails=0.12)
BAD_CREW = replace(FIRST, crew_factors=(2.5, 1.0, 1.0, 1.0))
TARGETS = {
    400: ("within 15 %", "0.30", "0.75–1"),
    1000: ("within 15 %", "0.22", "0.75–0.95"),
    4000: ("within 8 %", "0.16", "0.75–0.95"),
    20_000: ("within 5 %", "–", "–"),
}
CREW_TARGETS = {400: ("≤ 0.17 / 0", "0.3"), 1000: ("≤ 0.08 / 0", "0.75"), 4000: ("≤ 0.10 / 0", "1.0")}


def reserve_run(seed, openings, physics):
    """One firm: what the reserve said, what was to be expected, what came."""
    world = make_world(seed, openings, physics)
    started = time.perf_counter()
    history = history_of(world.openings, world.visits, world.as_of)
    model = fitted_model(history)
    ahead = remaining(history, model)
    draws = simulated_costs(ahead, model, doubt_of(history, model))
    seconds = time.perf_counter() - started
    low_80, high_80, low_95, high_95 = np.quantile(draws, (0.1, 0.9, 0.025, 0.975))
    said, true, came = float(ahead.cost.sum()), world.expected_cost, world.realised_cost
    return {
        "bias": said / true - 1,
        "visit bias": float(ahead.visits.sum()) / world.expected_visits - 1,
        "error": abs(said - came) / came,
        "error of the truth": abs(true - came) / came,
        "covered 80": low_80 <= came <= high_80,
        "covered 95": low_95 <= came <= high_95,
        "width 80": (high_80 - low_80) / said,
        "events": world.first_events,
        "to come": world.realised_visits,
        "seconds": seconds,
    }


def crew_run(seed, openings, physics):
    """One firm: level of the first crew, and share of the others on watch or act."""
    world = make_world(seed, openings, physics)
    lines = crew_lines(world.openings, history_of(world.openings, world.visits, world.as_of))
    others = [line.level for line in lines[1:]]
    return {
        "first watched": lines[0].level is not None,
        "watch": np.mean([level == "watch" for level in others]),
        "act": np.mean([level == "act" for level in others]),
    }


def averages(runs):
    """Mean and two standard errors of every figure."""
    columns = {name: np.array([float(run[name]) for run in runs]) for name in runs[0]}
    return {name: (float(x.mean()), 2 * float(x.std(ddof=1)) / len(x) ** 0.5) for name, x in columns.items()}


def many(function, openings, seeds, physics):
    """The runs of one size, on two processes."""
    with ProcessPoolExecutor(2) as pool:
        asked = [pool.submit(function, FIRST_SEED + seed, openings, physics) for seed in range(seeds)]
        return averages([one.result() for one in asked])


def shown(pair, digits=2):
    return f"{pair[0]:.{digits}f} ± {pair[1]:.{digits}f}"


def reserve_table(name, physics, sizes):
    """A markdown table of one physics."""
    print(f"\n### Reserve, {name}\n")
    print(
        "| openings | seeds | first events | visits to come | bias to expectation (target) "
        "| error to realised (target) "
        "| error of the true expectation | covered 80 % (target) | covered 95 % | width 80 ÷ reserve |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|")
    for openings, seeds in sizes:
        found = many(reserve_run, openings, seeds, physics)
        bias, error, cover = TARGETS[openings]
        print(
            f"| {openings} | {seeds} | {found['events'][0]:.0f} | {found['to come'][0]:.0f} "
            f"| {shown(found['bias'], 3)} ({bias}) | {shown(found['error'])} ({error}) "
            f"| {shown(found['error of the truth'])} "
            f"| {shown(found['covered 80'])} ({cover}) | {shown(found['covered 95'])} | {found['width 80'][0]:.2f} |",
            flush=True,
        )


def crew_table():
    """Alarms for ordinary crews, and how often a crew of 2.5 times the rate is found."""
    print("\n### Crews\n")
    print(
        "| openings | seeds | ordinary crew: watch / act (target) | crew of 2.5 times: found (target) "
        "| ordinary crews beside it: watch / act |"
    )
    print("|---|---|---|---|---|")
    for openings, seeds in CREW_SIZES:
        null, bad = many(crew_run, openings, seeds, FIRST), many(crew_run, openings, seeds, BAD_CREW)
        alarm, power = CREW_TARGETS[openings]
        print(
            f"| {openings} | {seeds} | {shown(null['watch'])} / {shown(null['act'], 3)} ({alarm}) "
            f"| {shown(bad['first watched'])} ({power}) | {shown(bad['watch'])} / {shown(bad['act'], 3)} |",
            flush=True,
        )


def main():
    """Print the tables; the seeds were not used to build the model."""
    print(
        "## Reserve and crews\n\nMeans over seeds ± 2 standard errors. The error of the true expectation is what an "
        "all-knowing reserve would miss: luck alone."
    )
    reserve_table("first physics", FIRST, SIZES)
    reserve_table("second physics: a hump, a heavy tail, rising prices", SECOND, SIZES[:3])
    crew_table()


if __name__ == "__main__":
    main()
