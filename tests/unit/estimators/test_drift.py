"""Change detection by hand."""

import numpy as np
import pytest

from pipeline.estimators.drift import Change, change_sentence, find_change, standardised_differences

RNG = np.random.default_rng(11)


def days(n, step=7):
    return np.arange(n) * float(step) + 19000


def test_difference_of_means_over_its_standard_error():
    """0, 2 | 10, 12: means 1 and 11, variance within (1+1+1+1)/2 = 2, error sqrt(2 x (1/2 + 1/2)) = 1.414: z 7.071."""
    z = standardised_differences(np.array([0.0, 2.0, 10.0, 12.0]))
    assert z[1] == pytest.approx(7.071, abs=0.001)


def test_a_lasting_step_is_found_where_it_was_made():
    error = RNG.normal(0, 0.2, 200) + np.where(np.arange(200) < 120, 0.1, -0.1)
    change = find_change(error, np.arange(200), days(200))
    assert change is not None
    assert abs(change.jobs_before - 120) <= 10
    assert change.factor == pytest.approx(np.exp(-0.2), rel=0.08)


def test_noise_alone_is_no_change():
    """Of 200 quiet phases of 150 jobs at most 4 are called changed, one with fat tails (t, 4 degrees) as seldom."""
    quiet = np.random.default_rng(12)
    for draw in (lambda: quiet.normal(0, 0.2, 150), lambda: 0.2 * quiet.standard_t(4, 150)):
        found = [find_change(draw(), np.arange(150), days(150)) for _ in range(200)]
        assert sum(change is not None for change in found) <= 4


def test_a_bad_month_is_no_change():
    """Eight jobs at double hours, then as before; and the same eight at the very end of the book."""
    error = RNG.normal(0, 0.2, 200)
    within, at_end = error.copy(), error.copy()
    within[150:158] += 0.7
    at_end[192:] += 0.7
    assert find_change(within, np.arange(200), days(200)) is None
    assert find_change(at_end, np.arange(200), days(200)) is None


def test_a_bad_month_amid_a_quiet_year_is_no_change():
    """Twenty jobs at 2.2 times their hours, 25 quiet ones after them: a quarter of the year, not since March."""
    error = np.random.default_rng(13).normal(0, 0.3, 400)
    error[355:375] += 0.8
    assert find_change(error, np.arange(400), days(400)) is None


def test_fewer_than_sixty_jobs_are_too_few():
    error = np.where(np.arange(59) < 30, 1.0, -1.0) + RNG.normal(0, 0.01, 59)
    assert find_change(error, np.arange(59), days(59)) is None


def test_the_change_in_words():
    change = Change(since="2024-02-12", day=0.0, factor=0.8, z=-6.0, jobs_before=400, jobs_after=300)
    said = "wall cutting hours fell 19 % from February 2024 on (300 jobs since)"
    assert change_sentence("wall_cutting", change, 0.81) == said
    faint = Change(since="2024-02-12", day=0.0, factor=1.1, z=3.5, jobs_before=90, jobs_after=60)
    assert change_sentence("backfill", faint, 1.1).startswith("possible change: backfill hours rose 10 %")
