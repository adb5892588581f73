"""Prices of the same things over time, by hand."""

import pytest

from pipeline.costing.price_index import chained, fisher, index_of_quarters, price_change, todays_prices


def test_fisher_is_the_root_of_old_and_new_weights():
    """Foam 10 at 2 then 5 at 4; tape 10 at 1 then 20 at 1. Old weights: 50/30; new: 40/30; root of 20/9 = 1.4907."""
    before = {"foam": (10.0, 20.0), "tape": (10.0, 10.0)}
    now = {"foam": (5.0, 20.0), "tape": (20.0, 20.0)}
    assert fisher(before, now).ratio == pytest.approx((20 / 9) ** 0.5)


def test_things_bought_in_one_period_only_do_not_count():
    link = fisher({"foam": (1.0, 2.0), "saw": (1.0, 900.0)}, {"foam": (1.0, 3.0), "pump": (1.0, 500.0)})
    assert (link.ratio, link.shared) == (1.5, 1)


def test_a_gap_without_anything_in_common_ends_the_chain():
    """100 for the newest; 80 before it (5 for 4); nothing links the first."""
    assert chained([{"a": (1.0, 1.0)}, {"b": (1.0, 4.0)}, {"b": (1.0, 5.0)}]) == [None, 80.0, 100.0]
    assert chained([]) == []


def test_price_change_is_worth_what_the_same_things_would_have_saved():
    """20 % dearer on 60 spent: 60 x (1 - 1/1.2) = 10."""
    change = price_change({"foam": (10.0, 50.0)}, {"foam": (10.0, 60.0)}, weight={"foam": 4.0})
    assert change["change"] == pytest.approx(0.2)
    assert change["effect"] == pytest.approx(10.0)
    assert change["weight_now"] == 4.0


def paid(kind: str, quarter: str, thing: str, quantity: float, amount: float) -> dict[str, object]:
    return {"kind": kind, "quarter": quarter, "thing": thing, "quantity": quantity, "amount": amount, "lines": 1}


def test_old_jobs_cost_more_at_todays_prices_by_the_index_of_their_quarter():
    """Foam went from 4 to 5, an hour from 30 to 36: 80 of foam becomes 100, 300 of labour 360."""
    index = index_of_quarters(
        [
            paid("materials", "2024-Q1", "foam", 10, 40), paid("materials", "2025-Q1", "foam", 10, 50),
            paid("wages", "2024-Q1", "W1", 10, 300), paid("wages", "2025-Q1", "W1", 10, 360),
        ]
    )  # fmt: skip
    assert [(step["quarter"], step["materials"]) for step in index] == [("2024-Q1", 80.0), ("2025-Q1", 100.0)]
    assert index[0]["wages"] == pytest.approx(100 / 1.2)
    costs = [
        {"group_name": "stone", "kind": "materials", "quarter": "2024-Q1", "amount": 80.0},
        {"group_name": "stone", "kind": "wages", "quarter": "2024-Q1", "amount": 300.0},
        {"group_name": "stone", "kind": "wages", "quarter": "2025-Q1", "amount": 72.0},
    ]
    (row,) = todays_prices(costs, index)
    assert row["material_cost_today"] == pytest.approx(100)
    assert row["labour_cost_today"] == pytest.approx(360 + 72)
    assert row["labour_cost"] == 372
