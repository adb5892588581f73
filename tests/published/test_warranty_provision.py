"""Warranty provisions and roll-forwards of accounting standards, exercises and filings."""

import numpy as np
import pytest

from pipeline.callbacks.age_shape import AGES, KNOTS, Curve, Shapes, shape_of
from pipeline.callbacks.history import History
from pipeline.callbacks.reserve import Model
from pipeline.callbacks.roll_forward import accrued_between, cost_to_come, footed
from pipeline.callbacks.severity import NOTHING_BACK, Severity
from schemas.units import DAYS_PER_YEAR

NONE = np.zeros(0)


def sold_today(count):
    """So many units under a one-year warranty that begins today, none repaired yet."""
    nobody = np.zeros(0, dtype=np.int64)
    return History(
        as_of=0.0,
        completed=np.zeros(count),
        warranty_days=np.full(count, DAYS_PER_YEAR),
        job=np.arange(count),
        opening=nobody,
        cause=nobody,
        reported=NONE,
        costed_on=NONE,
        gross_cost=NONE,
        recovered=NONE,
        weight=NONE,
    )


def provision_model(shares, costs):
    """A flat rate over the year: the share of units of each kind of fault, and its cost."""
    kinds = 5
    flat = shape_of(np.zeros(len(AGES.edges) - 1))
    rate, mean = (np.pad(np.array(values, float), (0, kinds - len(values))) for values in (shares, costs))
    severity = Severity(mean, mean, 0.5, np.zeros((kinds, kinds)), NOTHING_BACK, 0)
    return Model(Shapes((flat,) * kinds, Curve(np.zeros(KNOTS), np.zeros((KNOTS, KNOTS)))), rate, severity)


@pytest.mark.parametrize(
    ("units", "shares", "costs", "provision"),
    [
        (1000, (0.06, 0.04), (300, 700), 46_000),  # IFRS for SMEs, section 21, example 4: 1,000,000 of sales
        (1, (0.15, 0.05), (2_000_000, 5_000_000), 550_000),  # Ind AS 37 examination question: 80/15/5 %
        (1, (0.20, 0.05), (1_000_000, 4_000_000), 400_000),  # IAS 37 paragraph 39 (from memory)
        (4000, (0.02,), (200,), 16_000),  # textbook exercise: 4,000 sold, 2 % faulty, 200 each
        (3600, (0.03,), (1000,), 108_000),  # textbook exercise, second year: 3 % of 3,600,000
    ],
)
def test_provision_is_units_times_share_times_cost(units, shares, costs, provision):
    model = provision_model(shares, costs)
    assert cost_to_come(sold_today(units), model) == pytest.approx(provision)
    assert accrued_between(sold_today(units), model, after=-1.0) == pytest.approx(provision)


@pytest.mark.parametrize(
    ("opening", "accrued", "spent", "closing", "change"),
    [
        (0, 4000 * 0.02 * 200, 45 * 200, 7000, 0),  # textbook: accrue 16,000, spend 9,000, liability 7,000
        (0, 4100 * 0.02 * 140, 48 * 140, 4760, 0),  # the same family
        (0, 7_500_000 * 0.04, 124_800, 175_200, 0),  # lecture: expense 300,000, liability 175,200
        (0, 50_000, 23_000, 27_000, 0),  # exercise, year 1: 2 % of 2,500,000
        (27_000, 0, 0, 75_000 - 23_000, 25_000),  # the same: rate raised to 3 %, no further sales
    ],
)
def test_textbook_liabilities(opening, accrued, spent, closing, change):
    line = footed("2026-01", opening, accrued, spent, closing=closing)
    assert line.change_in_estimate == pytest.approx(change)


# Thousands; product warranty liabilities in annual filings under ASC 460-10-50-8:
# opening, acquired with other firms, payments, accruals, change in pre-existing, closing
FILINGS = [
    (30197, 840, 18691, 19148, 201, 31695),
    (31695, 43, 18861, 21347, 1198, 35422),
    (35422, 0, 20029, 26910, -518, 41785),
    (41785, 212, 5634, 6960, 239, 43562),
    (49316, 0, 7588, 8286, -991, 49023),
    (13196, 0, 2037, 4166, -1518, 13807),
    (9364, 0, 6703, 12849, -1703, 13807),
    (6147, 0, 1725, 3187, 246, 7855),
    (4226, 0, 4904, 7431, 1102, 7855),
]


@pytest.mark.parametrize(("opening", "acquired", "payments", "accruals", "change", "closing"), FILINGS)
def test_filed_roll_forwards_foot(opening, acquired, payments, accruals, change, closing):
    """What we call the change in estimate is what the filing reports as change in pre-existing warranties."""
    line = footed("2026-01", opening, acquired + accruals, payments, closing=closing)
    assert line.change_in_estimate == change
