"""Seconds of the callback methods: patterns with threshold and shares, then risk; aims 2 s at 4,000, 8 s at 20,000.

Printed, not asserted: aims hold on an idle two-core machine. Run: python tests/benchmarks/bench_callbacks.py
"""

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from pipeline.callbacks.exposure import at_risk
from pipeline.callbacks.revisit import remaining_risk
from pipeline.callbacks.risk import fit_risk
from pipeline.runs.callback_records import CallbackRecords, limits_of, patterns_of
from pipeline.runs.patterns import patterns_found
from pipeline.settings import Limit, Settings
from tests.recovery.callback_world import AS_OF, counted_visits, make_world

AIMS_S = {4_000: 2.0, 20_000: 8.0}
REPEATS = 5


def seconds(work: Callable[[], object]) -> float:
    """Median processor time of five runs after one to warm up. [s]"""
    work()
    taken = []
    for _ in range(REPEATS):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return statistics.median(taken)


def main() -> None:
    """Print the table."""
    print("| openings | patterns [s] | risk for quotes [s] | revisit [s] | together [s] | aim [s] |")
    print("|---|---|---|---|---|---|")
    for openings, aim in AIMS_S.items():
        world = make_world(openings, 1)
        visits, as_of = counted_visits(world), AS_OF.astype(object)
        population = at_risk(world.jobs, world.facts, visits, as_of)
        settings = Settings(limits={"anchor_torque_max_lbft": Limit(most=world.torque_limit_lbft)})
        records = CallbackRecords(as_of, world.facts, population, visits)
        parts = [
            seconds(lambda r=records, s=settings: patterns_found(r, s)),
            seconds(lambda p=population, s=settings: fit_risk(p, patterns_of(s, p))),
            seconds(
                lambda p=population, s=settings: remaining_risk(p, patterns_of(s, p), None).rows(limits_of(s), 20, [])
            ),
        ]
        cells = " | ".join(f"{part:.2f}" for part in [*parts, sum(parts)])
        print(f"| {openings:,} | {cells} | {aim:.0f} |")


if __name__ == "__main__":
    main()
