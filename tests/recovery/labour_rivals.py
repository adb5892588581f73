"""Rivals of the labour model in the study: what a spreadsheet or a stock library would do with the same records."""

from typing import Any

import numpy as np

WALLS = ("poured_concrete", "concrete_block", "brick", "stone", "wood_foundation")
WORDS = ("wall_type", "opening_work", "soil", "dig_method", "well_type", "drain")
SIZES = (
    "wall_thickness_in",
    "rough_width_in",
    "rough_height_in",
    "existing_width_in",
    "existing_height_in",
    "depth_below_grade_in",
    "well_width_in",
    "well_projection_in",
)


def features(
    filled: dict[str, Any], crew: np.ndarray, month: np.ndarray, m: np.ndarray, levels: dict[str, list[str]]
) -> np.ndarray:
    """Logs of sizes, the job's count, winter, and a yes/no column per word but the first of each."""
    columns = [np.log1p(np.nan_to_num(np.asarray(filled[name], dtype=float))) for name in SIZES]
    winter, bars = np.isin(month, (12, 1, 2, 3)).astype(float), np.asarray(filled["reinforced"], dtype=float)
    columns += [np.log(m), winter, np.nan_to_num(bars)]
    for word, names in levels.items():
        values = crew if word == "crew" else np.asarray(filled[word])
        columns += [(values == name).astype(float) for name in names[1:]]
    return np.column_stack(columns)


def levels_of(filled: dict[str, Any], crew: np.ndarray) -> dict[str, list[str]]:
    """The words met in training."""
    return {word: sorted(set(np.asarray(filled[word]))) for word in WORDS} | {"crew": sorted(set(crew))}


def log_ols(X: np.ndarray, hours: np.ndarray, new: np.ndarray) -> np.ndarray:
    """Least squares on log hours, the mean put back by the residuals' smearing."""
    A = np.column_stack([np.ones(len(X)), X])
    beta = np.linalg.lstsq(A, np.log(hours), rcond=None)[0]
    return np.exp(np.column_stack([np.ones(len(new)), new]) @ beta)


def boosting(X: np.ndarray, hours: np.ndarray, new: np.ndarray) -> np.ndarray:
    """scikit-learn gradient boosting on log hours, modest settings that suit small data."""
    from sklearn.ensemble import GradientBoostingRegressor

    model = GradientBoostingRegressor(
        n_estimators=300,
        learning_rate=0.05,
        max_depth=3,
        subsample=0.7,
        min_samples_leaf=5,
        loss="huber",
        random_state=0,
    )
    return np.exp(model.fit(X, np.log(hours)).predict(new))
