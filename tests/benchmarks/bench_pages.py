"""What all pages of a book take: the whole command beside a floor, the making alone, their weight, their first view.

- The command is a whole process, cold, in turns with a floor: the same libraries, one sum over the book, one chart with
  plotly's own script. Processor time, medians.
- The making alone is one process that has imported everything, its first build. Aim on an idle two-core machine: 5 s
  for 5,000 jobs.
- The weight of a page is its own bytes, without plotly's script. Aim: 1.5 MB at 50,000 jobs.
- The first view is by the clock, in headless Chromium from a file, beside a page of one sentence in the same run: first
  contentful paint, large figures on the screen, all charts drawn; the form of the estimator's page answered at once.
  Aim on an idle machine: 1.5 s to the large figures. Beside it processor time of the page's main thread until then.

Printed, not asserted. Run: python tests/benchmarks/bench_pages.py [--jobs 5000] [--rounds 5] [--folder KEEP]
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

from playwright.sync_api import Browser

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.pages.browser import chromium  # noqa: E402  the folder must be on the path first
from tests.runs.fitted_book import fitted_book  # noqa: E402

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


MAKING = """
import sys, time
from pathlib import Path
import duckdb, numpy, polars, scipy.optimize, scipy.special, scipy.stats
from pipeline.runs import callback_records, callbacks, case_file, checks, crews, jobs, margins, month, patterns
from pipeline.runs import page_parts, page_sums, quote_page, reserve, revisit
from pipeline.runs.dashboards import dashboards_
from pipeline.settings import load_settings
settings, before = load_settings(Path(sys.argv[2])), time.process_time()
dashboards_(Path(sys.argv[1]), settings, out=Path(sys.argv[3]))
print(time.process_time() - before)
"""
VIEWS = ("one sentence", "index", "owner", "estimator", "warranty")
WATCH = """
const look = () => {
    const figures = document.querySelector(".bigs .value, main p");
    if (!figures || !figures.getBoundingClientRect().height) return requestAnimationFrame(look);
    requestAnimationFrame(() => setTimeout(() => { document.documentElement.dataset.shownMs = performance.now(); }, 0));
};
requestAnimationFrame(look);
"""
PATIENCE_MS = 120_000
PAINTED = "performance.getEntriesByName('first-contentful-paint')[0].startTime"


def processor_s(words: Sequence[str]) -> float:
    """User and system time of one process. [s]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], cwd=ROOT, stdout=subprocess.DEVNULL, check=True, env=os.environ)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def making_s(words: Sequence[str]) -> float:
    """Processor time that a process says it took for its work, without its imports. [s]"""
    told = subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=True, text=True)
    return float(told.stdout)


def first_view(browser: Browser, page_file: Path) -> dict[str, float]:
    """One page opened in a window of its own: paint, figures and charts by the clock, processor time to the figures."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})
    page.add_init_script(WATCH)
    page.goto(page_file.as_uri(), wait_until="commit")
    page.wait_for_selector("html[data-shown-ms]", state="attached", timeout=PATIENCE_MS)
    metrics = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    if page.locator("script.plot-data").count():
        page.wait_for_selector("html[data-charts=drawn]", state="attached", timeout=PATIENCE_MS)
    drawn_ms = page.evaluate("performance.now()")
    seen = {
        "first paint, s": page.evaluate(PAINTED) / 1000,
        "large figures, s": float(page.evaluate("document.documentElement.dataset.shownMs")) / 1000,
        "all charts, s": drawn_ms / 1000,
        "processor to the figures, s": metrics["TaskDuration"],
    }
    page.close()
    return seen


def first_views(folder: Path, rounds: int) -> dict[str, dict[str, float]]:
    """Medians per page, in turns, beside a page of one sentence."""
    (folder / "one sentence.html").write_text("<!doctype html><title>floor</title><main><p>One sentence.</p></main>")
    seen: dict[str, list[dict[str, float]]] = {name: [] for name in VIEWS}
    with chromium() as browser:
        for _ in range(rounds):
            for name in VIEWS:
                seen[name].append(first_view(browser, folder / f"{name}.html"))
    (folder / "one sentence.html").unlink()
    return {
        name: {what: statistics.median(view[what] for view in views) for what in views[0]}
        for name, views in seen.items()
    }


def made(folder: Path, jobs: int) -> tuple[Path, Path]:
    """A fitted book in a folder, made when it is not there yet."""
    book, settings = folder / "firm.duckdb", folder / "records" / "areaway.toml"
    return (book, settings) if book.exists() else fitted_book(folder, jobs=jobs)


def timed(folder: Path, jobs: int, rounds: int) -> dict[str, list[float]]:
    """Processor time of the floor, of the command and of the making alone, in turns; the pages stay in the folder."""
    book, settings = made(folder, jobs)
    out = folder / "pages"
    whole = ["-c", COMMAND, "--book", str(book), "--settings", str(settings), "dashboards", "--out", str(out)]
    taken: dict[str, list[float]] = {"floor": [], "areaway dashboards": [], "the making alone": []}
    for _ in range(rounds):
        taken["floor"].append(processor_s(["-c", FLOOR, str(book), str(folder / "floor.html")]))
        taken["areaway dashboards"].append(processor_s(whole))
        taken["the making alone"].append(making_s(["-c", MAKING, str(book), str(settings), str(out)]))
    return taken


def show_times(taken: dict[str, list[float]], jobs: int) -> None:
    """The table of processor times."""
    floor = statistics.median(taken["floor"])
    print(f"| {jobs:,} jobs | processor s, median | over the floor |\n|---|---|---|")
    for case, times in taken.items():
        print(f"| {case} | {statistics.median(times):.2f} | {statistics.median(times) / floor:.2f} |")


def show_views(folder: Path, views: dict[str, dict[str, float]], jobs: int) -> None:
    """The table of weights and first views."""
    measures = list(views[VIEWS[0]])
    print(f"\n| {jobs:,} jobs | own data, MB | {' | '.join(measures)} |\n|---|---|{'---|' * len(measures)}")
    for name, view in views.items():
        file = folder / f"{name}.html"
        weight = f"{file.stat().st_size / 1e6:.2f}" if file.exists() else ""
        print(f"| {name} | {weight} | {' | '.join(f'{view[what]:.2f}' for what in measures)} |")


def main() -> None:
    """Print both tables, and how busy the machine was."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--jobs", type=int, default=5000)
    asked.add_argument("--rounds", type=int, default=5)
    asked.add_argument("--folder", type=Path, help="where the book is kept for another run; else it is thrown away")
    given = asked.parse_args()
    subprocess.run(
        [sys.executable, "-m", "compileall", "-q", "pipeline", "schemas", "dashboards"], cwd=ROOT, check=True
    )
    with tempfile.TemporaryDirectory() as name:
        folder = given.folder or Path(name)
        folder.mkdir(parents=True, exist_ok=True)
        show_times(timed(folder, given.jobs, given.rounds), given.jobs)
        show_views(folder / "pages", first_views(folder / "pages", given.rounds), given.jobs)
    print(f"\nLoad of the machine at the end: {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores.")


if __name__ == "__main__":
    main()
