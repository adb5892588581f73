"""Where open jobs are heading, by hand: one hour costs 40 and 20 of overhead."""

from decimal import Decimal
from typing import Any

import pytest

from pipeline.costing.open_jobs import Rates, outlook

RATES = Rates(Decimal(40), Decimal(20))
JOB: dict[str, Any] = {
    name: Decimal(value)
    for name, value in {
        "revenue": 5000, "labour_cost": 400, "overhead": 200, "material_cost": 900, "other_cost": 100,
        "callback_cost": 0, "actual_hours": 10, "change_order_hours": 0, "change_order_cost": 0,
        "quoted_labour_hours": 30, "quoted_cost": 3300,
    }.items()
}  # fmt: skip
NOTHING: dict[str, Decimal] = {}


def test_without_a_model_the_quoted_hours_not_yet_worked_are_to_come():
    """Spent 1,600; 20 h to come at 60; the quote held 3,300 - 30 x 60 = 1,500 for the rest: 600 + 1,200 + 1,500."""
    found = outlook(JOB, RATES, NOTHING, None)
    assert (found.cost_to_date, found.expected_final_cost, found.expected_profit) == (1600, 3300, 1700)
    assert (found.basis, found.heading_for_loss) == ("quoted hours", False)


def test_with_a_model_each_phase_is_worked_at_least_to_what_it_expects():
    """8 h of digging for 5 expected are spent; 12 of 14 hours of cutting are to come: 600 + 720 + 1,500."""
    worked = {"excavation": Decimal(8), "wall_cutting": Decimal(2)}
    found = outlook(JOB, RATES, worked, {"excavation": 5.0, "wall_cutting": 14.0})
    assert found.expected_final_cost == 2820
    assert found.basis == "hours model"


def test_what_is_overspent_already_stays_overspent():
    """60 h worked for 30 quoted: nothing more to come, 3,600 + 1,500 costs more than the 5,000 it brings."""
    job = JOB | {"actual_hours": Decimal(60), "labour_cost": Decimal(2400), "overhead": Decimal(1200)}
    found = outlook(job, RATES, NOTHING, None)
    assert (found.expected_final_cost, found.expected_profit, found.heading_for_loss) == (5100, -100, True)


def test_change_orders_add_hours_and_cost_to_what_is_expected():
    """5 more hours and 400 more cost: 25 h to come, 3,700 - 35 x 60 = 1,600 for the rest."""
    job = JOB | {"change_order_hours": Decimal(5), "change_order_cost": Decimal(400)}
    assert outlook(job, RATES, NOTHING, None).expected_final_cost == 600 + 1500 + 1600


@pytest.mark.parametrize("hours", [None, Decimal(30)])
def test_without_a_quoted_cost_nothing_is_expected(hours):
    found = outlook(JOB | {"quoted_cost": None, "quoted_labour_hours": hours}, RATES, NOTHING, None)
    assert (found.cost_to_date, found.expected_final_cost, found.heading_for_loss) == (1600, None, None)


def test_with_a_quoted_cost_alone_the_larger_of_quoted_and_spent_is_expected():
    job = JOB | {"quoted_labour_hours": None}
    assert outlook(job, RATES, NOTHING, None).expected_final_cost == 3300
    assert outlook(job | {"material_cost": Decimal(4000)}, RATES, NOTHING, None).expected_final_cost == 4700
