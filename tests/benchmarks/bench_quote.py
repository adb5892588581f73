"""How long a cold quote takes beside the least a program on a book can take: python, import duckdb, open, one select.

Aims: quote at most 2.5 times the floor, `areaway --help` at most once. Printed, not asserted. Times are processor
times of whole processes, start to end, which other work on the machine disturbs least.
Run: python tests/benchmarks/bench_quote.py
"""

import os
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.runs.fitted_book import fitted_book  # noqa: E402  the folder must be on the path first

ROUNDS = 15
JOBS = 300
FLOOR = """
import duckdb, sys
print(duckdb.connect(sys.argv[1], read_only=True).execute("select count(*) from jobs").fetchall())
"""
COMMAND = "import sys; from pipeline.cli.main import main; main(sys.argv[1:])"
ONE = [
    "quote", "--wall_type", "poured_concrete", "--opening_work", "new_cut", "--rough_width_in", "48",
    "--rough_height_in", "48", "--well_type", "steel", "--depth_below_grade_in", "60", "--soil", "clay", "--json",
]  # fmt: skip
AIMS = {"floor": 1.0, "quote": 2.5, "--help": 1.0, "import numpy": None}


def processor_ms(words: Sequence[str]) -> float:
    """User and system time of one process. [ms]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL, check=True, env=os.environ)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1000 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def main() -> None:
    """Print the table."""
    subprocess.run(
        [sys.executable, "-m", "compileall", "-q", "pipeline", "schemas", "dashboards"], cwd=ROOT, check=True
    )
    with tempfile.TemporaryDirectory() as folder:
        book, settings = fitted_book(Path(folder), jobs=JOBS)
        runs = {
            "floor": ["-c", FLOOR, str(book)],
            "quote": ["-c", COMMAND, "--book", str(book), "--settings", str(settings), *ONE],
            "--help": ["-c", COMMAND, "--help"],
            "import numpy": ["-c", "import numpy"],
        }
        taken: dict[str, list[float]] = {name: [] for name in runs}
        for _ in range(ROUNDS):
            for name, words in runs.items():
                taken[name].append(processor_ms(words))
    floor = statistics.median(taken["floor"])
    print("| what | processor ms, median | over the floor | aim |")
    print("|---|---|---|---|")
    for name, times in taken.items():
        aim = "" if AIMS[name] is None else f"{AIMS[name]:.1f}"
        print(f"| {name} | {statistics.median(times):.0f} | {statistics.median(times) / floor:.2f} | {aim} |")


if __name__ == "__main__":
    main()
