"""Has the firm done one like this? Sizes and words seen so far, and when an estimate must be refused."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.records import Finished
from pipeline.takeoff.openings import Numbers, Openings, numbers, words

# Leverage over residual variance. Simulation study, fresh seeds.
FEW_LIKE_IT_FROM = 0.2
OUTSIDE_FROM = 0.4
FEWEST_JOBS_OF_A_WALL = 6
FAR_BEYOND = 1.5  # times the largest or below the smallest size seen: too far to stretch a rate; house rule

SIZES = (
    "rough_width_in",
    "rough_height_in",
    "wall_thickness_in",
    "depth_below_grade_in",
    "well_width_in",
    "well_projection_in",
    "openings_in_job",
)
WORDS = ("wall_type", "opening_work", "soil", "dig_method", "well_type", "drain")

OK, FEW_LIKE_IT, OUTSIDE = "ok", "few_like_it", "outside_experience"


@dataclass(frozen=True)
class Experience:
    """What training held: smallest and largest of each size, jobs per word, openings in all."""

    sizes: dict[str, list[float]]
    jobs_with: dict[str, dict[str, int]]
    openings: int

    def as_plain(self) -> dict[str, Any]:
        """The experience as JSON-able values."""
        return asdict(self)


def experience_of(data: Finished) -> Experience:
    """Sizes and words of the training openings; a size counts only where it matters."""
    sizes = {}
    for column in SIZES:
        values = numbers(data.openings, column)[_matters(column, data.openings)]
        if len(values):
            sizes[column] = [float(values.min()), float(values.max())]
    jobs_with = {}
    for column in WORDS:
        facts = words(data.openings, column)
        jobs_with[column] = {
            str(word): len(np.unique(data.job[facts == word])) for word in np.unique(facts)
        }
    return Experience(sizes, jobs_with, len(data.job))


def _matters(column: str, openings: Openings) -> NDArray[np.bool_]:
    if column == "wall_thickness_in":
        return np.asarray(words(openings, "opening_work") != "replace")
    if column == "depth_below_grade_in":
        return np.asarray(words(openings, "dig_method") != "none")
    if column.startswith("well_"):
        return np.asarray(words(openings, "well_type") != "none")
    return np.ones(len(openings["wall_type"]), dtype=bool)


@dataclass(frozen=True)
class Standing:
    """How an opening stands to experience: a word of confidence, inputs inside and outside what was seen."""

    confidence: list[str]
    in_range: list[list[str]]
    out_of_range: list[list[str]]


def standing(
    experience: Experience, openings: Openings, relative_leverage: Numbers, *, assumed: list[list[str]], starter: bool
) -> Standing:
    """Judge each opening by the doubt in its estimate and by its inputs.

    in:     openings without gaps; leverage over residual variance; columns assumed per opening: what was put in for
            a gap is no fact to be outside experience; starter: rates of the user's own are leaned on
    out:    ok, few_like_it or outside_experience per opening, with the inputs that are out of range
    source: simulation study, fresh seeds; house rule
    """
    n = len(relative_leverage)
    inside: list[list[str]] = [[] for _ in range(n)]
    outside: list[list[str]] = [[] for _ in range(n)]
    far = relative_leverage > OUTSIDE_FROM
    few = (relative_leverage > FEW_LIKE_IT_FROM) | (experience.openings == 0)
    for column, (seen, seen_far) in _seen(experience, openings).items():
        matters = _matters(column, openings) & np.array([column not in names for names in assumed], dtype=bool)
        for index in np.flatnonzero(matters):
            (inside if seen[index] else outside)[index].append(column)
        few, far = few | (matters & ~seen), far | (matters & seen_far)
    few = few | (_wall_jobs(experience, openings) < FEWEST_JOBS_OF_A_WALL)
    worst = FEW_LIKE_IT if starter else OUTSIDE
    confidence = [worst if f else FEW_LIKE_IT if w else OK for f, w in zip(far, few, strict=True)]
    return Standing(confidence, inside, outside)


def _seen(experience: Experience, openings: Openings) -> Mapping[str, tuple[NDArray[np.bool_], NDArray[np.bool_]]]:
    """Per input: was such a value seen, and is it far beyond all that was seen."""
    found = {}
    for column, (low, high) in experience.sizes.items():
        values = numbers(openings, column)
        within = (values >= low) & (values <= high)
        found[column] = (within, (values < low / FAR_BEYOND) | (values > high * FAR_BEYOND))
    for column, jobs in experience.jobs_with.items():
        known = np.isin(words(openings, column), list(jobs))
        found[column] = (known, ~known)
    return found


def _wall_jobs(experience: Experience, openings: Openings) -> Numbers:
    jobs = experience.jobs_with.get("wall_type", {})
    return np.array([jobs.get(str(wall), 0) for wall in words(openings, "wall_type")], dtype=float)
