"""Published variance, overhead and margin cases, through the views and functions that margins and jobs use.

Exercises of cost accounting textbooks and lecture pages with their printed answers. Positive = cost more than the
standard. Two pages print an answer that does not reconcile: the one with 7,840 standard hours prints an efficiency of
-2,860, reckoned at the actual rate (-1,678 + 2,970 = 1,292 adds up, theirs does not); the one with 8,700 units first
calls its rate variance of +10,128 favourable.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from pipeline.costing.margins import margin_rows
from pipeline.store.standard_quantities import StandardQuantity, write_standard_quantities
from tests.rules.money_book import hold, money_book, sums

LABOUR_CASES = [
    # hours, cost, standard hour, standard hours, rate, efficiency
    pytest.param("2000", "28000", "13.50", "2040", "1000", "-540", id="5,100 meals at 0.40 h"),
    pytest.param("338", "4732", "14", "313", "0", "350", id="service shop"),
    pytest.param("371", "6604", "14", "322", "1410", "686", id="service shop"),
    pytest.param("381", "7544", "14", "312", "2210", "966", id="service shop"),
    pytest.param("28000", "327600", "12", None, "-8400", None, id="rate only"),
    pytest.param("4220", "187790", "46", "4160", "-6330", "2760", id="4,220 h at 44.50"),
    pytest.param("8390", "43628", "5.40", "7840", "-1678", "2970", id="7,840 h at 5.40; the page errs"),
    pytest.param("25320", "465888", "18", "26100", "10128", "-14040", id="8,700 units at 3 h; the page errs"),
]


def labour_entries(hours: str, cost: str) -> list[dict[str, Any]]:
    """Entries that add up to hours and cost; the last one takes what does not divide evenly.

    A book holds hourly cost to four decimals, so the cost goes on entries of one hour each side of the mean.
    """
    total, worked = Decimal(cost), Decimal(hours)
    mean = (total / worked).quantize(Decimal("0.01"))
    rest = total - mean * (worked - 1)
    return [{"hours": worked - 1, "hourly_cost": mean}, {"hours": 1, "hourly_cost": rest}]


@pytest.mark.parametrize(("hours", "cost", "standard", "quoted", "rate", "efficiency"), LABOUR_CASES)
def test_labour_rate_and_efficiency(hours, cost, standard, quoted, rate, efficiency):
    """rate = cost less standard x hours; efficiency = standard x (hours less standard hours); they add up."""
    con = money_book(jobs=[{"quoted_labour_hours": quoted}], labour=labour_entries(hours, cost))
    hold(con, standard=standard)
    row = margin_rows(sums(con))[1]
    assert row["labour_cost"] == Decimal(cost)
    assert row["actual_hours"] == Decimal(hours)
    assert row["labour_rate_variance"] == Decimal(rate)
    if efficiency is None:
        assert row["labour_efficiency_variance"] is None
        return
    assert row["labour_efficiency_variance"] == Decimal(efficiency)
    total = Decimal(cost) - Decimal(standard) * Decimal(quoted)
    assert row["labour_rate_variance"] + row["labour_efficiency_variance"] == total


MATERIAL_CASES = [
    # quantity, price paid, list price, standard quantity, price variance, usage variance
    pytest.param("183200", "5.80", "6.00", "185000", "-36640", "-10800", id="183,200 at 5.80"),
    pytest.param("450", "6.50", "6.90", "430", "-180", "138", id="450 at 6.50"),
    pytest.param("20", "9", "7", None, "40", None, id="price only"),
]


@pytest.mark.parametrize(("quantity", "paid", "listed", "standard", "price", "usage"), MATERIAL_CASES)
def test_material_price_and_usage(quantity, paid, listed, standard, price, usage):
    """price = quantity x (paid less list); usage = (quantity less standard) x list; they add up."""
    bought = [{"item": "gravel", "unit": "lb", "quantity": quantity, "unit_cost": paid}]
    prices = [{"item": "gravel", "unit": "lb", "effective_on": date(2020, 1, 1), "unit_cost": listed}]
    con = money_book(materials=bought, prices=prices)
    if standard is not None:
        write_standard_quantities(con, "takeoff", [StandardQuantity("J1", "gravel", float(standard), "lb")])
    hold(con)
    row = margin_rows(sums(con))[1]
    assert row["material_price_variance"] == Decimal(price)
    if usage is None:
        assert row["material_usage_variance"] is None
        return
    assert row["material_usage_variance"] == Decimal(usage)
    total = Decimal(quantity) * Decimal(paid) - Decimal(standard) * Decimal(listed)
    assert row["material_price_variance"] + row["material_usage_variance"] == total


OVERHEAD_CASES = [
    pytest.param("12", "41000", "492000", id="480,000 / 40,000 h"),
    pytest.param("23.40", "10800", "252720", id="23.40 x 10,800 h"),
    pytest.param("18.20", "11500", "209300", id="18.20 x 11,500 h"),
    pytest.param("33.50", "6240", "209040", id="33.50 x 6,240 h"),
]


@pytest.mark.parametrize(("rate", "hours", "applied"), OVERHEAD_CASES)
def test_overhead_is_the_rate_times_the_hours_worked(rate, hours, applied):
    """Applied overhead of published cases; 480,000 over 40,000 h is a rate of 12."""
    con = money_book(labour=[{"hours": hours, "hourly_cost": 1}])
    hold(con, overhead=rate)
    assert margin_rows(sums(con))[1]["overhead"] == Decimal(applied)


def test_job_cost_is_material_labour_and_applied_overhead():
    """Rate 20 x 100 h = 2,000; with materials 800 and labour 1,200 the job costs 4,000."""
    con = money_book(
        jobs=[{"contract_price": 5000}],
        labour=[{"hours": 100, "hourly_cost": 12}],
        materials=[{"quantity": 1, "unit_cost": 800}],
    )
    hold(con, overhead="20")
    row = margin_rows(sums(con))[1]
    assert row["overhead"] == 2000
    assert row["revenue"] - row["job_profit"] == 4000


MARKUPS = [  # margin = markup / (1 + markup); both columns as printed, in percent
    ("11.11", 0.10), ("25", 0.20), ("33.33", 0.25), ("50", 0.3333), ("66.67", 0.40), ("100", 0.50),
]  # fmt: skip


@pytest.mark.parametrize(("markup", "margin"), MARKUPS)
def test_margin_of_a_job_priced_by_a_markup(markup, margin):
    """Cost 100 at 25 % markup sells at 125 with a margin of 20 %; cost 40 at 50 % sells at 60 with 33.33 %."""
    price = (Decimal(100) * (1 + Decimal(markup) / 100)).quantize(Decimal("0.01"))
    con = money_book(jobs=[{"contract_price": price}], labour=[{"hours": 2, "hourly_cost": 50}])
    hold(con)
    assert margin_rows(sums(con))[1]["gross_margin"] == pytest.approx(margin, abs=0.0001)
