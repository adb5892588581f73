"""What all pages of a book take beside the least a page can: the same libraries, one sum over the book, one chart.

Both are whole processes, cold, in turns; processor time, medians. The floor loads duckdb, polars, plotly and scipy,
opens the book, sums labour and materials per finished job and writes one bar chart with plotly's own script beside it.
Printed, not asserted; the weight of each page is its own bytes, without that script. Aim on an idle two-core machine:
5 s for 5,000 jobs, 1.5 MB a page at 50,000.
Run: python tests/benchmarks/bench_pages.py [--jobs 5000] [--rounds 5]
"""

import argparse
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

FLOOR = """
import sys
import duckdb, plotly.graph_objects, polars, scipy.optimize, scipy.special
sums = duckdb.connect(sys.argv[1], read_only=True).sql('''
    select jobs.job_id, jobs.contract_price, worked.hours, bought.cost from jobs
    left join (select job_id, sum(hours) as hours from labour group by job_id) as worked using (job_id)
    left join (select job_id, sum(quantity * unit_cost) as cost from materials group by job_id) as bought using (job_id)
    where jobs.completed_on is not null''')
found = polars.DataFrame(sums)
chart = plotly.graph_objects.Figure({"data": [{"type": "bar", "y": found["hours"].to_list()}]})
chart.write_html(sys.argv[2], include_plotlyjs="directory")
"""
COMMAND = "import sys; from pipeline.cli.main import main; main(sys.argv[1:])"


def processor_s(words: Sequence[str]) -> float:
    """User and system time of one process. [s]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL, check=True, env=os.environ)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print the table and the weights."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--jobs", type=int, default=5000)
    asked.add_argument("--rounds", type=int, default=5)
    given = asked.parse_args()
    subprocess.run(
        [sys.executable, "-m", "compileall", "-q", "pipeline", "schemas", "dashboards"], cwd=ROOT, check=True
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book, settings = fitted_book(folder, jobs=given.jobs)
        out = folder / "pages"
        on_book = ["-c", COMMAND, "--book", str(book), "--settings", str(settings)]
        runs = {
            "floor": ["-c", FLOOR, str(book), str(folder / "floor.html")],
            "all pages": [*on_book, "dashboards", "--out", str(out)],
        }
        taken: dict[str, list[float]] = {case: [] for case in runs}
        for _ in range(given.rounds):
            for case, words in runs.items():
                taken[case].append(processor_s(words))
        weights = {page.stem: page.stat().st_size for page in sorted(out.glob("*.html"))}
    floor = statistics.median(taken["floor"])
    print(f"| {given.jobs:,} jobs | processor s, median | over the floor |")
    print("|---|---|---|")
    for case, times in taken.items():
        print(f"| {case} | {statistics.median(times):.2f} | {statistics.median(times) / floor:.2f} |")
    print(", ".join(f"{page} {size / 1e6:.2f} MB" for page, size in weights.items()))


if __name__ == "__main__":
    main()
