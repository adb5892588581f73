"""How long fitting the hours model takes beside one plain least-squares fit of the same openings, in the same run.

    python tests/benchmarks/bench_fit.py [--jobs 150 1500 10000] [--rounds 5]

In process, imports apart; median CPU seconds. Floor: reading the same frames into arrays and one least-squares fit of
log hours on as many columns as the largest phase has. Aims on an idle machine: 1 s to 1,500 jobs, 6 s at 10,000.
"""

import argparse
import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: threads would only wait for one another
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from pipeline.estimators.hours import fit_finished
from pipeline.estimators.records import Finished, finished_openings
from tests.recovery.labour_world import Firm, World, make_firm

AIMS_S = {150: 1.0, 1500: 1.0, 10_000: 6.0}
COLUMNS = 35
SEED = 42


def cpu_seconds(work: Callable[[], object], rounds: int) -> float:
    """Median CPU time of one call."""
    taken = []
    for _ in range(rounds):
        started = time.process_time()
        work()
        taken.append(time.process_time() - started)
    return statistics.median(taken)


def read(firm: Firm) -> Finished:
    """Frames to arrays."""
    return finished_openings(firm.jobs, firm.openings, firm.labour)


def floor(firm: Firm) -> None:
    """The least any model of these records can take."""
    data = read(firm)
    X = np.random.default_rng(SEED).normal(size=(len(data.job), COLUMNS))
    np.linalg.lstsq(X, np.log(data.total), rcond=None)


def main() -> None:
    """Print one row per size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, nargs="*", default=list(AIMS_S))
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    print("| jobs | openings | floor cpu s | fit cpu s | x floor | aim s |\n|---|---|---|---|---|---|")
    for jobs in asked.jobs:
        firm = make_firm(World(jobs=jobs, seed=SEED))
        least = cpu_seconds(lambda firm=firm: floor(firm), asked.rounds)
        whole = cpu_seconds(lambda firm=firm: fit_finished(read(firm), {}), asked.rounds)
        aim = AIMS_S.get(jobs, "–")
        figures = f"{least:.3f} | {whole:.2f} | {whole / least:.1f} | {aim}"
        print(f"| {jobs:,} | {len(firm.openings):,} | {figures} |", flush=True)


if __name__ == "__main__":
    main()
