"""Callback rates against published figures; tolerance = the digits printed."""

import numpy as np
import pytest

from dashboards.warranty_charts import byar_limits
from pipeline.callbacks.rates import (
    poisson_limits,
    rate_per_100_years,
    rate_ratio,
    standardised_ratio,
    stratified_rate_ratio,
)


@pytest.mark.parametrize(
    ("events", "low", "high"),
    [(0, 0.0, 3.6888795), (1, 0.0253178, 5.5716434), (3, 0.6186721, 8.7672731), (10, 4.7953887, 18.3903560)],
)
def test_exact_poisson_limits_of_a_count(events, low, high):
    """Garwood limits as printed by R epitools pois.exact and R poisson.test (run independently)."""
    assert poisson_limits(events) == pytest.approx((low, high), rel=1e-6)


@pytest.mark.parametrize(
    ("events", "low", "high"), [(0, 0.0, 3.688), (3, 0.6029726, 8.7653644), (10, 4.7874499, 18.3914586),
                                (100, 81.3621055, 121.6279375)]
)  # fmt: skip
def test_byars_limits_of_a_count(events, low, high):
    """Breslow and Day, vol. II, chapter 2 (formula from memory; own values from it; 1.96 for
    the normal quantile costs the fifth digit); at 0 within 2 % of Garwood's."""
    assert byar_limits(events) == pytest.approx((low, high), rel=5e-5 if events else 0.02)


def test_rate_with_exact_limits_per_100_years():
    """R poisson.test help page: 137 events in 24.19893 units, 5.661407 per unit, 4.753125 to 6.692709."""
    found = rate_per_100_years(137, 24.19893)
    assert (found.value, found.low, found.high) == pytest.approx((566.1407, 475.312480, 669.270933), rel=1e-6)


def test_ratio_of_two_rates_with_exact_limits():
    """Breast cancer after fluoroscopy, 41 in 28,010 against 15 in 19,017 woman-years (Boice and Monson 1977; from
    memory): ratio 1.855759, Clopper-Pearson limits 1.00568 and 3.60930 (R poisson.test)."""
    found = rate_ratio((41, 15), (28_010, 19_017))
    assert (found.value, found.low, found.high) == pytest.approx((1.855759, 1.00568406, 3.60930031), rel=1e-6)


def test_ratio_of_two_rates_of_the_reference_help_page():
    """R poisson.test help page: 11 in 800 against 21 in 3,011: 1.971488, limits 0.858426 and 4.277266."""
    found = rate_ratio((11, 21), (800, 3_011))
    assert (found.value, found.low, found.high) == pytest.approx((1.9714881, 0.858426403, 4.277265944), rel=1e-6)


DOCTORS_EVENTS = np.array([[32, 2], [104, 12], [206, 28], [186, 28], [102, 31]], float)
DOCTORS_YEARS = np.array([[52_407, 18_790], [43_248, 10_673], [28_612, 5_710], [12_663, 2_585], [5_317, 1_462]], float)


def test_mantel_haenszel_rate_ratio_of_the_british_doctors():
    """Coronary deaths, smokers against others, five age bands (Doll and Hill 1966): 1.424682, 1.154703 to 1.757784,
    as a commercial package's manual prints (from memory)."""
    found = stratified_rate_ratio(DOCTORS_EVENTS, DOCTORS_YEARS)
    assert (found.value, found.low, found.high) == pytest.approx((1.424682, 1.154703, 1.757784), rel=1e-6)


def test_a_stratum_without_exposure_on_one_side_tells_nothing():
    """An empty stratum leaves the ratio of the British doctors as it is."""
    events, years = np.vstack([DOCTORS_EVENTS, [5, 0]]), np.vstack([DOCTORS_YEARS, [100, 0]])
    assert stratified_rate_ratio(events, years).value == pytest.approx(1.424682, rel=1e-6)


def test_standardised_ratio_of_the_british_doctors():
    """630 deaths among smokers where the other doctors' rates give 444.410192: ratio 1.4176093."""
    expected = float((DOCTORS_EVENTS[:, 1] / DOCTORS_YEARS[:, 1] * DOCTORS_YEARS[:, 0]).sum())
    assert expected == pytest.approx(444.410192, rel=1e-8)
    assert standardised_ratio(630, expected).value == pytest.approx(1.4176093, rel=1e-7)


def test_no_exposure_gives_no_rate():
    """Without opening-years there is no rate to print."""
    assert np.isnan(rate_per_100_years(0, 0.0).value)
