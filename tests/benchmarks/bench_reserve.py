"""How long the reserve and the crews take beside the plainest sum that could stand for a reserve, in the same run.

    python tests/benchmarks/bench_reserve.py [--openings 4000 20000] [--rounds 5] [--readme]

Invented firms in memory; cases of one size take turns in one process; medians of wall time, imports apart. Floor:
callbacks per opening-year × years left × mean cost, in polars on the same frames, no age, no range, no roll-forward.
"""

import argparse
import statistics
import sys
import time
from pathlib import Path

import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from pipeline.callbacks.crews import crew_lines
from pipeline.callbacks.history import history_of
from pipeline.runs.reserve import reserve_of
from tests.recovery.reserve_world import make_world

README = Path(__file__).parent / "README.md"
BEGIN, END = "<!-- reserve: begin -->", "<!-- reserve: end -->"


def plain_sum(world):
    """The floor."""
    clocks = world.openings.with_columns(
        age=(pl.lit(world.as_of) - pl.col("completed_on")).dt.total_days().cast(pl.Float64),
        whole=pl.col("months_of_warranty") * 30.4375,
    ).with_columns(watched=pl.min_horizontal("age", "whole"))
    counted = world.visits.filter(pl.col("counts")).join(clocks, on="opening_id", how="inner")
    rate = counted.height / clocks["watched"].sum()
    return rate * (clocks["whole"] - clocks["watched"]).sum() * counted["gross_cost"].drop_nans().mean()


def reserve(world):
    """Everything `areaway reserve` prints, from the frames on."""
    return reserve_of(history_of(world.openings, world.visits, world.as_of), world.as_of)


def crews(world):
    """Everything `areaway crews` prints, from the frames on."""
    return crew_lines(world.openings, history_of(world.openings, world.visits, world.as_of))


CASES = {"plain sum (floor)": plain_sum, "reserve, range, roll-forward, cross-checks": reserve, "crews": crews}


def measured(openings, rounds):
    """Median seconds of each case; the cases take turns."""
    world = make_world(1, openings)
    times = {name: [] for name in CASES}
    for turn in range(rounds + 1):
        for name, case in CASES.items():
            started = time.perf_counter()
            case(world)
            if turn:  # the first turn pays for imports
                times[name].append(time.perf_counter() - started)
    return {name: statistics.median(seconds) for name, seconds in times.items()}


def table(sizes, rounds):
    """A markdown table: one row per size and case."""
    lines = ["| openings | case | s | x floor |", "|---|---|---|---|"]
    for openings in sizes:
        found = measured(openings, rounds)
        floor = next(iter(found.values()))
        for name, seconds in found.items():
            lines.append(f"| {openings:,} | {name} | {seconds:.3f} | {seconds / floor:.0f} |")
    return "\n".join(lines)


def main():
    """Print the table, and put it into the folder's README when asked to."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--openings", type=int, nargs="+", default=[4000, 20_000])
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--readme", action="store_true")
    given = asked.parse_args()
    found = table(given.openings, given.rounds)
    print(found)
    if given.readme:
        text = README.read_text() if README.exists() else "# Benchmarks\n"
        before, _, rest = text.partition(BEGIN)
        after = rest.partition(END)[2] if rest else "\n"
        README.write_text(f"{before.rstrip()}\n\n{BEGIN}\n{found}\n{END}{after}")


if __name__ == "__main__":
    main()
