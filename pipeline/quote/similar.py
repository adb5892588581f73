"""Finished openings like the one asked for, with what they took."""

from collections.abc import Mapping
from datetime import date
from typing import Any, TypedDict

import numpy as np

from schemas.results_quote import SimilarRow

SIMILAR_SHOWN = 5
MOST_COMPARED = 3000  # newest finished openings that are looked through: a page must hold them too; house rule
SIZE_APART_IN = 24.0  # as unlike as another wall or another kind of work; house rule
HALF = 0.5  # another dig or well, or a depth not recorded; house rule
WHOLE_WORDS, HALF_WORDS = ("wall_type", "opening_work"), ("dig_method", "well_type")
SIZES = ("rough_width_in", "rough_height_in")
ALWAYS_TOLD = ("soil", "drain")
WORDS_OF = {
    "wall_type": "{}",
    "opening_work": "{}",
    "dig_method": "dig: {}",
    "well_type": "well: {}",
    "soil": "{}",
    "drain": "drain: {}",
}
SIZE_DIGITS = 2


class OpeningsDone(TypedDict):
    """Finished openings as columns, later id first; words "" and sizes None where not recorded. [h, in]"""

    opening_id: list[str]
    completed_on: list[str]
    hours: list[float]
    wall_type: list[str]
    opening_work: list[str]
    dig_method: list[str]
    well_type: list[str]
    rough_width_in: list[float]
    rough_height_in: list[float]
    depth_below_grade_in: list[float | None]
    soil: list[str]
    drain: list[str]


def most_similar(done: OpeningsDone, asked: Mapping[str, Any], as_of: date) -> list[SimilarRow]:
    """The finished openings most like one asked for, likest first.

    in:     openings done; one opening's values (None = not given); openings completed later are left out
    out:    at most 5, with their hours, and their sizes, ground and what else differs in words
    source: 1 for another wall or kind of work, ½ for another dig or well, 1 for each 24 in of size; house rule
    """
    unlike = sum((_differs(done, name, asked) for name in WHOLE_WORDS), start=np.zeros(len(done["opening_id"])))
    unlike = unlike + sum(HALF * _differs(done, name, asked) for name in HALF_WORDS)
    unlike = unlike + sum(np.abs(_sizes(done, name) - asked[name]) / SIZE_APART_IN for name in SIZES)
    depth = asked.get("depth_below_grade_in")
    apart = np.abs(_sizes(done, "depth_below_grade_in") - (np.nan if depth is None else depth)) / SIZE_APART_IN
    unlike = unlike + np.where(np.isnan(apart), HALF, apart)
    known = np.array(done["completed_on"], dtype=str) <= as_of.isoformat()
    nearest = [at for at in np.argsort(unlike, kind="stable") if known[at]][:SIMILAR_SHOWN]
    return [
        SimilarRow(opening_id=done["opening_id"][at], hours=done["hours"][at], told=_told(done, int(at), asked))
        for at in nearest
    ]


def _told(done: Mapping[str, Any], at: int, asked: Mapping[str, Any]) -> str:
    """Sizes, ground and drain of one opening done, and the kind of wall, work, dig and well where it is another."""
    words = {name: done[name][at] for name in (*WHOLE_WORDS, *HALF_WORDS) if done[name][at] != (asked.get(name) or "")}
    # an earlier fit did not keep soil and drain
    words |= {name: done[name][at] for name in ALWAYS_TOLD if name in done}
    width, height = (_size(done[name][at]) for name in SIZES)
    depth = done["depth_below_grade_in"][at]
    sizes = [f"{width} × {height} in", *([] if depth is None else [f"{_size(depth)} in deep"])]
    return ", ".join([*sizes, *(WORDS_OF[name].format(word.replace("_", " ")) for name, word in words.items() if word)])


def _size(value: float) -> str:
    return f"{round(value, SIZE_DIGITS):g}"


def _differs(done: Mapping[str, Any], name: str, asked: Mapping[str, Any]) -> np.ndarray:
    other: np.ndarray = np.array(done[name], dtype=str) != (asked.get(name) or "")
    return other.astype(float)


def _sizes(done: Mapping[str, Any], name: str) -> np.ndarray:
    return np.array(done[name], dtype=float)
