"""What is known on the day of a quote: the columns an estimate may see, and what is assumed for a gap."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from pipeline.takeoff.openings import Flags, Numbers, Openings, Words, count, numbers, words, zero_if_absent

SIZE_COLUMNS = (
    "wall_thickness_in",
    "rough_width_in",
    "rough_height_in",
    "existing_width_in",
    "existing_height_in",
    "depth_below_grade_in",
    "well_width_in",
    "well_projection_in",
    "well_depth_in",
)
WORD_COLUMNS = ("wall_type", "opening_work", "soil", "dig_method", "well_type", "drain")

# Where a book holds nothing to learn a gap from. Common practice, no source.
USUAL = {
    "wall_thickness_in": 8.0,
    "depth_over_height_in": 12.0,
    "well_over_width_in": 12.0,
    "well_projection_in": 36.0,
    "reinforced": 0.3,
}
LEAST_DIG_IN = 12.0  # no dig is assumed shallower than a gravel bed and a little well; common practice, no source
USUAL_WORDS = {"dig_method": "machine", "soil": "loam", "drain": "gravel_pit"}  # the dig decides whether soil matters
# What goes with a kind of work, where the book holds fewer than FEWEST_OF_A_KIND that say. Common practice, no source.
USUAL_OF_KIND = {
    "replace without a well": {"dig_method": "none", "drain": "none"},
    "new_cut without a well": {"drain": "none"},
    "enlarge without a well": {"drain": "none"},
}
FEWEST_OF_A_KIND = 5  # openings of one kind of work that say how they were dug or drained; house rule
WITH_A_WELL, WITHOUT_A_WELL = " with a well", " without a well"

Defaults = dict[str, Any]


def learn_defaults(openings: Openings) -> Defaults:
    """What to assume for a column that was not recorded, from the firm's own openings.

    in:     the columns of the training openings
    out:    plain numbers and words: medians (thickness by wall type), most frequent words, shares; dig, drain and
            depth also by what goes with them: the kind of work and whether there is a well
    source: house rule; simulation study, fresh seeds
    """
    walls, kinds = words(openings, "wall_type"), kinds_of_work(openings)
    over = numbers(openings, "depth_below_grade_in") - numbers(openings, "rough_height_in")
    return {
        "wall_thickness_in": _by_wall(walls, numbers(openings, "wall_thickness_in"), USUAL["wall_thickness_in"]),
        "reinforced": _by_wall(walls, numbers(openings, "reinforced"), USUAL["reinforced"], share=True),
        "depth_over_height_in": _median(over, USUAL["depth_over_height_in"]),
        "depth_over_height_of_kind_in": _by_kind(kinds, over, ~np.isnan(over), lambda few: _median(few, 0.0)),
        "well_over_width_in": _well_over_width(openings),
        "well_projection_in": _median(numbers(openings, "well_projection_in"), USUAL["well_projection_in"]),
        "words": {column: _most_frequent(words(openings, column), usual) for column, usual in USUAL_WORDS.items()},
        "words_of_kind": {column: _words_by_kind(kinds, words(openings, column)) for column in ("dig_method", "drain")},
    }


def kinds_of_work(openings: Openings) -> Words:
    """The kind of work of each opening, and whether there is a well: "replace without a well"."""
    has_well = words(openings, "well_type") != "none"
    kinds: Words = np.char.add(words(openings, "opening_work"), np.where(has_well, WITH_A_WELL, WITHOUT_A_WELL))
    return kinds


def _by_kind(kinds: Words, values: Any, known: Flags, usual: Callable[[Any], Any]) -> dict[str, Any]:
    """What is usual for each kind of work of which enough openings say."""
    enough = [kind for kind in np.unique(kinds[known]) if (kinds[known] == kind).sum() >= FEWEST_OF_A_KIND]
    return {str(kind): usual(values[known & (kinds == kind)]) for kind in enough}


def _words_by_kind(kinds: Words, values: Words) -> dict[str, str]:
    return _by_kind(kinds, values, values != "", lambda few: _most_frequent(few, ""))


def _well_over_width(openings: Openings) -> float:
    """The usual excess of the well over the opening; no well is assumed narrower than its opening. [in]"""
    over = numbers(openings, "well_width_in") - numbers(openings, "rough_width_in")
    return max(_median(over, USUAL["well_over_width_in"]), 0.0)


def _median(values: Numbers, usual: float) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if len(known) else usual


def _by_wall(walls: Words, values: Numbers, usual: float, *, share: bool = False) -> dict[str, float]:
    known = np.isfinite(values)
    middle = np.mean if share else np.median
    of_wall = {str(wall): float(middle(values[known & (walls == wall)])) for wall in np.unique(walls[known])}
    of_wall[""] = float(middle(values[known])) if known.any() else usual
    return of_wall


def _most_frequent(values: Words, usual: str) -> str:
    recorded = values[values != ""]
    if not len(recorded):
        return usual
    found, counts = np.unique(recorded, return_counts=True)
    return str(found[np.argmax(counts)])


def fill_gaps(openings: Openings, defaults: Defaults) -> tuple[dict[str, Any], list[list[str]]]:
    """The openings with every gap filled, and for each opening the columns that were assumed.

    in:     the columns of openings; defaults from learn_defaults
    out:    all columns, those an estimate sees without nan or empty words; per opening the assumed columns
    source: simulation study, fresh seeds: median thickness of the wall type, rough height plus the usual
            difference for the depth, most frequent soil, the wall type's share for reinforcement; dig, drain and
            depth as they go with the kind of work, house rule
    """
    filled: dict[str, Any] = dict(openings) | {column: words(openings, column) for column in WORD_COLUMNS}
    filled |= {column: numbers(openings, column) for column in SIZE_COLUMNS}
    filled["existing_width_in"], filled["existing_height_in"] = _existing_sizes(openings, filled)
    assumed: list[list[str]] = [[] for _ in range(count(openings))]
    for column, gap, values in _assumptions(openings, filled, defaults):
        needed = gap & _matters(column, filled)
        for index in np.flatnonzero(needed):
            assumed[index].append(column)
        filled[column] = np.where(gap, values, filled.get(column, values))
    return filled, assumed


def _existing_sizes(openings: Openings, filled: dict[str, Any]) -> tuple[Numbers, Numbers]:
    """A replaced window leaves the wall as it was, so its old size, when not recorded, is the new one."""
    replaced = filled["opening_work"] == "replace"
    sizes = []
    for side in ("width", "height"):
        old = numbers(openings, f"existing_{side}_in")
        gap = replaced & ~(old > 0)
        sizes.append(np.where(gap, filled[f"rough_{side}_in"], zero_if_absent(openings, f"existing_{side}_in")))
    return sizes[0], sizes[1]


def _assumptions(
    openings: Openings, filled: dict[str, Any], defaults: Defaults
) -> list[tuple[str, Flags, Any]]:
    walls, kinds = filled["wall_type"], kinds_of_work(openings)
    reinforced = numbers(openings, "reinforced")
    rules: list[tuple[str, Flags, Any]] = [
        (column, filled[column] == "", _usual_words(column, kinds, defaults)) for column in defaults["words"]
    ]
    over_of_kind = defaults.get("depth_over_height_of_kind_in", {})
    over = np.array([over_of_kind.get(str(kind), defaults["depth_over_height_in"]) for kind in kinds], dtype=float)
    sizes = {
        "wall_thickness_in": _look_up(walls, defaults["wall_thickness_in"]),
        "depth_below_grade_in": np.maximum(filled["rough_height_in"] + over, LEAST_DIG_IN),
        "well_width_in": filled["rough_width_in"] + defaults["well_over_width_in"],
        "well_projection_in": np.full(len(walls), defaults["well_projection_in"]),
    }
    rules += [(column, np.isnan(filled[column]), values) for column, values in sizes.items()]
    filled["reinforced"] = reinforced
    rules.append(("reinforced", np.isnan(reinforced), _look_up(walls, defaults["reinforced"])))
    return rules


def _usual_words(column: str, kinds: Words, defaults: Defaults) -> Words:
    """The word that goes with each opening's kind of work: the book's, else the trade's, else the book's of all."""
    of_kind: Mapping[str, str] = defaults.get("words_of_kind", {}).get(column, {})

    def usual(kind: str) -> str:
        of_trade = USUAL_OF_KIND.get(kind, {}).get(column, defaults["words"][column])
        return of_kind.get(kind, of_trade)

    return np.array([usual(str(kind)) for kind in kinds], dtype=str)


def _look_up(walls: Words, of_wall: dict[str, float]) -> Numbers:
    return np.array([of_wall.get(str(wall), of_wall[""]) for wall in walls], dtype=float)


def _matters(column: str, filled: dict[str, Any]) -> Flags:
    """Whether a gap changes the estimate: soil does not where nothing is dug, nor a well's width without one."""
    everywhere = np.ones(len(filled["wall_type"]), dtype=bool)
    if column in ("soil", "depth_below_grade_in"):
        return np.asarray((filled["dig_method"] != "none") | (filled["well_type"] != "none"))
    if column in ("well_width_in", "well_projection_in", "drain"):
        return np.asarray(filled["well_type"] != "none")
    if column in ("wall_thickness_in", "reinforced"):
        return np.asarray(filled["opening_work"] != "replace")
    return everywhere
