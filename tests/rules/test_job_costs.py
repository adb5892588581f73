"""What a job cost, rule by rule: a few records typed in, the figures expected out, all worked by hand (house rules)."""

from datetime import date
from decimal import Decimal

import pytest

from pipeline.store.book import question, rows
from pipeline.store.standard_quantities import StandardQuantity, write_standard_quantities
from tests.rules.money_book import DAY, hold, money_book, only, steps, sums

JULY = date(2025, 7, 1)


def plain(values: list[tuple[object, ...]]) -> list[tuple[object, ...]]:
    """Decimals as floats, for reading."""
    return [tuple(float(one) if isinstance(one, Decimal) else one for one in row) for row in values]


def test_hours_without_a_cost_take_the_standard_of_the_day_worked_and_are_counted():
    """2 h at 50, 3 h without a cost in March at 40, 1 h without in July at 44: 100 + 120 + 44, and 4 h at standard."""
    con = money_book(
        labour=[
            {"hours": 2, "hourly_cost": 50},
            {"hours": 3, "hourly_cost": None},
            {"hours": 1, "hourly_cost": None, "worked_on": JULY},
        ]
    )
    hold(con, standard=steps(40, (JULY, 44)))
    assert plain(only(con, "labour_cost, actual_hours, hours_at_standard")) == [(264, 6, 4)]


def test_rate_variance_compares_with_the_standard_of_the_day_worked():
    """2 h at 50 against 40, 1 h at 50 against 44: 20 + 6 = 26, never null."""
    con = money_book(labour=[{"hours": 2, "hourly_cost": 50}, {"hours": 1, "hourly_cost": 50, "worked_on": JULY}])
    hold(con, standard=steps(40, (JULY, 44)))
    assert plain(only(con, "labour_rate_variance, labour_efficiency_variance")) == [(26, None)]


def test_efficiency_counts_change_order_hours_as_expected():
    """10 h worked, 6 quoted, 1 added by a change order: 3 h over at 40."""
    con = money_book(jobs=[{"quoted_labour_hours": 6, "change_order_hours": 1}], labour=[{"hours": 10}])
    hold(con)
    assert plain(only(con, "labour_efficiency_variance, is_quoted")) == [(120, True)]


def test_efficiency_across_a_new_standard_is_at_the_mean_standard_hour_of_the_job():
    """3 h at 40 and 1 h at 44: mean 41; 2 h over the 2 quoted cost 82."""
    con = money_book(
        jobs=[{"quoted_labour_hours": 2}], labour=[{"hours": 3}, {"hours": 1, "worked_on": JULY}]
    )
    hold(con, standard=steps(40, (JULY, 44)))
    assert plain(only(con, "labour_efficiency_variance")) == [(82,)]


def test_overhead_is_the_rate_of_the_day_worked_times_its_hours():
    con = money_book(labour=[{"hours": 3}, {"hours": 1, "worked_on": JULY}])
    hold(con, overhead=steps(20, (JULY, 26)))
    assert plain(only(con, "overhead")) == [(86,)]


def test_lines_dated_after_the_day_of_the_question_are_left_out_and_undated_ones_count():
    con = money_book(
        labour=[{"hours": 1}, {"hours": 5, "worked_on": JULY}],
        materials=[{"unit_cost": 10}, {"unit_cost": 20, "bought_on": None}, {"unit_cost": 40, "bought_on": JULY}],
        other_costs=[{"amount": 1}, {"amount": 2, "incurred_on": None}, {"amount": 4, "incurred_on": JULY}],
        openings=[{}],
        callbacks=[
            {"callback_id": "1", "labour_cost": 7},
            {"callback_id": "2", "labour_cost": 9, "reported_on": JULY, "complaint": "fit"},
        ],
    )
    hold(con, as_of=date(2025, 6, 30))
    assert plain(only(con, "actual_hours, material_cost, other_cost, callback_cost")) == [(1, 30, 3, 7)]


def test_a_job_is_completed_only_by_the_day_of_the_question_and_absent_before_its_start():
    con = money_book(
        jobs=[
            {"job_id": "done"},
            {"job_id": "later", "completed_on": JULY},
            {"job_id": "not begun", "started_on": JULY, "completed_on": None},
        ]
    )
    hold(con, as_of=date(2025, 6, 30))
    assert only(con, "job_id, completed_on") == [("done", DAY), ("later", None)]


def test_change_orders_count_into_revenue_and_an_empty_one_is_nothing():
    con = money_book(jobs=[{"job_id": "a", "change_orders": -150}, {"job_id": "b"}])
    hold(con)
    assert plain(only(con, "revenue")) == [(850,), (1000,)]


def test_a_job_with_walls_or_work_of_two_kinds_is_mixed():
    con = money_book(
        jobs=[{"job_id": "J1"}, {"job_id": "J2"}, {"job_id": "J3"}],
        openings=[
            {"opening_id": "1a", "job_id": "J1"},
            {"opening_id": "1b", "job_id": "J1", "wall_type": "stone"},
            {"opening_id": "2a", "job_id": "J2"},
            {"opening_id": "2b", "job_id": "J2", "opening_work": "replace"},
            {"opening_id": "2c", "job_id": "J2"},
        ],
    )
    hold(con)
    size = "job_group('job_size', completed_on, wall_type, crew, branch, opening_work, openings, job_id)"
    assert only(con, f"wall_type, opening_work, {size}") == [
        ("mixed", "new_cut", "2 openings"),
        ("brick", "mixed", "3 or more openings"),
        (None, None, None),
    ]


def test_only_callbacks_that_count_are_charged_net_of_what_was_got_back():
    """80 + 20 - 30 = 70 counts; its report again five days later and the customer's own fault do not."""
    con = money_book(
        openings=[{}],
        callbacks=[
            {"callback_id": "1", "labour_cost": 80, "material_cost": 20, "recovered": 30},
            {"callback_id": "2", "labour_cost": 60, "reported_on": date(2025, 3, 15)},
            {"callback_id": "3", "labour_cost": 99, "complaint": "fit", "cause_found": "customer left it open"},
            {"callback_id": "4", "labour_cost": None, "complaint": "finish"},
        ],
    )
    hold(con)
    assert plain(only(con, "callbacks, callbacks_not_costed, callback_cost")) == [(2, 1, 70)]


PRICES = [
    {"unit_cost": 4},
    {"unit_cost": 6, "effective_on": JULY},
    {"spec": "large", "unit_cost": 9},
    {"item": "gravel", "unit": "ton", "unit_cost": 30},
]


@pytest.mark.parametrize(
    ("line", "variance"),
    [
        pytest.param({"quantity": 3, "unit_cost": 5}, 3, id="the list price of any spec: 3 x (5 - 4)"),
        pytest.param({"quantity": 3, "unit_cost": 5, "bought_on": JULY}, -3, id="in force on the day: 3 x (5 - 6)"),
        pytest.param({"quantity": 3, "unit_cost": 5, "spec": "large"}, -12, id="its own spec first: 3 x (5 - 9)"),
        pytest.param({"quantity": -2, "unit_cost": 5}, -2, id="returned goods count: -2 x (5 - 4)"),
        pytest.param({"quantity": 3, "bought_on": None}, None, id="no day, no standard"),
        pytest.param({"quantity": 3, "bought_on": date(2019, 1, 1)}, None, id="before the first list"),
        pytest.param({"item": "gravel", "unit": "yd3"}, None, id="listed in another unit"),
        pytest.param({"item": "shim", "unit": "box"}, None, id="not listed"),
    ],
)
def test_material_price_variance_is_against_the_list_in_force_on_the_day_bought(line, variance):
    con = money_book(materials=[line], prices=PRICES)
    hold(con)
    assert plain(only(con, "material_price_variance")) == [(variance,)]


def test_use_is_compared_with_the_saved_quote_before_the_take_off():
    """3 cans bought at list 4: 1 over the quote's 2 costs 4; without the quote 0.5 over the take-off's 2.5 costs 2."""
    con = money_book(materials=[{"quantity": 3}], prices=PRICES)
    write_standard_quantities(con, "takeoff", [StandardQuantity("J1", "foam", 2.5, "can")])
    hold(con)
    assert plain(only(con, "material_usage_variance")) == [(2,)]
    write_standard_quantities(con, "quote", [StandardQuantity("J1", "foam", 2.0, "can")])
    hold(con)
    assert plain(only(con, "material_usage_variance")) == [(4,)]


def test_use_of_several_specs_is_at_their_mean_list_price():
    """1 at 4 and 3 at 9 list for 31, 7.75 each; 1 over the standard 3 costs 7.75."""
    con = money_book(materials=[{"quantity": 1}, {"quantity": 3, "spec": "large"}], prices=PRICES)
    write_standard_quantities(con, "takeoff", [StandardQuantity("J1", "foam", 3.0, "can")])
    hold(con)
    assert plain(only(con, "material_usage_variance")) == [(7.75,)]


def test_use_without_a_standard_or_a_list_price_or_a_purchase_is_not_compared():
    """Foam has no standard, shims no list price, gravel was never bought."""
    con = money_book(materials=[{}, {"item": "shim", "unit": "box"}], prices=PRICES)
    lines = [StandardQuantity("J1", "shim", 1.0, "box"), StandardQuantity("J1", "gravel", 1.0, "ton")]
    write_standard_quantities(con, "takeoff", lines)
    hold(con)
    assert only(con, "material_usage_variance") == [(None,)]


def test_a_completed_job_without_hours_is_named_and_left_out_of_ratios():
    """J2 has no hours: its 1,000 is revenue, but the ratios are J1's alone."""
    con = money_book(jobs=[{"job_id": "J1"}, {"job_id": "J2", "quoted_labour_hours": 5}], labour=[{"hours": 10}])
    hold(con)
    (group,) = sums(con)
    assert (group["revenue"], group["ratio_revenue"], group["ratio_gross_profit"]) == (2000, 1000, 600)
    assert group["quoted_jobs"] == 0
    doubtful = rows(con, "doubts_about_costs", {"first_day": None, "last_day": None})
    assert doubtful == [{"job_id": "J2", "waiting_rows": 0, "is_without_labour": True}]


def test_rows_in_quarantine_are_counted_for_the_job_they_name_directly_or_by_an_opening():
    """A line that cannot be read, one that waits for its hours, one that names an opening; a released one no more."""
    con = money_book(openings=[{}], labour=[{}])
    entry = """
        insert into quarantine
            (quarantine_id, kind, _key, _batch_id, _file_id, _line, column_name, value, reason, raw, cause, state)
        values (?, ?, 'k', 1, 1, ?, 'hours', '?', 'why', ?, 'values', ?)
    """
    con.execute(entry, ["q1", "labour", 1, '{"job_id": "J1", "hours": "lots"}', "waits"])
    con.execute(entry, ["q2", "labour", 2, None, "waits"])
    con.execute(entry, ["q3", "callbacks", 3, '{"opening_id": "O1"}', "waits"])
    con.execute(entry, ["q4", "labour", 4, '{"job_id": "J1"}', "released"])
    con.execute(entry, ["q5", "labour", 5, '{"job_id": "nowhere"}', "waits"])
    con.execute("insert into waiting.labour (job_id, _file_id, _line) values ('J1', 1, 2)")
    assert con.execute("from waiting_rows_of_jobs").fetchall() == [("J1", 3)]


def test_the_standard_hour_is_the_median_of_the_twelve_months_before_else_of_all_before():
    """Hours of 2025 are 40, 42 and 50; one of 2023 is 20; what comes after the day of the question is not known yet."""
    con = money_book(
        labour=[
            {"hourly_cost": 20, "worked_on": date(2023, 5, 1)},
            *({"hourly_cost": cost} for cost in (40, 42, 50, None)),
            {"hourly_cost": 99, "worked_on": JULY},
        ]
    )

    def median(on: date) -> object:
        return con.execute(question("median_hourly_cost"), {"as_of": on}).fetchall()[0][0]

    assert median(date(2025, 6, 30)) == 42
    assert median(date(2024, 12, 31)) == 20
    assert median(date(2020, 1, 1)) is None


def test_views_for_people_show_the_same_money_in_any_client():
    """job_profit by itself, with the settings remembered in the book: 1,000 - 2 h at 40 - 5 - overhead 2 x 10."""
    con = money_book(openings=[{}], labour=[{"hours": 2}], materials=[{}])
    con.execute("insert into firm_settings values ('overhead_per_labour_hour', '1900-01-01', 10)")
    assert plain(con.execute("select job_profit, status from job_profit").fetchall()) == [(895, "completed")]
    for view in ("month", "crew", "branch", "wall_type"):
        assert plain(con.execute(f"select job_profit from profit_by_{view}").fetchall()) == [(895,)]  # noqa: S608
    assert plain(con.execute("select phase, labour_cost from labour_by_phase").fetchall()) == [(None, 80)]
    assert plain(con.execute("select item, cost from materials_by_item").fetchall()) == [("foam", 5)]
    assert con.execute("from warranty_callbacks").fetchall() == []
