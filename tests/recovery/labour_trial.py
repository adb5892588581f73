"""One trial of the labour study: a firm's past through `ingest` and `fit`, its next jobs through `quote`."""

import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from pipeline.estimators.known import fill_gaps
from pipeline.estimators.plain import rate_per_phase, wall_averages
from pipeline.estimators.records import arrays_of, finished_openings
from tests.recovery import labour_rivals
from tests.recovery.labour_world import Firm, World, make_firm
from tests.recovery.material_world import ITEMS, USAGE_SD, Stock, make_purchases

ROOT = Path(__file__).parents[2]
PAST_SHARE = 0.8
FEWEST_NEW_JOBS = 120
RARE = ("brick", "stone", "wood_foundation")
MEAN_OVER_MEDIAN = float(np.exp(USAGE_SD**2 / 2))  # of a lognormal use
BOUNDS = ("p05", "p10", "p50", "p90", "p95", "mean")
COMMAND = "import sys; from pipeline.cli.main import main; main(sys.argv[1:])"


@dataclass(frozen=True)
class Trial:
    """A firm to draw: four fifths of `jobs` are its past, the rest and at least 120 are to come."""

    jobs: int
    seed: int
    physics: str = "rates"
    new_saw_share: float | None = None


def run_trial(trial: Trial) -> dict[str, float]:
    """Sums over the openings to come, to be averaged over seeds by study_figures."""
    past = round(PAST_SHARE * trial.jobs)
    total = past + max(trial.jobs - past, FEWEST_NEW_JOBS)
    share = trial.new_saw_share and trial.new_saw_share * past / total
    world = World(jobs=total, seed=trial.seed, physics=trial.physics, new_saw_share=share)
    firm = make_firm(world)
    stock = make_purchases(firm, world)
    with tempfile.TemporaryDirectory() as folder:
        answer, changes = _through_the_command_line(firm, stock, past, Path(folder))
    return _sums(firm, stock, past, answer) | {"cutting_changes": float(changes)}


def _areaway(book: Path, *arguments: str) -> Any:
    command = [sys.executable, "-c", COMMAND, "--book", str(book), *arguments, "--json"]
    done = subprocess.run(command, cwd=book.parent, capture_output=True, text=True, env=_environment(), check=False)
    if done.returncode:
        raise RuntimeError(f"areaway {arguments[0]}: exit {done.returncode}: {done.stderr[-2000:]}")
    return json.loads(done.stdout)


def _environment() -> dict[str, str]:
    import os

    return {**os.environ, "PYTHONPATH": str(ROOT)}


def _through_the_command_line(firm: Firm, stock: Stock, past: int, folder: Path) -> tuple[Any, int]:
    """Ingest the past, fit, quote the openings to come."""
    ids = firm.jobs["job_id"].to_list()[:past]
    keep = pl.col("job_id").is_in(ids)
    records = folder / "records"
    records.mkdir()
    jobs = firm.jobs.filter(keep).with_columns(contract_price=pl.lit(9000))
    for kind, frame in (
        ("jobs", jobs),
        ("openings", firm.openings.filter(keep)),
        ("labour", firm.labour.filter(keep)),
        ("materials", stock.materials.filter(keep)),
    ):
        frame.write_csv(records / f"{kind}.csv")
    book = folder / "book.duckdb"
    _areaway(book, "ingest", str(records))
    fitted = _areaway(book, "fit")
    crews = firm.jobs.select("job_id", "crew", "started_on")
    new = firm.openings.filter(~keep).join(crews, on="job_id", how="left", maintain_order="left")
    new.write_csv(folder / "new.csv")
    (folder / "areaway.toml").write_text("[firm]\nstandard_hourly_cost = 40\n")
    answer = _areaway(book, "quote", "--opening", str(folder / "new.csv"))
    return answer, sum("wall cutting" in said for said in fitted["labour"]["changes"])


def _sums(firm: Firm, stock: Stock, past: int, answer: Any) -> dict[str, float]:
    world = firm.extra["world"]
    new = world["job"] >= past
    by_id = {row["opening_id"]: row for row in answer["openings"]}
    everyone = firm.openings["opening_id"].to_numpy()[new]
    answered = np.array([by_id[each]["confidence"] != "outside_experience" for each in everyone])
    rivals = {name: hours[answered] for name, hours in _rivals(firm, past, new).items()}
    refused = float((~answered).sum())
    new = new.copy()
    new[new] = answered  # an opening outside experience gets no estimate to stand by
    order = everyone[answered]
    said = {name: np.array([by_id[each]["labour_hours"][name] for each in order]) for name in BOUNDS}
    actual, truth, sd = firm.clean_total[new], firm.truth_median[new], firm.truth_sd[new]
    rare = np.isin(np.asarray(world["wall_type"])[new], RARE)
    predicted = {"ours": said["p50"], "oracle": truth, **rivals}
    sums = {"n": float(len(actual)), "rare_n": float(rare.sum()), "refused": refused, "asked": float(len(everyone))}
    for name, hours in predicted.items():
        squares = np.log(actual / hours) ** 2
        sums |= {f"square_{name}": float(squares.sum()), f"rare_square_{name}": float(squares[rare].sum())}
    for level, low, high in (("80", "p10", "p90"), ("90", "p05", "p95")):
        inside = (actual >= said[low]) & (actual <= said[high])
        sums |= {f"inside_{level}": float(inside.sum()), f"rare_inside_{level}": float(inside[rare].sum())}
    oracle_width = np.exp(1.2816 * sd) - np.exp(-1.2816 * sd)
    sums["width"] = float(np.sum((said["p90"] - said["p10"]) / said["p50"]))
    sums["oracle_width"] = float(oracle_width.sum())
    sums["excess"] = float(np.sum(np.log(said["p50"] / truth) ** 2))
    phases = sum(abs(sum(p["mean"] for p in row["phases"]) - row["labour_hours"]["mean"]) for row in answer["openings"])
    sums["broken"] = float(phases > 1e-6 * len(order)) + float(not _ordered(said))
    return sums | _cutting(firm, new, by_id, order) | _materials(firm, stock, past, answer)


def _ordered(said: dict[str, np.ndarray]) -> bool:
    steps = [said[name] for name in ("p05", "p10", "p50", "p90", "p95")]
    finite = all(np.isfinite(each).all() and (each > 0).all() for each in steps)
    return finite and all((low < high).all() for low, high in pairwise(steps))


def _cutting(firm: Firm, new: np.ndarray, by_id: dict[str, Any], order: np.ndarray) -> dict[str, float]:
    """Predicted and true mean cutting hours of the openings to come, for the bias after a new saw."""
    found = [next((p["mean"] for p in by_id[each]["phases"] if p["phase"] == "wall_cutting"), 0.0) for each in order]
    clean = firm.extra["hours"]["wall_cutting"][new]
    return {"cutting": float(np.sum(found)), "true_cutting": float(clean.sum())}


def _rivals(firm: Firm, past: int, new: np.ndarray) -> dict[str, np.ndarray]:
    """Wall averages, one rate per phase, least squares on logs and boosting, from the same past."""
    keep = pl.col("job_id").is_in(firm.jobs["job_id"].to_list()[:past])
    book = finished_openings(firm.jobs.filter(keep), firm.openings.filter(keep), firm.labour.filter(keep))
    filled, _ = fill_gaps(arrays_of(firm.openings.filter(~keep)), book.defaults)
    world = firm.extra["world"]
    filled["openings_in_job"] = world["m"][new]
    crew = np.asarray(world["crew"])[new]
    month = np.array([day.month for day in world["start"]])[new].astype(float)
    levels = labour_rivals.levels_of(book.openings, book.crew)
    X = labour_rivals.features(book.openings, book.crew, book.month, book.openings_in_job, levels)
    Z = labour_rivals.features(filled, crew, month, world["m"][new], levels)
    return {
        "wall": wall_averages(book, filled),
        "rate": rate_per_phase(book, filled),
        "ols": labour_rivals.log_ols(X, book.total, Z),
        "boosting": labour_rivals.boosting(X, book.total, Z),
    }


def _materials(firm: Firm, stock: Stock, past: int, answer: Any) -> dict[str, float]:
    """Orders of jobs with one opening against what they bought; jobs of several mix pooled and single lines."""
    ids = firm.jobs["job_id"].to_list()
    job = firm.extra["world"]["job"]
    alone = np.bincount(job, minlength=len(ids)) == 1
    ordered = {(row["job_id"], line["item"]): line["order_quantity"] for row in answer["jobs"] for line in row["order"]}
    sums = dict.fromkeys(("missed", "oracle_missed", "bought", "ordered", "hits", "oracle_hits", "lines"), 0.0)
    for item, (_, pack, price, *_rest) in ITEMS.items():
        median = np.bincount(job, stock.median_use[item], len(ids))
        for at in range(past, len(ids)):
            bought, ours = stock.bought[item][at], ordered.get((ids[at], item), 0.0)
            if not alone[at] or (bought == 0 and ours == 0):
                continue
            oracle = float(np.ceil(median[at] / pack - 1e-9) * pack)
            sums["missed"] += abs(ours - bought) * price
            sums["oracle_missed"] += abs(oracle - bought) * price
            sums["bought"] += bought * price
            sums["ordered"] += ours * price
            sums["hits"] += abs(ours - bought) < 1e-6
            sums["oracle_hits"] += abs(oracle - bought) < 1e-6
            sums["lines"] += 1
    return {f"material_{name}": float(value) for name, value in (sums | _use(firm, stock, answer)).items()}


def _use(firm: Firm, stock: Stock, answer: Any) -> dict[str, float]:
    """Use an opening is expected to have against the planted one, where no size had to be assumed."""
    place = {name: at for at, name in enumerate(firm.openings["opening_id"].to_list())}
    ratios = [
        line["quantity"] / (stock.median_use[line["item"]][place[row["opening_id"]]] * MEAN_OVER_MEDIAN)
        for row in answer["openings"]
        if not row["assumed_values"]
        for line in row["materials"]
        if line["item"] in ITEMS and stock.median_use[line["item"]][place[row["opening_id"]]] > 0
    ]
    return {"use_squares": float(np.sum(np.log(ratios) ** 2)), "uses": float(len(ratios))}
