"""How long ingest takes beside the least that reading and storing the same rows can take, in the same run.

    python tests/benchmarks/bench_ingest.py [--rows 500 50000 1000000] [--rounds 5] [--readme]

Cases of one size take turns in one process; medians of wall time; `x` = ratio to the floor of the same size. The data
is drawn at random and has no meaning. Floor: polars reads the typed file, its Arrow stream goes into a new DuckDB
file, nothing is checked. Every other case starts from a book that holds the jobs.
"""

import argparse
import gc
import resource
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from pipeline.runs.ingest import Delivery, ingest_
from pipeline.settings import Settings
from pipeline.store.steps import ArrowStream
from schemas.vocab import PHASE

ROWS_PER_JOB = 14  # as in a firm of 50,000 jobs with 700,000 time-sheet lines
ODD_SHARE, BAD_SHARE = 0.10, 0.02
README = Path(__file__).parent / "README.md"
BEGIN, END = "<!-- ingest: begin -->", "<!-- ingest: end -->"
SCHEMA = {
    "entry_id": pl.String, "job_id": pl.String, "opening_id": pl.String, "worked_on": pl.Date, "worker_id": pl.String,
    "phase": pl.String, "hours": pl.Float64, "hourly_cost": pl.Float64,
}  # fmt: skip


def labour(rows: int, *, dirty: bool, seed: int) -> pl.DataFrame:
    """Time-sheet lines as text. Dirty: 1 in 10 cells of three columns written oddly, 1 row in 50 unusable."""
    random = np.random.default_rng(seed)
    jobs = random.integers(0, max(rows // ROWS_PER_JOB, 1), rows)
    day = np.datetime64("2019-01-01") + (np.arange(rows) * 2400 // rows)
    hours = random.integers(1, 13, rows) / 4
    cost = random.integers(2800, 5200, rows) / 100
    frame = pl.DataFrame({
        "entry_id": [f"E{at:08d}" for at in range(rows)],
        "job_id": [f"J{job:06d}" for job in jobs],
        "opening_id": pl.Series([None] * rows, dtype=pl.String),
        "worked_on": pl.Series(day).cast(pl.Date).cast(pl.String),
        "worker_id": [f"W{at % max(rows // 400, 4):05d}" for at in range(rows)],
        "phase": random.choice(np.array(list(PHASE)), rows),
        "hours": pl.Series(hours).cast(pl.String),
        "hourly_cost": pl.Series(cost).cast(pl.String),
    })  # fmt: skip
    return _dirtied(frame, random) if dirty else frame


def _dirtied(frame: pl.DataFrame, random: np.random.Generator) -> pl.DataFrame:
    odd = {name: pl.Series(random.random(len(frame)) < ODD_SHARE) for name in ("hours", "hourly_cost", "phase")}
    bad = pl.Series(random.random(len(frame)) < BAD_SHARE)
    return frame.with_columns(
        pl.when(bad)
        .then(pl.lit("33"))
        .when(odd["hours"])
        .then(pl.col("hours") + " h")
        .otherwise("hours")
        .alias("hours"),
        pl.when(odd["hourly_cost"]).then("$" + pl.col("hourly_cost")).otherwise("hourly_cost").alias("hourly_cost"),
        pl.when(odd["phase"])
        .then(pl.col("phase").str.to_titlecase().str.replace("_", " "))
        .otherwise("phase")
        .alias("phase"),
    )


def jobs(rows: int) -> pl.DataFrame:
    """The jobs that the lines name."""
    count = max(rows // ROWS_PER_JOB, 1)
    return pl.DataFrame({
        "job_id": [f"J{job:06d}" for job in range(count)],
        "crew": ["north"] * count,
        "started_on": [date(2019, 1, 1)] * count,
        "contract_price": [9000.0] * count,
    })  # fmt: skip


class Bench:
    """Files of one size, and the cases that are timed on them."""

    def __init__(self, folder: Path, rows: int) -> None:
        self.folder, self.rows = folder, rows
        self.clean, self.dirty = folder / "labour.csv", folder / "labour-dirty.csv"
        labour(rows, dirty=False, seed=1).write_csv(self.clean)
        labour(rows, dirty=True, seed=1).write_csv(self.dirty)
        jobs(rows).write_csv(folder / "jobs.csv")
        self.with_jobs = folder / "with_jobs.duckdb"
        ingest_(self.with_jobs, Settings(), Delivery([folder / "jobs.csv"]))
        self.full = self.fresh("full")
        ingest_(self.full, Settings(), Delivery([self.clean]))

    def fresh(self, name: str, origin: Path | None = None) -> Path:
        """A copy of a book to write into."""
        return Path(shutil.copy(origin or self.with_jobs, self.folder / f"{name}.duckdb"))

    def cases(self) -> dict[str, Callable[[], object]]:
        """Case -> what is timed."""
        every = {
            "floor": self.floor,
            "ingest, clean": lambda: self.ingest(self.with_jobs, self.clean),
            "ingest, dirty": lambda: self.ingest(self.with_jobs, self.dirty),
            "same file again": lambda: self.ingest(self.full, self.clean),
            "same file, --again": lambda: self.ingest(self.full, self.clean, again=True),
        }
        return every | ({"pandas + pandera + sqlite": self.peer} if "pandas" in sys.modules else {})

    def floor(self) -> None:
        """Read and store, nothing checked."""
        path = self.folder / "floor.duckdb"
        path.unlink(missing_ok=True)
        frame = pl.read_csv(self.clean, schema=SCHEMA)
        with duckdb.connect(str(path)) as con:
            stream = ArrowStream(frame)
            con.register("stream", stream)
            con.execute("create table labour as from stream")

    def ingest(self, origin: Path, file: Path, *, again: bool = False) -> None:
        """The command, in process."""
        book = self.folder / "run.duckdb"
        result = ingest_(book, Settings(), Delivery([file], again=again))
        assert result["rows"] == self.rows, result
        assert (result["accepted"] > 0) == (origin == self.with_jobs), result

    def peer(self) -> None:
        """What a careful script with common tools would do: read, check, store."""
        import pandas
        import pandera.pandas as pa

        frame = pandas.read_csv(self.clean, parse_dates=["worked_on"])
        known = set(pandas.read_csv(self.folder / "jobs.csv")["job_id"])
        checks = {
            "entry_id": pa.Column(str, unique=True),
            "job_id": pa.Column(str, pa.Check.isin(known)),
            "phase": pa.Column(str, pa.Check.isin(list(PHASE))),
            "hours": pa.Column(float, pa.Check.in_range(0, 24, include_min=False)),
            "hourly_cost": pa.Column(float, pa.Check.ge(0)),
        }
        pa.DataFrameSchema(checks).validate(frame, lazy=True)
        path = self.folder / "peer.sqlite"
        path.unlink(missing_ok=True)
        with sqlite3.connect(path) as con:
            frame.to_sql("labour", con, index=False)
        con.close()


ORIGINS = {
    "ingest, clean": "with_jobs",
    "ingest, dirty": "with_jobs",
    "same file again": "full",
    "same file, --again": "full",
}


def timed(bench: Bench, rounds: int) -> dict[str, float]:
    """Median seconds of every case, the cases taking turns."""
    seconds: dict[str, list[float]] = {name: [] for name in bench.cases()}
    for _ in range(rounds):
        for name, case in bench.cases().items():
            if name in ORIGINS:
                bench.fresh("run", getattr(bench, ORIGINS[name]))
            gc.collect()
            start = time.perf_counter()
            case()
            seconds[name].append(time.perf_counter() - start)
    return {name: statistics.median(values) for name, values in seconds.items()}


def table(results: dict[int, dict[str, float]]) -> list[str]:
    """The results as a table for the README."""
    names = list(next(iter(results.values())))
    head = ["case", *(f"{rows:,} rows: s | x" for rows in results)]
    lines = ["| " + " | ".join(head) + " |", "|---" + "|---|---" * len(results) + "|"]
    for name in names:
        cells = [f"{times[name]:.3f} | {times[name] / times['floor']:.2f}" for times in results.values()]
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return lines


def main() -> None:
    """Time every size and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--rows", type=int, nargs="+", default=[500, 50_000, 1_000_000])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--readme", action="store_true", help="put the table into the README beside this file")
    asked = parser.parse_args()
    results = {}
    for rows in asked.rows:
        with tempfile.TemporaryDirectory() as folder:
            results[rows] = timed(Bench(Path(folder), rows), asked.rounds)
    peak_gb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    lines = [*table(results), "", f"Median of {asked.rounds} rounds; peak memory of the whole run {peak_gb:.1f} GB."]
    print("\n".join(lines))
    if asked.readme:
        text = README.read_text(encoding="utf-8")
        before, after = text.split(BEGIN)[0], text.split(END)[1]
        README.write_text(f"{before}{BEGIN}\n" + "\n".join(lines) + f"\n{END}{after}", encoding="utf-8")


if __name__ == "__main__":
    try:
        import pandas  # noqa: F401  only for the comparison; the program does not need it
    except ImportError:
        print("pandas is not here: the comparison with it is left out", file=sys.stderr)
    main()
