"""u-charts, Laney's widening, CUSUM and its run lengths, funnel limits: published series and tables."""

import numpy as np
import pytest
from scipy.special import ndtr

from pipeline.callbacks.crews import poisson_limit
from pipeline.callbacks.cusum import average_run_length, cusum_high
from pipeline.callbacks.watching import laney_ratio, u_chart

# Montgomery, Introduction to Statistical Quality Control, 2nd ed.: nonconformities on 26 circuit boards
BOARDS = np.array([21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17,
                   15.0])  # fmt: skip
# the same book: 20 samples of 5 personal computers
COMPUTERS = np.array([10, 12, 8, 14, 10, 16, 11, 7, 10, 15, 9, 5, 7, 11, 12, 6, 8, 10, 7, 5.0])
# the same book: dyed cloth, defects and units of 50 square metres
CLOTH = np.array([14, 12, 20, 11, 7, 10, 21, 16, 19, 23.0])
CLOTH_UNITS = np.array([10, 8, 13, 10, 9.5, 10, 12, 10.5, 12, 12.5])
# NIST/SEMATECH e-Handbook 6.3.2.3 (from memory)
NIST = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
        328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip
# Montgomery, table 9.1 (from memory)
SHIFTED = [9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08, 9.37,
           10.62, 10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52]  # fmt: skip


def chart(events, units):
    return u_chart(tuple(str(i) for i in range(len(events))), events, units)


def chance_limits(found):
    """Limits without the widening for restless months."""
    reach = (found.upper - found.centre) / max(found.restlessness, 1.0)
    return found.centre - reach, found.centre + reach


def test_circuit_boards():
    """Centre 19.8462, limits 6.4815 and 33.2108; boards 6 and 20 lie outside."""
    found = chart(BOARDS, np.ones(26))
    low, high = chance_limits(found)
    assert (found.centre, low[0], high[0]) == pytest.approx((19.8462, 6.4815, 33.2108), abs=1e-4)
    outside = np.abs(BOARDS - found.centre) > (high - low) / 2
    assert np.flatnonzero(outside).tolist() == [5, 19]


def test_circuit_boards_without_the_two_explained_ones():
    """Limits revised without boards 6 and 20: centre 19.66667, limits 6.362532 and 32.9708 (test references of
    qicharts2)."""
    found = chart(np.delete(BOARDS, [5, 19]), np.ones(24))
    low, high = chance_limits(found)
    assert (found.centre, low[0], high[0]) == pytest.approx((19.66667, 6.362532, 32.9708), abs=5e-5)


def test_waiting_times_in_accident_and_emergency_are_restless():
    """Share seen in time, 20 weeks (Mohammed and others 2013, as in qicharts2): standardised as a p-chart, Laney's
    ratio (2002) is 10.640422; own value by his formula."""
    seen = np.array([266501, 264225, 276532, 281461, 269071, 261215, 270409, 279778, 270483, 270320, 267923, 271478,
                     255353, 256820, 261835, 259144, 255910, 260863, 264465, 260989.0])  # fmt: skip
    all_of = np.array([280443, 276823, 291681, 296155, 282343, 275888, 283867, 295251, 284468, 282529, 279618, 283932,
                       266629, 268091, 276803, 271578, 266005, 273520, 278574, 273772.0])  # fmt: skip
    share = seen.sum() / all_of.sum()
    scores = (seen / all_of - share) / np.sqrt(share * (1 - share) / all_of)
    assert share == pytest.approx(0.95289971, rel=1e-7)
    assert laney_ratio(scores) == pytest.approx(10.640422, rel=1e-6)
    assert (np.abs(scores) > 3).sum() == 16
    assert (np.abs(scores) > 3 * laney_ratio(scores)).sum() == 0


def test_personal_computers():
    """Centre 1.93, limits .066133 and 3.793867; no month is restless, so the limits stay."""
    found = chart(COMPUTERS, np.full(20, 5.0))
    low, high = chance_limits(found)
    assert (found.centre, low[0], high[0]) == pytest.approx((1.93, 0.066133, 3.793867), abs=1e-6)


def test_dyed_cloth_with_unequal_units():
    """Centre 1.42; limits per roll as printed; Laney's ratio .6788 does not narrow them (house rule)."""
    found = chart(CLOTH, CLOTH_UNITS)
    assert found.centre == pytest.approx(1.4232558, rel=1e-7)
    assert found.restlessness == pytest.approx(0.6787956, rel=1e-6)
    assert found.upper.round(2).tolist() == [2.56, 2.69, 2.42, 2.56, 2.58, 2.56, 2.46, 2.53, 2.46, 2.44]
    assert found.lower.round(2).tolist() == [0.29, 0.16, 0.43, 0.29, 0.26, 0.29, 0.39, 0.32, 0.39, 0.41]


def test_restless_months_widen_the_limits():
    """Values 0, 4, 0, 4 … standardised ±2: moving range 4, ratio 4/1.128 = 3.546; limits widen by that much."""
    events, units = np.tile([0.0, 4.0], 10), np.full(20, 2.0)
    found = chart(events, units)
    scores = (events / units - 1.0) / np.sqrt(1 / 2)
    assert laney_ratio(scores) == pytest.approx(np.sqrt(2) * 2 / 1.128)
    assert found.upper[0] - 1.0 == pytest.approx(3 * np.sqrt(1 / 2) * found.restlessness)


def test_cusum_of_the_handbook_speaks_at_the_fourteenth_value():
    """Sums 3.0075, 4.94, 7.4475 … from value 13 on; the first above 4.1959 is the 14th."""
    sums = cusum_high(np.array(NIST), 325 + 0.3175)
    assert sums[12:] == pytest.approx([3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035], abs=1e-9)
    assert int(np.argmax(sums > 4.1959)) + 1 == 14


def test_cusum_of_a_shift_after_the_twentieth_value():
    """Sums 5.28 and 5.30 at the end, the first above 5 at value 29, last zero at 22."""
    sums = cusum_high(np.array(SHIFTED), 10.5)
    assert sums[28:] == pytest.approx([5.28, 5.30], abs=1e-9)
    assert int(np.argmax(sums > 5)) + 1 == 29
    assert int(np.flatnonzero(sums == 0)[-1]) == 21


@pytest.mark.parametrize(
    ("limit", "shift", "run_length"), [(5, 0, 465.44), (5, 1, 10.376), (4, 0, 167.68), (4, 1, 8.383)]
)
def test_average_run_lengths(limit, shift, run_length):
    """Two-sided CUSUM with reference half a sigma: 465, 10.4, 168, 8.38 (Montgomery; digits from the R package spc)."""
    up = average_run_length(lambda value: ndtr(value - shift), 0.5, limit, cells=400)
    down = average_run_length(lambda value: ndtr(value + shift), 0.5, limit, cells=400)
    assert 1 / (1 / up + 1 / down) == pytest.approx(run_length, rel=2e-4)


def test_funnel_limits():
    """Interpolated exact Poisson limits (formula of Spiegelhalter 2005); own values from scipy's quantiles."""
    limits = [[poisson_limit(np.array([due]), p)[0] for p in (0.001, 0.025, 0.975, 0.999)] for due in (20.0, 100.0)]
    assert limits[0] == pytest.approx([0.3585, 0.5603, 1.4373, 1.7357], abs=6e-5)
    assert limits[1] == pytest.approx([0.7007, 0.8037, 1.1958, 1.3180], abs=6e-5)


def test_a_funnel_limit_is_never_below_zero():
    assert poisson_limit(np.array([5.0]), 0.001)[0] == 0.0
