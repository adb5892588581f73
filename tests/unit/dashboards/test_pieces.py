"""Words, tables, data blocks, limits and the content policy, each on its own."""

import json
import re

import polars as pl
import pytest

from dashboards import sums
from dashboards.case_files import render as render_cases
from dashboards.html import Raw, Table, data_block, table
from dashboards.owner import owner
from dashboards.page import digest
from dashboards.warranty import _limit, warranty
from dashboards.warranty_charts import byar_limits, poisson_limits
from dashboards.warranty_costs import costs_by_complaint
from dashboards.words import anchor, count, day, days_in, month, percent, readable, reading, unbroken, usd
from tests.pages.sample import HOSTILE, job_rows, parts


def test_money_and_shares_read_as_a_person_writes_them() -> None:
    """Whole dollars, a true minus, a figure and its unit kept together, nothing where there is nothing."""
    assert [usd(1249.6), usd(-300), usd(-0.2), usd(None)] == ["$1,250", "−$300", "$0", "–"]
    assert [percent(0.184), percent(-0.021, 1), percent(None)] == ["18\u00a0%", "−2.1\u00a0%", "–"]
    assert [count(1, "job"), count(1200, "job")] == ["1\u00a0job", "1,200\u00a0jobs"]
    assert [day("2026-03-05"), month("2026-03"), reading("anchor_torque_max_lbft")] == [
        "5 Mar 2026",
        "March 2026",
        "highest anchor torque, lbf·ft",
    ]


def test_two_names_never_share_a_place() -> None:
    """Blanks, slashes and accents become their own code points."""
    assert anchor("job", "A 1") == "job-A_201"  # a blank is U+0020
    assert anchor("job", "A/1") != anchor("job", "A-1") != anchor("job", "A_1")


def test_a_table_escapes_text_and_keeps_our_own_markup() -> None:
    """Only Raw cells are markup."""
    made = table(Table("c", ["a", "b"], [[HOSTILE, Raw("<b>x</b>")]]))
    assert "<img" not in made and "<script" not in made and "<b>x</b>" in made


def test_a_data_block_cannot_end_itself() -> None:
    """No < or > is left in it, and it reads back as it was."""
    block = data_block("models", {"name": HOSTILE})
    inside = re.sub(r"^<script[^>]*>|</script>$", "", block)
    assert "<" not in inside and ">" not in inside
    assert json.loads(inside) == {"name": HOSTILE}


def test_a_script_is_known_by_its_digest() -> None:
    """sha256 of alert('Hello, world.'); as printed in the Content Security Policy Level 2 recommendation, 4.2.5."""
    assert digest("alert('Hello, world.');") == "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"


def test_funnel_limits_bracket_the_mean_and_reach_down_to_zero() -> None:
    """P(X = 0) = e^-1 = 0.37 for mean 1, so its lower 2.5 % limit is 0; mean 0 is not asked for."""
    assert poisson_limits(1.0, 0.025)[0] == 0.0
    low, high = poisson_limits(10.0, 0.025)
    assert (
        3 < low < 4 and 16 < high < 17
    )  # Poisson(10): P(X<=3)=0.0103, P(X<=4)=0.0293, P(X<=16)=0.9730, P(X<=17)=0.9857


def test_sums_keep_every_dollar() -> None:
    """The cells add up to the jobs."""
    jobs = job_rows()
    cells = sums.sums(jobs)
    assert cells["jobs"].sum() == jobs.height
    for name in ("revenue", "labour_cost", "callback_cost", "actual_hours"):
        assert cells[name].sum() == pytest.approx(jobs[name].sum())


def test_many_cells_are_summed_by_longer_periods(monkeypatch: pytest.MonkeyPatch) -> None:
    """By month, else quarter, else year; the crew goes last."""
    jobs = job_rows()
    periods = {len(sums.sums(jobs)["period"][0])}
    for most in (100, 70, 5):
        monkeypatch.setattr(sums, "MOST_CELLS", most)
        periods.add(len(sums.sums(jobs)["period"][0]))
    assert periods >= {7, 4} and "crew" not in sums.sums(jobs).columns


@pytest.mark.parametrize("build", [owner, warranty])
def test_a_part_without_records_says_what_it_needs(build: object) -> None:
    """A sentence in place of each part, no empty chart."""
    reason = "no callbacks can be judged yet: 0 finished openings"
    given = dict.fromkeys(parts(), reason) | {"as_of": "2026-03-31"}
    page = build(given)  # type: ignore[operator]
    assert reason in page.body and "plot-data" not in page.body


def test_empty_records_make_pages_too() -> None:
    """No job, no month, no row: still a page."""
    given = parts() | {
        "job_rows": job_rows().head(0),
        "margins": {"rows": [], "overhead_set": False, "waiting_rows": 0},
    }
    assert "Needs at least one finished job" in owner(given).body


def test_a_case_shows_no_address_and_no_name() -> None:
    """Site and installer are left out, crews stay."""
    made = render_cases(parts())
    assert "Invented Street" not in made and "worker seven" not in made and "stone" in made


def test_the_same_records_make_the_same_page() -> None:
    """No random name, no clock."""
    assert owner(parts()).body == owner(parts()).body
    assert isinstance(job_rows(), pl.DataFrame)


def test_an_attributed_cost_has_its_range_and_its_condition():
    """The sample firm's first finding: 3,100 USD, 1,900 to 4,400, told in the lead with the words that bound it."""
    lead = " ".join(warranty(parts()).lead)
    assert "about $3,100 ($1,900 to $4,400) of callbacks so far, if the link is causal" in lead
    assert "Cost so far, if the link is causal" in warranty(parts()).body


def test_long_reasons_are_behind_a_disclosure():
    """Of four reasons two are in sight and two on demand."""
    body = warranty(parts()).body
    assert "The seal was broken. Set cold<details><summary>2 more</summary>" in body


def test_the_leads_say_what_comes_first() -> None:
    """Which jobs lost money and why; whom to call, where to go, what to change."""
    money, calls = " ".join(owner(parts()).lead), " ".join(warranty(parts()).lead)
    assert "1 of the 61\u00a0jobs finished in the last twelve months lost money, $310 together" in money
    assert "the worst: job J0002 lost $310, mainly labour hours (−$900) and callbacks (−$180)" in money
    assert "1\u00a0open job is heading for a loss: J0301 (−$400)." in money
    assert "Call first: C001" in calls
    assert "look first for: the seal behind the frame was broken (goes with 60\u00a0% of such callbacks" in calls
    assert "Visit first: opening " in calls and "Look into first: where " in calls


def test_hours_of_change_orders_count_as_quoted() -> None:
    """Ten hours worked per nine quoted and one added: quotes were right, in the large figure and in the chart."""
    given = parts()
    for row in given["margins"]["rows"]:
        worked = row["hours_of_quoted_jobs"]
        row |= {"quoted_hours": 0.9 * worked, "change_order_hours": 0.1 * worked}
    body = owner(given).body
    assert "took 0.0\u00a0% more hours than quoted" in body
    assert '<span class="value">0\u00a0%</span> <span class="unit">more hours than quoted</span>' in body


def test_a_limit_says_on_which_side_it_lies() -> None:
    """39 °F against a limit of 40 is too cold, 27.5 lbf·ft against 25 too tight."""
    assert [_limit(40.0, 39), _limit(25.0, 27.5)] == ["at least 40", "at most 25"]
    assert _limit({"min": None, "max": 0.0}, 1.5) == "at most 0"


def test_sentences_keep_a_figure_and_its_unit_together() -> None:
    """Ranges in words, our unit of torque, no line end before a unit."""
    told = readable("an anchor was tightened beyond 25 lbft (2.9–7.0)")
    assert told == "an anchor was tightened beyond 25\u00a0lbf·ft (2.9 to 7.0)"
    assert days_in("wall cutting: 6.8 h, until 2023-08-03") == "wall cutting: 6.8 h, until 3 Aug 2023"
    assert unbroken("target 35.0 %: 24 h") == "target 35.0\u00a0%: 24\u00a0h"


def test_limits_of_a_count_are_those_of_the_handbook() -> None:
    """9 events: 4.115 to 17.085 (Garwood 1936, exact, from memory); Byar's approximation is within 0.05."""
    low, high = byar_limits(9)
    assert (low, high) == pytest.approx((4.115, 17.085), abs=0.05)


def test_the_costs_of_a_complaint_stand_in_parts_that_add_up_and_say_if_causal():
    """$300 with findings, $500 without, $120 again, $80 outside: $1,000; 7 + 2 + 1 callbacks, one not costed."""
    total = {
        "cause": "leak", "callbacks": 7, "repeat_callbacks": 2, "outside_callbacks": 1, "not_costed": 1, "cost": 1000.0,
        "cost_explained": 300.0, "cost_not_explained": 500.0, "repeat_cost": 120.0, "outside_cost": 80.0,
    }  # fmt: skip
    shown = costs_by_complaint({"patterns": {"patterns": [], "causes": [total]}})
    cells = re.findall(r"<td[^>]*>([^<]*)</td>", shown)
    assert cells == ["leak (10)", "$300", "$500", "$120", "$80", "$1,000"]
    assert "With findings, if the link is causal" in shown
    assert "1\u00a0callback is not costed yet" in shown
    assert costs_by_complaint({"patterns": "too few records"}) == ""
