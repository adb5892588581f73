"""The pooled solver against published variance components, certified regressions and open effort data."""

import math

import numpy as np
import pytest

from pipeline.estimators.pooled import FIXED, Beliefs, Design, fit_pooled, left_out_effects

FREE = 1e5  # prior sd that leaves an effect to the data alone
PLAIN = Beliefs(nu=None, worth=0.0, tolerance=1e-10, most_rounds=2000)  # normal noise, spreads from the data alone


def grouped(values_by_group):
    """One random effect: an intercept and a column per group."""
    y = np.concatenate([np.array(values, dtype=float) for values in values_by_group])
    place = np.repeat(np.arange(len(values_by_group)), [len(values) for values in values_by_group])
    indicator = (place[:, None] == np.arange(len(values_by_group))).astype(float)
    X = np.column_stack([np.ones(len(y)), indicator])
    k = len(values_by_group)
    design = Design(X, np.array([FIXED, *[0] * k]), np.array([FREE, *[10.0] * k]), np.zeros(k + 1))
    return design, y


def free_regression(columns, y, beliefs=PLAIN):
    """Ordinary least squares: every effect left to the data."""
    X = np.column_stack([np.ones(len(y)), *columns])
    k = X.shape[1]
    return fit_pooled(Design(X, np.full(k, FIXED), np.full(k, 1e7), np.zeros(k)), y, np.ones(len(y)), beliefs)


# Davies and Goldsmith 1972, table 6.2 (values from memory; the mean squares below confirm them).
DYESTUFF = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
]


def test_learned_spread_is_the_reml_variance_between_batches():
    """Dyestuff: between batches 1764.05, within 2451.25 (REML = analysis of variance; lme4 1.1-31)."""
    design, y = grouped(DYESTUFF)
    fit = fit_pooled(design, y, np.ones(30), PLAIN)
    assert fit.noise_sd**2 == pytest.approx(2451.25, rel=1e-4)
    assert fit.sd[1] ** 2 == pytest.approx(1764.05, rel=1e-3)


def test_effects_of_batches_are_the_published_predictions():
    """Dyestuff BLUPs: -17.607, 0.391, 28.562, -23.085, 56.733, -44.995 about 1527.5 (lme4 1.1-31)."""
    design, y = grouped(DYESTUFF)
    fit = fit_pooled(design, y, np.ones(30), PLAIN)
    expected = [1527.5, -17.606851, 0.39126, 28.562226, -23.084538, 56.733188, -44.995287]
    assert fit.beta == pytest.approx(expected, rel=1e-3, abs=1e-2)


def test_batches_no_more_different_than_chance_get_no_spread():
    """Mean square between below within (the Dyestuff2 case): the between variance goes to 0."""
    alike = [[9.0, 10.0, 11.0, 10.0], [11.0, 9.0, 10.0, 10.0], [10.0, 11.0, 9.0, 10.0]]
    design, y = grouped(alike)
    fit = fit_pooled(design, y, np.ones(12), PLAIN)
    assert np.abs(fit.beta[1:]).max() < 1e-3
    assert fit.noise_sd**2 == pytest.approx(6 / 11, rel=1e-2)  # all spread is noise: 6 over 12 - 1


NORRIS_X = [.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, .4, .6, 775.5, 666.9, 338.0,
            447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, .3, .3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
            229.2, 669.1, 448.9, .5]  # fmt: skip
NORRIS_Y = [.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, .3, .1, 778.1, 668.8, 339.3,
            448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, .3, .6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
            228.9, 668.4, 449.2, .2]  # fmt: skip


def test_certified_straight_line():
    """NIST StRD Norris: -0.262323073774029, 1.00211681802045, residual sd 0.884796396144373."""
    fit = free_regression([np.array(NORRIS_X)], np.array(NORRIS_Y))
    assert fit.beta == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-7)
    assert fit.noise_sd == pytest.approx(0.884796396144373, rel=1e-6)
    assert np.sqrt(np.diag(fit.V)) == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-5)


# Delivery time [min], cases, distance [ft]: Montgomery and Peck, soft drinks (from memory; coefficients confirm).
DELIVERY = [
    (16.68, 7, 560), (11.50, 3, 220), (12.03, 3, 340), (14.88, 4, 80), (13.75, 6, 150), (18.11, 7, 330),
    (8.00, 2, 110), (17.83, 7, 210), (79.24, 30, 1460), (21.50, 5, 605), (40.33, 16, 688), (21.00, 10, 215),
    (13.50, 4, 255), (19.75, 6, 462), (24.00, 9, 448), (29.00, 10, 776), (15.35, 6, 200), (19.00, 7, 132),
    (9.50, 3, 36), (35.10, 17, 770), (17.90, 10, 140), (52.32, 26, 810), (18.75, 9, 450), (19.83, 8, 635),
    (10.75, 4, 150),
]  # fmt: skip


def test_open_labour_data_through_the_solver():
    """Delivery labour by cases and distance: 2.34123, 1.61591, 0.0143848; residual variance 10.624 (published fit)."""
    minutes, cases, feet = np.array(DELIVERY).T
    fit = free_regression([cases, feet], minutes)
    assert fit.beta == pytest.approx([2.34123115, 1.61590721, 0.01438483], rel=1e-5)
    assert fit.noise_sd**2 == pytest.approx(10.624167, rel=1e-5)


def test_left_out_sum_of_squares_of_the_delivery_data():
    """Each delivery predicted without itself: PRESS 459.04 (published)."""
    minutes, cases, feet = np.array(DELIVERY).T
    X = np.column_stack([np.ones(25), cases, feet])
    design = Design(X, np.full(3, FIXED), np.full(3, 1e7), np.zeros(3))
    fit = fit_pooled(design, minutes, np.ones(25), PLAIN)
    effects = left_out_effects(design, minutes, fit, np.arange(25))
    press = np.sum((minutes - np.einsum("ij,ij->i", X, effects)) ** 2)
    assert press == pytest.approx(459.03931, rel=1e-4)


# Cost, date, capacity, north-east, cooling tower, cumulative number, turnkey: Cox and Snell 1981, example G
# (values from memory; the coefficients confirm them).
PLANTS = [
    (460.05, 68.58, 687, 1, 0, 14, 0), (452.99, 67.33, 1065, 0, 1, 1, 0), (443.22, 67.33, 1065, 0, 1, 1, 0),
    (652.32, 68.00, 1065, 1, 1, 12, 0), (642.23, 68.00, 1065, 1, 1, 12, 0), (345.39, 67.92, 514, 1, 1, 3, 0),
    (272.37, 68.17, 822, 0, 0, 5, 0), (317.21, 68.42, 457, 0, 0, 1, 0), (457.12, 68.42, 822, 0, 0, 5, 0),
    (690.19, 68.33, 792, 1, 1, 2, 0), (350.63, 68.58, 560, 0, 0, 3, 0), (402.59, 68.75, 790, 1, 0, 6, 0),
    (412.18, 68.42, 530, 0, 1, 2, 0), (495.58, 68.92, 1050, 0, 0, 7, 0), (394.36, 68.92, 850, 0, 0, 16, 0),
    (423.32, 68.42, 778, 0, 0, 3, 0), (712.27, 69.50, 845, 1, 0, 17, 0), (289.66, 68.42, 530, 0, 1, 2, 0),
    (881.24, 69.17, 1090, 0, 0, 1, 0), (490.88, 68.92, 1050, 0, 0, 8, 0), (567.79, 68.75, 913, 0, 1, 15, 0),
    (665.99, 70.92, 828, 1, 0, 20, 0), (621.45, 69.67, 786, 0, 1, 18, 0), (608.80, 70.08, 821, 0, 0, 3, 0),
    (473.64, 70.42, 538, 0, 1, 19, 0), (697.14, 71.08, 1130, 0, 1, 21, 0), (207.51, 67.25, 745, 0, 0, 8, 1),
    (288.48, 67.17, 821, 0, 1, 7, 1), (284.88, 67.83, 886, 0, 0, 11, 1), (280.36, 67.83, 886, 0, 0, 11, 1),
    (217.38, 67.25, 745, 0, 0, 8, 1), (270.71, 67.83, 886, 0, 0, 11, 1),
]  # fmt: skip


def test_open_construction_cost_data_through_the_solver():
    """Cost of 32 plants on the log scale: six published effects, residual sd 0.15922 on 25 degrees of freedom."""
    cost, date, capacity, north_east, tower, number, turnkey = np.array(PLANTS).T
    columns = [date - 68, np.log(capacity), north_east, tower, np.log(number), turnkey]
    fit = free_regression(columns, np.log(cost))
    expected = [0.2124146, 0.72340795, 0.24902491, 0.14039305, -0.08757642, -0.22610341]
    assert fit.beta[1:] == pytest.approx(expected, rel=1e-5)
    assert fit.noise_sd == pytest.approx(0.159215767, rel=1e-5)


def test_turnkey_effect_is_shrunk_but_keeps_its_sign():
    """The same data with every effect believed near 0 (sd 0.15): nothing grows, nothing but noise is lost."""
    cost, date, capacity, north_east, tower, number, turnkey = np.array(PLANTS).T
    X = np.column_stack([np.ones(32), date - 68, np.log(capacity / 800), north_east, tower, np.log(number), turnkey])
    design = Design(X, np.array([FIXED, 0, 0, 0, 0, 0, 0]), np.array([10.0, *[0.15] * 6]), np.zeros(7))
    fit = fit_pooled(design, np.log(cost), np.ones(32), PLAIN)
    assert -0.2261 < fit.beta[6] < 0
    assert fit.effective_columns < 7


def test_t_noise_gives_a_gross_error_little_weight():
    """Norris with one reading mistyped tenfold: the slope moves by under 1 %, against over 10 % by least squares."""
    wrong = np.array(NORRIS_Y)
    wrong[3] *= 10
    robust = free_regression([np.array(NORRIS_X)], wrong, Beliefs(worth=0.0, tolerance=1e-8, most_rounds=500))
    squares = free_regression([np.array(NORRIS_X)], wrong)
    assert abs(robust.beta[1] / 1.00211681802045 - 1) < 0.01
    assert abs(squares.beta[1] / 1.00211681802045 - 1) > 0.1
    assert math.isfinite(robust.noise_sd)
