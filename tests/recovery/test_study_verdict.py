"""A study's figure reaches its target when mean ± two standard errors touches it, and never with too few firms."""

import pytest

from tests.recovery.study_verdict import bounds, mean_and_error, verdict


@pytest.mark.parametrize(
    ("aim", "low", "high"),
    [
        (">= 0.35", 0.35, float("inf")),
        ("<= 0.1", -float("inf"), 0.1),
        ("within 0.2", -0.2, 0.2),
        ("0.8-1.2", 0.8, 1.2),
        ("0.95", 0.95, float("inf")),
    ],
)
def test_targets_in_words_are_ranges(aim, low, high):
    assert bounds(aim) == (low, high)


@pytest.mark.parametrize(
    ("mean", "firms", "said"),
    [
        (0.11, 20, "met"),
        (0.13, 20, "met within 2 se"),
        (0.15, 20, "NOT MET"),
        (0.11, 19, "not shown, 19 of 20 firms"),
        (0.15, 19, "NOT MET"),
    ],
)
def test_a_mean_of_two_hundredths_error_against_at_most_twelve_hundredths(mean, firms, said):
    assert verdict((mean, 0.02), (-float("inf"), 0.12), firms) == said


def test_two_standard_errors_of_one_two_three():
    # sd 1, three firms: 2 / sqrt(3)
    assert mean_and_error([1, 2, 3]) == pytest.approx((2, 1.1547005))
