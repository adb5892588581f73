"""The bridge from quoted to actual profit, by hand."""

from decimal import Decimal
from typing import Any

from pipeline.costing.bridge import bridge

JOB: dict[str, Any] = {
    name: None if value is None else Decimal(value)
    for name, value in {
        "contract_price": 5000, "change_orders": 400, "change_order_cost": 250, "quoted_cost": 3500, "revenue": 5400,
        "labour_cost": 1500, "material_cost": 1200, "other_cost": 300, "overhead": 600, "callback_cost": 90,
        "labour_rate_variance": 60, "labour_efficiency_variance": 140, "material_price_variance": 30,
        "material_usage_variance": None,
    }.items()
}  # fmt: skip
PROFIT = Decimal("1710.00")


def amounts(steps: list[Any]) -> dict[str, float]:
    return {step["step"]: float(step["amount"]) for step in steps}


def test_what_the_standards_do_not_explain_is_one_step():
    """1,500 quoted + 400 - 250 - 60 - 140 - 30 - 90 = 1,330; the job earned 1,710: the rest of the quote gave 380."""
    assert amounts(bridge(JOB, PROFIT)) == {
        "quoted profit": 1500, "price of change orders": 400, "cost of change orders": -250, "wage rate": -60,
        "labour hours": -140, "material prices": -30, "callbacks": -90, "rest of quoted cost": 380,
        "actual profit": 1710,
    }  # fmt: skip


def test_a_saved_quote_splits_the_rest():
    """Material 1,250 quoted, 1,200 spent, 30 of it prices: +80; other -20; overhead +20; callbacks 50 for 90: -40.

    1,500 + 400 - 250 - 60 - 140 - 30 + 80 - 20 + 20 - 40 = 1,460; 250 are left over.
    """
    parts = {"labour_cost": 1300, "material_cost": 1250, "other_cost": 280, "overhead": 620, "callback_allowance": 50}
    found = amounts(bridge(JOB, PROFIT, {name: Decimal(value) for name, value in parts.items()}))
    assert found["materials otherwise"] == 80
    assert found["other costs"] == -20
    assert found["overhead"] == 20
    assert found["callbacks"] == -40
    assert found["rest of quoted cost"] == 250


def test_without_a_quoted_cost_there_is_no_bridge():
    assert bridge(JOB | {"quoted_cost": None}, PROFIT) == []
