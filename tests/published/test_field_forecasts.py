"""Units in the field: the bearing-cage forecast and the valve-seat replacements."""

import numpy as np
import pytest

from pipeline.callbacks.age_shape import Ages, fitted_curve
from pipeline.callbacks.mcf import mean_cumulative

# Bearing cages of 1,703 engines: hours, failed (1) or running (0), number (Abernethy 1983; Meeker and Escobar 1998)
CAGES = """50 0 288, 150 0 148, 230 1 1, 250 0 124, 334 1 1, 350 0 111, 423 1 1, 450 0 106, 550 0 99, 650 0 110,
750 0 114, 850 0 119, 950 0 127, 990 1 1, 1009 1 1, 1050 0 123, 1150 0 93, 1250 0 47, 1350 0 41, 1450 0 27,
1510 1 1, 1550 0 11, 1650 0 6, 1850 0 1, 2050 0 2"""

# Valve seats of 41 diesel engines: last day seen, and the days of replacements (Nelson and Doganaksoy 1989; data from
# memory: 48 replacements, and the mean cumulative function agrees with R's survfit to 7 figures)
VALVE_SEATS = """761 759 667:98 667:326,653,653 665 667:84 663:87 653:646 653:92 651 650:258,328,377,621 648:61,539
644:254,276,298,640 642:76,538 641:635 649:349,404,561 631 596 614:120,479 582:323,449 589:139,139 593 589:573
606:165,408,604 594:249 613:344,497 595:265,586 389:166,206,348 601 601:410,581 611 608 587 603:367 585:202,563,570
587 578 578 586 585 582"""


def cages():
    rows = np.array([[float(cell) for cell in entry.split()] for entry in CAGES.replace("\n", " ").split(",")])
    return rows[:, 0], rows[:, 1] == 1, rows[:, 2]


def test_bearing_cages_expected_to_fail_in_the_next_300_hours():
    """Weibull slope 2.035 and 5.06 failures to come (Meeker and Escobar 1998, ch. 12, from memory; R survreg:
    2.035319; own forecast from it 5.0582).

    Our curve held straight in log age is a Weibull hazard; level below its first corner, and cells of one hour stand
    in for exact ages: 0.2 %.
    """
    hours, failed, number = cages()
    assert number.sum() == 1703
    ages = Ages(np.arange(0.0, 2400.0, 1.0), head_start=0.0, unit=1.0)
    ends = np.repeat(hours, number.astype(int))
    curve = fitted_curve(
        ages, ages.events(hours[failed] - 0.5, np.ones(6)), ages.exposure(ends), bend=1e-4, slope=(0.0, 100.0)
    )
    slope = (curve.values[-1] - curve.values[0]) / (ages.corners[-1] - ages.corners[0])
    assert slope + 1 == pytest.approx(2.035319, rel=0.002)
    running = ~failed
    cumulative = np.concatenate([[0.0], np.cumsum(np.exp(ages.basis @ curve.values))])
    growth = np.interp(hours[running] + 300, ages.edges, cumulative) - np.interp(hours[running], ages.edges, cumulative)
    assert (number[running] * (1 - np.exp(-growth))).sum() == pytest.approx(5.0582, rel=0.002)


def test_valve_seat_replacements_by_age():
    """Mean number per engine and its robust error at 326, 404, 561 and 653 days (R, survfit with id)."""
    engines = VALVE_SEATS.split()
    ends = np.array([float(engine.split(":")[0]) for engine in engines])
    days = [[float(day) for day in engine.split(":")[1].split(",")] if ":" in engine else [] for engine in engines]
    units = np.repeat(np.arange(len(engines)), [len(seen) for seen in days])
    assert (len(engines), len(units)) == (41, 48)
    found = mean_cumulative(np.concatenate(days), units, ends)
    assert found.mean[:3] == pytest.approx(np.array([1, 2, 3]) / 41)
    assert found.error[:3] == pytest.approx([0.024090966, 0.033641203, 0.040670231], rel=1e-7)
    assert found.at(326) == pytest.approx((0.51219512, 0.10973957), rel=1e-7)
    assert found.at(404) == pytest.approx((0.68353659, 0.13593896), rel=1e-7)
    assert found.at(561) == pytest.approx((0.88353659, 0.16174773), rel=1e-7)
    assert found.at(653) == pytest.approx((1.54268751, 0.31165607), rel=1e-7)
