"""Time-to-callback curves against published data and a reference library."""

import numpy as np
import pytest

from pipeline.callbacks.curves import aalen_johansen, kaplan_meier

# 6-MP remission data, weeks, 21 patients (Freireich and others 1963); + = still in remission
SIX_MP = np.array([6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35], float)
RELAPSED = np.arange(21) < 9


def test_kaplan_meier_of_the_6_mp_patients():
    """Kalbfleisch and Prentice; Klein and Moeschberger ex. 4.1-4.2 (from memory), R survfit: five decimals."""
    curve = kaplan_meier(SIX_MP, RELAPSED)
    assert curve.days.tolist() == [6, 7, 10, 13, 16, 22, 23]
    printed = [0.85714, 0.80672, 0.75294, 0.69020, 0.62745, 0.53782, 0.44818]
    assert curve.surviving == pytest.approx(printed, abs=1e-5)
    errors = [0.076360, 0.086935, 0.096350, 0.106815, 0.114054, 0.128234, 0.134591]
    assert curve.error == pytest.approx(errors, abs=1e-6)


def test_nelson_aalen_of_the_6_mp_patients():
    """Cumulative hazard, R survfit: six decimals."""
    printed = [0.142857, 0.201681, 0.268347, 0.351681, 0.442590, 0.585447, 0.752114]
    assert kaplan_meier(SIX_MP, RELAPSED).cumulative_hazard == pytest.approx(printed, abs=1e-6)


def test_share_called_back_by_a_day_steps_on_the_day():
    """Nobody before week 6; 1 - 0.85714 from week 6 on."""
    curve = kaplan_meier(SIX_MP, RELAPSED)
    assert curve.share_by(5.9) == 0
    assert curve.share_by(6) == pytest.approx(0.14286, abs=1e-5)


def test_aalen_johansen_by_hand():
    """Four openings: leak on day 1, gone on day 2, leak on day 3, watched to day 4.

    Leaks: 1/4 on day 1; on day 3 half of those left fail, and 1/2 are left: 1/4 + 1/2 x 1/2 = 1/2.
    1 - Kaplan-Meier with the second opening censored would give 1 - 3/4 x 1/2 = 5/8: too many.
    """
    days, share = aalen_johansen(np.array([1.0, 2, 3, 4]), np.array([1, 2, 1, 0]), 1)
    assert days.tolist() == [1, 2, 3]
    assert share == pytest.approx([0.25, 0.25, 0.5])


def test_aalen_johansen_agrees_with_the_reference_library():
    """statsmodels CumIncidenceRight on 300 invented openings with tied days."""
    reference = pytest.importorskip("statsmodels.duration.survfunc")
    rng = np.random.default_rng(5)
    days, kind = rng.integers(1, 60, 300).astype(float), rng.integers(0, 3, 300)
    theirs = reference.CumIncidenceRight(days, kind)
    at, ours = aalen_johansen(days, kind, 2)
    on_our_days = np.isin(theirs.times, at)  # theirs also lists days on which only watching ended
    assert on_our_days.sum() == len(at)
    assert ours == pytest.approx(theirs.cinc[1][on_our_days], abs=1e-10)
