"""Findings in words: the counts and the range are there, proxies are named, nothing is called no effect."""

from dataclasses import replace

import numpy as np
import pytest

from pipeline.callbacks.patterns import Finding, smallest_ratio_seen
from pipeline.callbacks.threshold import Threshold, among
from pipeline.callbacks.wording import sentence, threshold_sentence

FOUND = Finding(
    "gasket_gap", "leak", "the seal behind the frame was broken", "strong", 120, 480, 14, 20, 0.83,
    2.4, 1.3, 4.4, 0.001, 0.004, True, True, 2.9, None,
)  # fmt: skip


def test_a_flagged_pattern_is_a_lead_with_its_range_and_counts():
    text = sentence(FOUND)
    assert "2.4 times as often (1.3–4.4)" in text
    assert "not proof that fixing it will remove the callbacks" in text
    assert "34 callbacks, 14 of them with it" in text
    assert "120 of 600 openings where it was recorded (83 % of all)" in text


def test_a_proxy_names_what_it_stands_in_for():
    text = sentence(replace(FOUND, flagged=False, stands_in_for="set_cold"))
    assert "stands in for it" in text
    assert "set_cold" in text


def test_an_unflagged_pattern_says_what_would_have_shown():
    text = sentence(replace(FOUND, flagged=False, level="too_early", p=0.2))
    assert "too early to tell" in text
    assert "smaller than 2.9 times" in text


def test_a_fault_that_seems_to_protect_is_a_question_about_the_records():
    text = sentence(replace(FOUND, flagged=False, level="too_early", p=0.9995))
    assert "recorded alike on good days and bad" in text


def test_too_little_data_says_so():
    assert "not enough data yet" in sentence(replace(FOUND, flagged=False, enough_data=False))


def test_a_seldom_recorded_reading_and_uneven_crews_are_said():
    text = sentence(replace(FOUND, recorded_share=0.4), uneven=True)
    assert "Too seldom recorded" in text
    assert "Crews differ by more than 20 points" in text


@pytest.mark.parametrize(("events", "ratio"), [(10, 15), (30, 4.7), (60, 3.0), (100, 2.3), (230, 1.75), (480, 1.5)])
def test_smallest_ratio_that_would_have_shown(events, ratio):
    """80 % power at one-sided 0.005 with a fifth of the openings exposed (Schoenfeld 1983; figures of our simulation
    study, two digits)."""
    assert smallest_ratio_seen(events, 0.2) == pytest.approx(ratio, rel=0.035)


def test_no_threshold_is_said_with_the_number_of_callbacks():
    few = Threshold("gasket_gap_in", "leak", 9, np.nan, np.nan, np.nan, np.nan)
    assert "9 callbacks" in threshold_sentence(few)
    unclear = replace(few, events=40, p=0.3)
    assert "No threshold can be placed on the gap in the gasket yet" in threshold_sentence(unclear)


def test_of_three_searches_at_once_each_has_to_be_three_times_as_clear():
    """p 0.01 becomes 0.03 and stays; p 0.02 becomes 0.06, and nothing is placed; too few callbacks stay too few."""
    placed = Threshold("gasket_gap_in", "leak", 69, 0.01, 0.5, 0.25, 0.75)
    assert among(placed, 3) == replace(placed, p=0.03)
    unclear = among(replace(placed, p=0.02), 3)
    assert (unclear.declared, unclear.p) == (False, 0.06)
    assert "no cut stands out" in threshold_sentence(unclear)
    assert not among(Threshold("gasket_gap_in", "leak", 9, np.nan, np.nan, np.nan, np.nan), 3).declared


def test_a_placed_threshold_has_its_range_and_its_chance():
    placed = Threshold("anchor_torque_max_lbft", "fit", 69, 0.001, 24.5, 23.75, 26.25)
    text = threshold_sentence(placed)
    assert "highest anchor torque above 24.5 lbft" in text
    assert "23.75–26.25 lbft; 69 callbacks" in text
    assert "maker's own limit comes first" in text


def test_readings_for_which_low_is_worse_say_below():
    cold = Threshold("substrate_temp_f", "leak", 40, 0.01, 41.0, 36.5, 44.5)
    assert "wall temperature below 41 °F" in threshold_sentence(cold)
