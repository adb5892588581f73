"""Which facts each phase's hours depend on, and how strongly that is believed before any data."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.pooled import FIXED, Design
from pipeline.takeoff.openings import Numbers, Openings, Words, count, numbers, words
from pipeline.takeoff.wall_cut import cut_area_sqft, removed_volume_cuft
from schemas.vocab import DIG_METHOD, DRAIN, OPENING_WORK, SOIL, WALL_TYPE, WELL_TYPE

# All constants of this file: simulation study, fresh seeds.
WINTER_MONTHS = (12, 1, 2, 3)
DEEP_IN = 72.0
THICK_IN = 12.0
USUAL_THICKNESS_IN = 9.0
SHAPE_REMOVED_CUFT = 0.3
SHAPE_CUT_SQFT = 0.5
SLOPE_SD = 0.25  # hours are proportional to quantity unless the data disagree
SLOPE = "size"
RATE = "rate"
CHANGE_SD = 0.2
BETWEEN_CREW_AND_WALL = " on "

LEVELS: dict[str, tuple[str, ...]] = {
    "wall_type": tuple(WALL_TYPE),
    "opening_work": tuple(OPENING_WORK),
    "soil": tuple(SOIL),
    "soil_if_machine": tuple(SOIL),
    "dig_method": tuple(method for method in DIG_METHOD if method != "none"),
    "well_type": tuple(well for well in WELL_TYPE if well != "none"),
    "drain": tuple(drain for drain in DRAIN if drain != "none"),
}


@dataclass(frozen=True)
class Group:
    """Effects that share one learned spread: one per level of a word, or per number. sd0 in log units."""

    name: str
    sd0: float
    word: str = ""
    numbers: tuple[str, ...] = ("one",)


PHASE_GROUPS: dict[str, tuple[Group, ...]] = {
    "setup": (),
    "excavation": (
        Group("dig method", 0.95, "dig_method"),
        Group("soil", 0.35, "soil"),
        Group("dig method x size", 0.2, "dig_method", (SLOPE,)),
        Group("winter", 0.15, numbers=("winter",)),
        Group("deep", 0.1, numbers=("deep",)),
        Group("soil by machine", 0.1, "soil_if_machine"),
        Group("openings in the job", 0.12, numbers=("log_m_hand", "log_m_machine")),
    ),
    "wall_cutting": (
        Group("wall", 0.4, "wall_type"),
        Group("wall x size", 0.12, "wall_type", (SLOPE,)),
        Group("reinforced", 0.2, numbers=("reinforced",)),
        Group("thickness", 0.15, numbers=("log_thickness",)),
        Group("thick wall", 0.1, numbers=("thick",)),
        Group("piece per cut", 0.15, numbers=("removed_shape",)),
        Group("openings in the job", 0.07, numbers=("log_m",)),
    ),
    "frame_setting": (
        Group("wall", 0.25, "wall_type"),
        Group("openings in the job", 0.07, numbers=("log_m",)),
        Group("thickness", 0.05, numbers=("log_thickness",)),
    ),
    "window_setting": (
        Group("openings in the job", 0.07, numbers=("log_m",)),
        Group("wall", 0.05, "wall_type"),
    ),
    "well_setting": (
        Group("well", 0.6, "well_type"),
        Group("well x size", 0.25, "well_type", (SLOPE,)),
        Group("openings in the job", 0.07, numbers=("log_m",)),
        Group("soil", 0.05, "soil"),
    ),
    "drainage": (
        Group("drain", 0.5, "drain"),
        Group("drain x size", 0.2, "drain", (SLOPE,)),
        Group("openings in the job", 0.07, numbers=("log_m",)),
        Group("soil", 0.05, "soil"),
    ),
    "backfill": (
        Group("dig method", 0.4, "dig_method"),
        Group("soil", 0.1, "soil"),
        Group("winter", 0.1, numbers=("winter",)),
        Group("openings in the job", 0.07, numbers=("log_m",)),
        Group("dig method x size", 0.1, "dig_method", (SLOPE,)),
    ),
    "cleanup": (
        Group("wall", 0.1, "wall_type"),
        Group("work", 0.1, "opening_work"),
        Group("openings in the job", 0.07, numbers=("log_m",)),
    ),
    "travel": (),
}


@dataclass(frozen=True)
class Column:
    """One column of a design: the number, counted only where the word has this level ("" = everywhere)."""

    group: str
    word: str
    level: str
    number: str
    sd0: float
    prior: float = 0.0
    fixed: bool = False


@dataclass(frozen=True)
class Features:
    """What the columns are made of: words and numbers by name, one value per opening."""

    words: Mapping[str, Words]
    numbers: Mapping[str, Numbers]


def features_of(filled: Openings, *, crew: Words, month: Numbers) -> Features:
    """Facts of each opening in the form that designs read.

    in:     openings without gaps plus openings_in_job; crew per opening ("" = not known);
            month 1-12 of the start (0 = not known, which counts as the share of winter in a year)
    out:    Features
    """
    log_m = np.log(numbers(filled, "openings_in_job"))
    dig = words(filled, "dig_method")
    facts = {name: words(filled, name) for name in LEVELS if name != "soil_if_machine"}
    facts["soil_if_machine"] = np.where(dig == "machine", facts["soil"], "")
    facts["crew"] = crew
    facts["crew_and_wall"] = _joined(crew, facts["wall_type"])
    thickness_in = numbers(filled, "wall_thickness_in")
    known_month = np.where(month > 0, np.isin(month, WINTER_MONTHS), len(WINTER_MONTHS) / 12)
    values: dict[str, Numbers] = {
        "one": np.ones(count(filled)),
        "winter": known_month.astype(float),
        "deep": (numbers(filled, "depth_below_grade_in") > DEEP_IN).astype(float),
        "log_m": log_m,
        "log_m_hand": np.where(dig == "hand", log_m, 0.0),
        "log_m_machine": np.where(dig == "machine", log_m, 0.0),
        "reinforced": numbers(filled, "reinforced"),
        "log_thickness": np.log(thickness_in / USUAL_THICKNESS_IN),
        "thick": (thickness_in > THICK_IN).astype(float),
        "removed_shape": _removed_shape(filled),
    }
    return Features(facts, values)


def _joined(crew: Words, wall: Words) -> Words:
    both = np.char.add(np.char.add(crew.astype(str), BETWEEN_CREW_AND_WALL), wall.astype(str))
    return np.where(crew == "", "", both)


def _removed_shape(filled: Openings) -> Numbers:
    removed = removed_volume_cuft(filled) + SHAPE_REMOVED_CUFT
    return np.log(removed / (cut_area_sqft(filled) + SHAPE_CUT_SQFT))


def with_numbers(features: Features, extra: Mapping[str, Numbers]) -> Features:
    """The same features with some numbers added, such as the phase's own size."""
    return Features(features.words, {**features.numbers, **extra})


def columns_of(groups: Iterable[Group], *, levels: Mapping[str, tuple[str, ...]]) -> list[Column]:
    """Every column of these groups, one per level and number."""
    return [
        Column(group.name, group.word, level, number, group.sd0)
        for group in groups
        for level in (levels[group.word] if group.word else ("",))
        for number in group.numbers
    ]


def column_values(columns: list[Column], features: Features) -> Numbers:
    """The matrix of a design: rows x columns."""
    X = np.empty((len(features.numbers["one"]), len(columns)))
    for j, column in enumerate(columns):
        values = features.numbers[column.number]
        X[:, j] = values if not column.word else np.where(
            features.words[column.word] == column.level, values, 0.0
        )
    return X


def design_of(columns: list[Column], X: Numbers) -> Design:
    """The matrix with the beliefs about its columns."""
    names: dict[str, int] = {}
    group = [FIXED if c.fixed else names.setdefault(c.group, len(names)) for c in columns]
    return Design(
        X=X,
        group=np.array(group, dtype=np.int64),
        sd0=np.array([c.sd0 for c in columns], dtype=float),
        prior=np.array([c.prior for c in columns], dtype=float),
    )


def column_as_plain(column: Column) -> dict[str, Any]:
    """A column as the stored model names it."""
    return {"group": column.group, "word": column.word, "level": column.level, "number": column.number}


def column_from_plain(body: Mapping[str, Any]) -> Column:
    """The column a stored model names; its prior is no longer needed."""
    return Column(body["group"], body["word"], body["level"], body["number"], sd0=1.0)


def may_meet(columns: Sequence[Column]) -> NDArray[np.bool_]:
    """Whether one opening can have both of two columns, columns x columns: it has one crew and one wall."""
    crews, walls = zip(*(_crew_and_wall(column) for column in columns), strict=True)
    return _agree(np.array(crews)) & _agree(np.array(walls))


def _crew_and_wall(column: Column) -> tuple[str, str]:
    """The crew and the wall a column is about; "" = any."""
    if column.word == "crew_and_wall":
        crew, _, wall = column.level.rpartition(BETWEEN_CREW_AND_WALL)
        return crew, wall
    return (column.level if column.word == "crew" else "", column.level if column.word == "wall_type" else "")


def _agree(names: NDArray[np.str_]) -> NDArray[np.bool_]:
    place = np.unique(names, return_inverse=True)[1]
    anyone = names == ""
    agree: NDArray[np.bool_] = (place[:, None] == place) | anyone[:, None] | anyone
    return agree
