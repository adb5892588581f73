"""The labour and material tables of `make study`: invented firms through the command line, rivals beside them.

Run alone: python tests/recovery/study_labour.py [JOBS:SEEDS ...]
"""

import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(threads, "1")
sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.recovery.labour_trial import Trial, run_trial  # noqa: E402
from tests.recovery.study_figures import Figure, labour_figures, material_figures, shift_figures  # noqa: E402

FIRST_SEED = 9_000  # the seeds that the models were built on are all below 6,000
PLAN = {60: 20, 150: 20, 400: 8, 1500: 3, 10_000: 3}
SHIFT_PLAN = {400: 8, 1500: 3}
OTHER_PHYSICS_PLAN = {60: 20, 150: 20, 400: 8, 1500: 3}
WORKERS = 2
HEAD = "| figure | " + " | ".join(("jobs", "mean ± 2 se", "target", "met")) + " |\n|---|---|---|---|---|"


def trials(plan: dict[int, int], *, physics: str = "rates", new_saw: float | None = None, seed: int) -> list[Trial]:
    """One trial per size and seed."""
    return [
        Trial(jobs=jobs, seed=seed + 100 * at + number, physics=physics, new_saw_share=new_saw)
        for at, (jobs, seeds) in enumerate(plan.items())
        for number in range(seeds)
    ]


def measured(work: list[Trial]) -> dict[int, list[dict[str, float]]]:
    """Results per size; two trials at a time."""
    by_size: dict[int, list[dict[str, float]]] = {}
    with ProcessPoolExecutor(WORKERS) as pool:
        for trial, result in zip(work, pool.map(run_trial, work), strict=True):
            by_size.setdefault(trial.jobs, []).append(result)
            print(f"  {trial.jobs} jobs, seed {trial.seed}", file=sys.stderr, flush=True)
    return by_size


def table(figures: list[Figure]) -> str:
    """Figures as rows of markdown."""
    rows = [
        f"| {f.name} | {f.jobs} ({f.seeds} seeds) | {f.mean:.3f} ± {f.two_se:.3f} | {f.target} | {f.verdict} |"
        for f in figures
    ]
    return "\n".join([HEAD, *rows])


def main(arguments: list[str]) -> None:
    """Print the tables."""
    asked = {int(jobs): int(seeds) for jobs, seeds in (each.split(":") for each in arguments)}
    plan, other = asked or PLAN, asked or OTHER_PHYSICS_PLAN
    shift = {jobs: seeds for jobs, seeds in (asked or SHIFT_PLAN).items() if jobs in SHIFT_PLAN}
    print("## Labour and materials\n")
    print("A row is met when its target lies within mean ± 2 se, or the mean is better. Errors and coverage are")
    print("of the openings that get an estimate; those refused as outside the firm's experience are counted apart.\n")
    ordinary = measured(trials(plan, seed=FIRST_SEED))
    print(table([figure for jobs, rows in ordinary.items() for figure in labour_figures(jobs, rows)]), "\n")
    print("### Materials\n")
    print(table([figure for jobs, rows in ordinary.items() for figure in material_figures(jobs, rows)]), "\n")
    print("### Another physics: power laws, interactions, crew by wall, a depth effect the model has no column for\n")
    powers = measured(trials(other, physics="powers", seed=FIRST_SEED + 1_000))
    print(table([figure for jobs, rows in powers.items() for figure in labour_figures(jobs, rows, other=True)]), "\n")
    if shift:
        print("### A new saw after 60 % of the jobs: cutting takes 20 % less\n")
        shifted = measured(trials(shift, new_saw=0.6, seed=FIRST_SEED + 2_000))
        print(table([figure for jobs, rows in shifted.items() for figure in shift_figures(jobs, rows)]))


if __name__ == "__main__":
    main(sys.argv[1:])
