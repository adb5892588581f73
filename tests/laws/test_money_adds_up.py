"""Laws of money that hold for any records: parts add to totals, rate and efficiency to the whole, bridges close."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from pipeline.costing.bridge import bridge
from pipeline.costing.cents import CENT, cents, rows_to_the_cent, shares_to_the_cent, table_to_the_cent
from pipeline.costing.margins import PARTS, SUBTOTALS, margin_rows
from pipeline.costing.price_index import chained, fisher
from pipeline.costing.spread import opening_costs
from pipeline.runs.jobs import list_of_jobs
from pipeline.runs.margins import GROUPS
from tests.rules.money_book import DAY, filled, hold, money_book, steps, sums

EXACT = st.decimals(min_value=-50_000, max_value=50_000, places=6, allow_nan=False)
COST = st.decimals(min_value=0, max_value=900, places=4, allow_nan=False)
HOURS = st.decimals(min_value=Decimal("0.01"), max_value=24, places=4, allow_nan=False)
QUANTITY = st.decimals(min_value=-20, max_value=200, places=4, allow_nan=False)
COLUMNS = len(PARTS)
DAYS = st.integers(0, 40)


@given(st.lists(EXACT, min_size=1, max_size=30))
@settings(deadline=None)
def test_shares_add_up_to_the_rounded_total_and_none_is_a_cent_off(values):
    shares = shares_to_the_cent(values)
    assert sum(shares) == cents(sum(values))
    assert all(abs(shown - exact) < CENT for shown, exact in zip(shares, values, strict=True))


@given(st.lists(st.lists(EXACT, min_size=COLUMNS, max_size=COLUMNS), min_size=1, max_size=12))
@settings(deadline=None)
def test_a_table_adds_up_down_and_across_and_its_totals_depend_on_the_exact_totals_alone(rows):
    """Any rows of the same exact total have the same total shown; no figure of it, and no sum across it, is a cent off.

    Within the rows a figure is a whole cent off only where nothing else adds up, and never two.
    """
    shown = table_to_the_cent(rows, SUBTOTALS)
    exact = [*rows, [sum(column) for column in zip(*rows, strict=True)]]
    assert shown[-1] == [sum(column) for column in zip(*shown[:-1], strict=True)]
    assert shown[-1] == table_to_the_cent([exact[-1]], SUBTOTALS)[0]
    for within, shown_row, exact_row in zip([2 * CENT] * len(rows) + [CENT], shown, exact, strict=True):
        assert all(abs(one - other) < within for one, other in zip(shown_row, exact_row, strict=True))
        for count in SUBTOTALS:
            assert abs(sum(shown_row[:count]) - sum(exact_row[:count])) < within


@given(st.lists(EXACT, min_size=COLUMNS, max_size=COLUMNS))
@settings(deadline=None)
def test_a_row_by_itself_is_never_a_cent_off_and_exact_cents_stay_as_they_are(row):
    (shown,) = rows_to_the_cent([row], SUBTOTALS)
    for count in SUBTOTALS:
        assert abs(sum(shown[:count]) - sum(row[:count])) < CENT
    whole = [cents(value) for value in row]
    assert rows_to_the_cent([whole], SUBTOTALS) == [whole]


BOOK = money_book()
QUICK = settings(deadline=None, max_examples=10, phases=(Phase.explicit, Phase.reuse, Phase.generate))


@st.composite
def books(draw: st.DrawFn) -> Any:
    """A small book: up to six jobs, finished or not, with anything on them."""
    names = [f"J{number}" for number in range(1, draw(st.integers(1, 6)) + 1)]
    lines = st.lists(st.fixed_dictionaries({"job_id": st.sampled_from(names), "hours": HOURS}), max_size=12)
    jobs = [
        {
            "job_id": name,
            "crew": draw(st.sampled_from(["north", "south"])),
            "branch": draw(st.sampled_from([None, "hill"])),
            "completed_on": draw(st.sampled_from([None, DAY, DAY + timedelta(60)])),
            "contract_price": draw(COST) * 10,
            "change_orders": draw(st.one_of(st.none(), EXACT.map(cents))),
            "quoted_labour_hours": draw(st.one_of(st.none(), HOURS)),
            "quoted_cost": draw(st.one_of(st.none(), COST)),
        }
        for name in names
    ]
    return filled(
        BOOK,
        jobs=jobs,
        openings=[
            {"opening_id": f"{name}-{at}", "job_id": name, "wall_type": draw(st.sampled_from(["brick", "stone"]))}
            for name in names
            for at in range(draw(st.integers(0, 3)))
        ],
        labour=[
            line | {"hourly_cost": draw(st.one_of(st.none(), COST)), "worked_on": DAY + timedelta(draw(DAYS))}
            for line in draw(lines)
        ],
        materials=[
            {"job_id": draw(st.sampled_from(names)), "quantity": draw(QUANTITY), "unit_cost": draw(COST)}
            for _ in range(draw(st.integers(0, 8)))
        ],
    )


STANDARD = steps("37.35", (DAY + timedelta(20), 41))


@given(books())
@QUICK
def test_no_grouping_changes_a_grand_total_and_every_row_adds_up(con):
    """The same total to the cent by any key; profits are the differences of the figures beside them."""
    hold(con, standard=STANDARD, overhead="19.99")
    tables = {by: margin_rows(sums(con, by)) for by in GROUPS}
    totals = [{**total, "group": None} for _, total in tables.values()]
    assert all(total == totals[0] for total in totals)
    for rows, total in tables.values():
        for row in [*rows, total]:
            spent = row["labour_cost"] + row["material_cost"] + row["other_cost"]
            assert row["gross_profit"] == row["revenue"] - spent
            assert row["job_profit"] == row["gross_profit"] - row["overhead"]
            assert row["profit_after_callbacks"] == row["job_profit"] - row["callback_cost"]
            assert all(value == value.quantize(CENT) for name, value in row.items() if name in PARTS)


@given(books())
@QUICK
def test_rate_and_efficiency_add_up_to_cost_less_standard_cost_of_the_expected_hours(con):
    hold(con, standard=STANDARD)
    for job in list_of_jobs(con):
        if job["labour_efficiency_variance"] is not None:
            both = job["labour_rate_variance"] + job["labour_efficiency_variance"]
            assert both == job["labour_cost"] - job["standard_cost_of_expected_hours"]


@given(books(), st.one_of(st.none(), st.lists(COST, min_size=5, max_size=5)))
@QUICK
def test_the_bridge_closes_for_every_job_with_or_without_a_saved_quote(con, parts):
    names = ("labour_cost", "material_cost", "other_cost", "overhead", "callback_allowance")
    quoted = dict(zip(names, parts, strict=True)) if parts else None
    hold(con, standard=STANDARD, overhead="19.99")
    for job in list_of_jobs(con):
        found = bridge(job, cents(job["profit_after_callbacks"]), quoted)
        assert bool(found) == (job["quoted_cost"] is not None)
        if found:
            assert sum(step["amount"] for step in found[:-1]) == found[-1]["amount"]
            assert all(step["amount"] == cents(step["amount"]) for step in found)


@given(st.lists(st.tuples(HOURS, COST), min_size=1, max_size=5), HOURS, COST)
@settings(deadline=None)
def test_shared_costs_of_a_job_are_spread_without_losing_a_cent(own, shared_hours, shared_cost):
    """Openings with own hours and cost, and a rest that is booked to none of them."""
    openings = [
        {"opening_id": str(at), "wall_type": "brick", "opening_work": "new_cut", "hours": hours, "labour_cost": cost,
         "material_cost": cost, "callback_cost": Decimal(0)}
        for at, (hours, cost) in enumerate(own)
    ]  # fmt: skip
    cost = cents(sum(cost for _, cost in own) + shared_cost)
    hours = sum(hours for hours, _ in own) + shared_hours
    job: Any = {"labour_cost": cost, "material_cost": cost, "actual_hours": hours, "callback_cost": Decimal("0.01")}
    job["other_cost"] = cents(shared_cost)
    shares = opening_costs(openings, job)
    for name in ("labour_cost", "material_cost", "other_cost", "callback_cost"):
        assert sum(share[name] for share in shares) == job[name]


BASKET = st.dictionaries(st.sampled_from("abcde"), st.tuples(st.floats(1, 50), st.floats(1, 50)), min_size=1)


@given(BASKET, BASKET, st.floats(0.5, 3))
@settings(deadline=None)
def test_a_price_index_turns_round_with_time_and_follows_a_common_factor(one, other, factor):
    """Fisher's tests: before over now is the reciprocal; all prices times a factor is that factor."""
    there, back = fisher(one, other), fisher(other, one)
    assert there.shared == back.shared
    if there.ratio is not None and back.ratio is not None:
        assert abs(there.ratio * back.ratio - 1) < 1e-9
    dearer = {key: (quantity, amount * factor) for key, (quantity, amount) in one.items()}
    assert abs((fisher(one, dearer).ratio or 0) - factor) < 1e-9
    levels = chained([one, dearer])
    assert levels[-1] == 100
    assert levels[0] is not None and abs(levels[0] - 100 / factor) < 1e-6
