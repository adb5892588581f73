"""How callback chances are measured against outcomes: small firms by hand, and against a reference library."""

import datetime as dt

import numpy as np
import polars as pl
import pytest
from lifelines.utils import concordance_index

from pipeline.callbacks.calibration import compared, measured_quotes
from pipeline.callbacks.catalogue import ready_patterns
from pipeline.callbacks.design import facts_of
from pipeline.callbacks.exposure import at_risk
from pipeline.callbacks.facts import FACTS
from pipeline.callbacks.risk import fit_risk, predict_risk

START = dt.date(2023, 1, 1)
TYPES = {"number": pl.Float64, "text": pl.String, "flag": pl.Boolean, "date": pl.Date}


def partly_carded(count):
    """Invented: openings watched two years, one in five with a check card; 3 in 100 of those call, 12 of the rest."""
    rng = np.random.default_rng(1)
    carded = rng.random(count) < 0.2
    called = np.flatnonzero(rng.random(count) < np.where(carded, 0.03, 0.12))
    names = [f"O{i}" for i in range(count)]
    given = {
        "opening_id": names,
        "job_id": names,
        "wall_type": ["brick"] * count,
        "checked_on": [START if card else None for card in carded],
    }
    facts = pl.DataFrame(
        [pl.Series(name, given.get(name, [None] * count), dtype=TYPES[kind]) for name, kind in FACTS.items()]
    )
    jobs = pl.DataFrame({"job_id": names, "crew": ["A", "B"] * (count // 2), "completed_on": START})
    visits = pl.DataFrame(
        {
            "opening_id": [names[i] for i in called],
            "complaint": "leak",
            "visit_reported_on": [START + dt.timedelta(days=int(rng.integers(1, 700))) for _ in called],
            "counts": True,
        }
    )
    population = at_risk(jobs.with_columns(warranty_months=24), facts, visits, dt.date(2026, 1, 1))
    return population, len(called) / count


def test_all_watched_to_the_horizon_it_is_plain_counting():
    """Chances 0.1 0.2 0.3 0.4, the last two called on days 100 and 300: 2 / 1.0; 4 of 5 pairs in order."""
    days, came = np.array([800.0, 800.0, 100.0, 300.0]), np.array([False, False, True, True])
    found = compared(np.array([0.1, 0.2, 0.3, 0.4]), days, came, 730.0)
    assert found.observed_over_expected == pytest.approx(2.0)
    assert found.c_index == pytest.approx(4 / 5)


def test_without_anybody_lost_from_sight_the_order_is_harrells():
    """The concordance index of lifelines on 300 invented openings, all watched to the horizon, with ties."""
    rng = np.random.default_rng(8)
    chance = np.round(rng.uniform(0.05, 0.6, 300), 1)
    came = rng.random(300) < chance
    days = np.where(came, np.round(rng.uniform(1, 700, 300)), 800.0)
    expected = concordance_index(days, -chance, came)
    assert compared(chance, days, came, 730.0).c_index == pytest.approx(expected, abs=1e-3)


def test_a_call_after_others_were_lost_weighs_by_the_square():
    """Called on day 5 at .3 (weight 1) and day 20 at .1; one of three left is lost on day 10, so the second counts 9/4.

    Pairs: day 5 before .2 (lost), .1, .2: all won. Day 20 before .2: lost. (3 + 0) / (3 + 9/4).
    """
    days, came = np.array([5.0, 10.0, 20.0, 800.0]), np.array([True, False, True, False])
    assert compared(np.array([0.3, 0.2, 0.1, 0.2]), days, came, 730.0).c_index == pytest.approx(3 / (3 + 9 / 4))


def test_a_quote_has_the_rate_of_openings_with_and_without_a_card():
    """Some 10 in 100 call; the quote says so, though nobody knows yet whether a card will be filled in."""
    population, share = partly_carded(2_000)
    risk = fit_risk(population, ready_patterns({}, facts_of(population), population.height))
    quoted = predict_risk(risk, facts_of(population))["leak"]
    assert quoted.mean() == pytest.approx(share, rel=0.05)


def test_what_is_measured_is_what_a_quote_says():
    """The same firm: 1 opening called for each one expected, and the range holds it."""
    population, _ = partly_carded(2_000)
    found = measured_quotes(population, ready_patterns({}, facts_of(population), population.height))
    assert found.low.observed_over_expected < 1 < found.high.observed_over_expected
    assert found.figures.observed_over_expected == pytest.approx(1.0, abs=0.05)


def test_ties_count_half_in_the_order():
    """One called back at 0.2; others at 0.2 and 0.1: (0.5 + 1) / 2."""
    days, came = np.array([100.0, 800.0, 800.0]), np.array([True, False, False])
    assert compared(np.array([0.2, 0.2, 0.1]), days, came, 730.0).c_index == pytest.approx(0.75)


def test_an_opening_lost_from_sight_is_made_up_for_by_those_still_watched():
    """One called back on day 5 weighs 1; one of the four left is lost on day 10, so the three after it weigh 4/3.

    Observed 1, expected 0.2 x (1 + 3 x 4/3) = 1.
    """
    days, came = np.array([5.0, 10.0, 800.0, 800.0, 800.0]), np.array([True, False, False, False, False])
    assert compared(np.full(5, 0.2), days, came, 730.0).observed_over_expected == pytest.approx(1.0)


def test_the_slope_is_one_where_chances_are_right():
    """20,000 invented openings whose callbacks fall by the given chances."""
    rng = np.random.default_rng(4)
    chance = 1 - np.exp(-0.1 * np.exp(rng.normal(0, 0.7, 20_000)))
    came = rng.random(20_000) < chance
    found = compared(chance, np.where(came, 100.0, 800.0), came, 730.0)
    assert found.slope == pytest.approx(1.0, abs=0.1)
    assert found.observed_over_expected == pytest.approx(1.0, abs=0.05)
