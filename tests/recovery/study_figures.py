"""Sums of trials as figures with two standard errors, beside their targets."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

Rows = list[dict[str, float]]
# Ratio of root mean square log errors to the oracle and to the rivals; coverages; width; rare walls.
AT_MOST = {
    "log error ÷ oracle": {60: 1.15, 150: 1.10, 400: 1.05, 1500: 1.035, 10_000: 1.015},
    "÷ wall averages": {60: 0.52, 150: 0.50, 400: 0.50, 1500: 0.46, 10_000: 0.42},
    "÷ one rate per phase": {60: 0.98, 150: 0.97, 400: 0.97, 1500: 0.96, 10_000: 0.95},
    "÷ least squares on logs": {60: 0.80, 150: 0.90, 400: 0.92, 1500: 0.93, 10_000: 0.92},
    "÷ boosting": {60: 0.78, 150: 0.85, 400: 0.92, 1500: 0.93, 10_000: 0.98},
    "width of the 80 % range ÷ oracle": {60: 1.25, 150: 1.15, 400: 1.08, 1500: 1.05, 10_000: 1.03},
    "rare walls: log error ÷ oracle": {60: 1.22, 150: 1.18, 400: 1.10, 1500: 1.06, 10_000: 1.03},
}
COVERAGE_80 = {60: (0.77, 0.86), 150: (0.76, 0.84), 400: (0.77, 0.83), 1500: (0.78, 0.82), 10_000: (0.79, 0.82)}
COVERAGE_90 = {60: (0.87, 0.95), 150: (0.87, 0.93), 400: (0.87, 0.92), 1500: (0.885, 0.915), 10_000: (0.89, 0.91)}
RARE_80 = {60: 0.70, 150: 0.72, 400: 0.75, 1500: 0.75, 10_000: 0.77}
OTHER_PHYSICS = {60: 1.21, 150: 1.17, 400: 1.07, 1500: 1.03, 10_000: 1.016}
EXCESS_AFTER_A_CHANGE = {400: 0.045, 1500: 0.032}
MATERIAL_ERROR = {60: 1.08, 150: 1.08, 400: 1.03, 1500: 1.03, 10_000: 1.03}
USE_ERROR = {60: 0.08, 150: 0.06, 400: 0.03, 1500: 0.02}
MOST_REFUSED = 0.08  # half of the rarer walls and some odd sizes at 60 jobs; our own limit
EVER = float("inf")


@dataclass(frozen=True)
class Figure:
    """A mean with two standard errors over seeds, and the range in which it should lie."""

    name: str
    jobs: int
    seeds: int
    mean: float
    two_se: float
    low: float
    high: float

    @property
    def target(self) -> str:
        """The range in words."""
        if self.low == -EVER and self.high == EVER:
            return "none"
        if self.low == -EVER:
            return f"≤ {self.high:g}"
        return f"≥ {self.low:g}" if self.high == EVER else f"{self.low:g} to {self.high:g}"

    @property
    def verdict(self) -> str:
        """Met when the range is reached within two standard errors; one seed has none and proves nothing."""
        if self.target == "none":
            return "–"
        if self.seeds == 1:
            return "one seed"
        return "yes" if self.low - self.two_se <= self.mean <= self.high + self.two_se else "NO"


def _figure(name: str, jobs: int, rows: Rows, of: Callable[[Rows], float], within: tuple[float, float]) -> Figure:
    """Pooled over seeds; the error by leaving one seed out in turn (jackknife, Quenouille 1956, from memory)."""
    n = len(rows)
    left_out = np.array([of(rows[:at] + rows[at + 1 :]) for at in range(n)]) if n > 1 else np.array([of(rows)])
    error = float(np.sqrt((n - 1) / n * np.sum((left_out - left_out.mean()) ** 2)))
    return Figure(name, jobs, n, of(rows), 2 * error, *within)


def _ratio(top: str, bottom: str) -> Callable[[Rows], float]:
    return lambda rows: sum(row[top] for row in rows) / sum(row[bottom] for row in rows)


def _root(top: str, bottom: str) -> Callable[[Rows], float]:
    return lambda rows: float(np.sqrt(_ratio(top, bottom)(rows)))


def labour_figures(jobs: int, rows: Rows, *, other: bool = False) -> list[Figure]:
    """Error against truth and rivals, coverage, width, rare walls; `other` = the other physics' own target."""
    of = {
        "log error ÷ oracle": _root("square_ours", "square_oracle"),
        "÷ wall averages": _root("square_ours", "square_wall"),
        "÷ one rate per phase": _root("square_ours", "square_rate"),
        "÷ least squares on logs": _root("square_ours", "square_ols"),
        "÷ boosting": _root("square_ours", "square_boosting"),
        "all-knowing ÷ least squares on logs": _root("square_oracle", "square_ols"),
        "width of the 80 % range ÷ oracle": _ratio("width", "oracle_width"),
        "rare walls: log error ÷ oracle": _root("rare_square_ours", "rare_square_oracle"),
    }
    limits = {name: targets[jobs] for name, targets in AT_MOST.items() if jobs in targets}
    if other:
        of = {"log error ÷ oracle": of["log error ÷ oracle"], "÷ one rate per phase": of["÷ one rate per phase"]}
        limits |= {"log error ÷ oracle": OTHER_PHYSICS.get(jobs, EVER)}
    found = [_figure(name, jobs, rows, of[name], (-EVER, limits.get(name, EVER))) for name in of]
    found.append(_figure("80 % ranges hold", jobs, rows, _ratio("inside_80", "n"), COVERAGE_80.get(jobs, (0, 1))))
    found.append(_figure("90 % ranges hold", jobs, rows, _ratio("inside_90", "n"), COVERAGE_90.get(jobs, (0, 1))))
    if not other:
        hold = _ratio("rare_inside_80", "rare_n")
        found.append(_figure("rare walls: 80 % ranges hold", jobs, rows, hold, (RARE_80.get(jobs, 0), EVER)))
    refused = _ratio("refused", "asked")
    found.append(_figure("openings refused as outside experience", jobs, rows, refused, (-EVER, MOST_REFUSED)))
    found.append(_figure("answers not finite, ordered or adding up", jobs, rows, _ratio("broken", "n"), (-EVER, 0.0)))
    return found


def shift_figures(jobs: int, rows: Rows) -> list[Figure]:
    """After a new saw: error left when the noise is taken away, and bias of the cutting hours."""
    excess = _figure("excess log error", jobs, rows, _root("excess", "n"), (-EVER, EXCESS_AFTER_A_CHANGE[jobs]))
    ratio = _ratio("cutting", "true_cutting")
    bias = _figure("cutting hours: predicted ÷ taken", jobs, rows, ratio, (0.97, 1.03))
    seen = _figure("firms in which the change was said", jobs, rows, _share_seen, (0.5, EVER))
    return [excess, bias, seen]


def _share_seen(rows: Rows) -> float:
    return float(np.mean([row["cutting_changes"] > 0 for row in rows])) if rows else 0.0


def material_figures(jobs: int, rows: Rows) -> list[Figure]:
    """Orders of jobs with one opening: error in money against the oracle's packs, bias, share of exact hits."""
    error = _ratio("material_missed", "material_oracle_missed")
    bias = _ratio("material_ordered", "material_bought")
    use_error = _root("material_use_squares", "material_uses")

    def hits_lost(some: Rows) -> float:
        lines = sum(row["material_lines"] for row in some)
        return sum(row["material_oracle_hits"] - row["material_hits"] for row in some) / lines

    return [
        _figure("cost error ÷ oracle's packs", jobs, rows, error, (-EVER, MATERIAL_ERROR.get(jobs, EVER))),
        _figure("ordered ÷ bought", jobs, rows, bias, (0.98, 1.02)),
        _figure("exact packs: oracle's share less ours", jobs, rows, hits_lost, (-EVER, 0.02)),
        _figure("use per opening, log error", jobs, rows, use_error, (-EVER, USE_ERROR.get(jobs, EVER))),
    ]
