"""The reserve and the crew levels on invented firms whose truth is known: fixed seeds, a small form of `make study`.

Invented data; seeds differ from those the model was built on.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.recovery.reserve_world import Physics
from tests.recovery.study_reserve import (
    FIRST,
    ONE_LARGE,
    SECOND,
    crew_by_command,
    crew_run,
    reserve_by_command,
    reserve_run,
)

FIRMS = 16
SEED = 90_000


def runs(function, openings, physics, firms=FIRMS):
    return [function(SEED + i, openings, physics) for i in range(firms)]


def mean_and_margin(figures):
    """Mean and two standard errors."""
    return float(np.mean(figures)), 2 * float(np.std(figures, ddof=1)) / len(figures) ** 0.5


@pytest.fixture(scope="module")
def thousand():
    return runs(reserve_run, 1000, FIRST)


def test_the_reserve_of_a_thousand_openings_does_not_read_high(thousand):
    """Mean of reserve over true expectation within 15 % of 1, give or take two standard errors."""
    bias, margin = mean_and_margin([run["bias"] for run in thousand])
    assert abs(bias) <= 0.15 + margin
    assert margin < 0.2


def test_its_ranges_hold_what_came(thousand):
    """At least 10 of 16 inside the 80 % range (fewer at a true 80 %: 3 % chance), at least 13 inside the 95 %."""
    assert sum(run["covered 80"] for run in thousand) >= 10
    assert sum(run["covered 95"] for run in thousand) >= 13


def test_it_errs_little_more_than_luck_alone(thousand):
    """An all-knowing reserve misses by its own share; ours by at most twice that."""
    ours, luck = (np.mean([run[name] for run in thousand]) for name in ("error", "error of the truth"))
    assert ours <= 2 * luck


def test_a_hump_a_heavy_tail_and_rising_prices_are_survived():
    """Second physics, 4,000 openings: bias within 8 % give or take two standard errors."""
    bias, margin = mean_and_margin([run["bias"] for run in runs(reserve_run, 4000, SECOND, 8)])
    assert abs(bias) <= 0.08 + margin


def test_a_wet_year_is_inside_the_range():
    """Years that differ by 40 %: most 80 % ranges still hold, since the years so far show how restless they are."""
    restless = replace(Physics(), wet_year_sd=0.4)
    held = [run["covered 95"] for run in runs(reserve_run, 1000, restless, 12)]
    assert sum(held) >= 9


def test_ordinary_crews_are_seldom_named():
    """24 firms of 1,000 openings, four crews alike: watch in at most 8 %, give or take; act in at most 2 of 72."""
    found = runs(crew_run, 1000, FIRST, 24)
    watch, margin = mean_and_margin([run["watch"] for run in found])
    assert watch <= 0.08 + margin
    assert sum(round(3 * run["act"]) for run in found) <= 2


def test_a_crew_that_does_most_of_the_work_is_no_suspect_for_it():
    """24 firms of 1,000 openings, crews alike, one with 85 % of the work: it is named in at most 2, never to act."""
    found = runs(crew_run, 1000, ONE_LARGE, 24)
    assert sum(one["first watched"] for one in found) <= 2
    assert not any(one["first on act"] for one in found)


def test_a_crew_with_two_and_a_half_times_the_calls_is_found():
    """At least 3 of 4 firms of 1,000 openings name it."""
    found = runs(crew_run, 1000, replace(FIRST, crew_factors=(2.5, 1.0, 1.0, 1.0)))
    assert np.mean([run["first watched"] for run in found]) >= 0.75


def test_the_command_line_answers_what_the_frames_answer():
    """Files written, taken in and asked by command: the reserve but for rounded cents, the crews' levels."""
    pairs = (reserve_run, reserve_by_command), (crew_run, crew_by_command)
    for on_frames, by_command in pairs:
        framed, asked = ({k: float(v) for k, v in f(SEED, 400, FIRST).items()} for f in (on_frames, by_command))
        assert asked == pytest.approx(framed, abs=1e-3, rel=1e-5)
