"""True for any data: conditions, clocks, models and their parts."""

import datetime as dt

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.callbacks.attributable import Part, Severity, attributable, money_by_year, money_of, placed_visits
from pipeline.callbacks.bands import band_years
from pipeline.callbacks.catalogue import ready_patterns
from pipeline.callbacks.conditions import parse
from pipeline.callbacks.design import facts_of
from pipeline.callbacks.exposure import at_risk
from pipeline.callbacks.hazard import clock, fit_hazard
from pipeline.callbacks.history import COMPLAINTS
from pipeline.callbacks.patterns import find_patterns
from pipeline.callbacks.risk import fit_risk, predict_risk
from pipeline.callbacks.truth import truth
from pipeline.errors import InputError
from tests.recovery.callback_world import AS_OF, counted_visits, make_world

FEW = settings(max_examples=60, deadline=None)
NUMBERS = st.one_of(st.none(), st.floats(-50, 120))
MARKS = st.sampled_from([True, False, None])
TRUTHS = st.sampled_from(["substrate_wet", "substrate_temp_f < 40", "gasket_gap_in > 0"])


@FEW
@given(st.text(max_size=60))
def test_any_text_is_a_condition_or_a_fault_of_the_users_making(text):
    """Nothing else is ever raised."""
    try:
        parse(text)
    except InputError as fault:
        assert str(fault)


@FEW
@given(TRUTHS, TRUTHS, st.lists(st.tuples(NUMBERS, NUMBERS, MARKS), min_size=1, max_size=8))
def test_not_of_and_is_or_of_nots(one, two, rows):
    """De Morgan, with not recorded as the third value."""
    temp, gap, wet = zip(*rows, strict=True)
    facts = {
        "substrate_temp_f": np.array([np.nan if x is None else x for x in temp]),
        "gasket_gap_in": np.array([np.nan if x is None else x for x in gap]),
        "substrate_wet": np.array(wet, object),
    }
    left = truth(parse(f"not ({one} and {two})"), facts, len(rows))
    right = truth(parse(f"not {one} or not {two}"), facts, len(rows))
    np.testing.assert_array_equal(left, right)


@FEW
@given(st.lists(st.floats(0, 4_000), min_size=1, max_size=20), st.floats(0, 1))
def test_time_in_the_bands_adds_to_the_time_between_two_ages(until, share):
    ends = np.array(until)
    starts = ends * share
    assert band_years(ends, starts).sum(axis=1) == pytest.approx((ends - starts) / 365.25, abs=1e-9)


@FEW
@given(st.integers(0, 10_000))
def test_expected_events_add_to_the_events_seen(seed):
    """The baseline is profiled out, so the fit neither gains nor loses an event."""
    rng = np.random.default_rng(seed)
    days, came = rng.uniform(1, 900, 80), rng.random(80) < 0.3
    fit = fit_hazard((rng.random((80, 4)) < 0.3).astype(float), clock(days, came), np.full(4, 2.0))
    assert fit.expected.sum() == pytest.approx(came.sum(), abs=1e-6)
    assert np.isfinite(fit.effects).all()


@pytest.fixture(scope="module")
def firm():
    """An invented firm of 1,500 openings."""
    world = make_world(1_500, 31)
    population = at_risk(world.jobs, world.facts, counted_visits(world), AS_OF.astype(object))
    return population, ready_patterns(world.limits, facts_of(population), population.height)


def test_the_order_of_the_openings_does_not_matter(firm):
    population, patterns = firm
    shuffled = population.sample(fraction=1.0, shuffle=True, seed=3)
    one, two = (find_patterns(frame, patterns).findings for frame in (population, shuffled))
    assert [(f.pattern, f.cause, f.flagged, f.callbacks_with) for f in one] == [
        (f.pattern, f.cause, f.flagged, f.callbacks_with) for f in two
    ]
    assert [f.ratio for f in one] == pytest.approx([f.ratio for f in two], rel=1e-6, nan_ok=True)


def test_flagged_exactly_when_q_is_at_most_a_tenth_and_the_ratio_above_one(firm):
    population, patterns = firm
    for finding in find_patterns(population, patterns).findings:
        assert finding.flagged == (finding.enough_data and finding.q <= 0.10)
        if finding.flagged:
            assert finding.ratio > 1
            assert finding.low < finding.ratio < finding.high


def test_what_goes_with_the_patterns_adds_up_over_patterns_and_years(firm):
    """Years add to the pattern's total; all patterns together never exceed the callbacks of the cause."""
    population, patterns = firm
    found = find_patterns(population, patterns)
    assert any(found.selected.values())
    for cause in found.selected:
        parts = attributable(found, cause, Severity(250.0, 0.1), AS_OF.astype(object))
        assert sum(part.callbacks for part in parts) <= found.study.clocks[cause].events
        for part in parts:
            assert sum(callbacks for callbacks, _ in part.by_year.values()) == pytest.approx(part.callbacks)
            assert part.callbacks_low <= part.callbacks <= part.callbacks_high
            assert part.cost == pytest.approx(250.0 * part.callbacks)
            assert part.cost_low < part.cost < part.cost_high


VISIT = st.tuples(
    st.sampled_from(["O0", "O1", "O2", "O3", "open"]),
    st.integers(-30, 1_500),
    st.one_of(st.none(), st.floats(-500, 5_000)),
    st.booleans(),
    st.sampled_from(["leak", "fit"]),
)


def _part(name, expected):
    """What goes with one pattern, at 250 USD a callback."""
    total = sum(expected.values())
    money = {year: (callbacks, 250.0 * callbacks) for year, callbacks in expected.items()}
    return Part(name, "leak", total, total, total, 250.0 * total, 250.0 * total, 250.0 * total, money)


def small_book(drawn):
    """Four openings finished a month apart and one still open; visits drawn: opening, days after 1 March 2022, cost."""
    start, as_of = dt.date(2022, 3, 1), dt.date(2026, 6, 30)
    names = ["O0", "O1", "O2", "O3", "open"]
    jobs = pl.DataFrame(
        {
            "job_id": names,
            "crew": ["North"] * 5,
            "completed_on": [start + dt.timedelta(days=31 * k) for k in range(4)] + [None],
            "warranty_months": [24] * 5,
        },
        schema_overrides={"completed_on": pl.Date},
    )
    rows = [(name, start + dt.timedelta(days=day), *rest) for name, day, *rest in drawn]
    visits = pl.DataFrame(
        rows,
        schema={
            "opening_id": pl.String, "visit_reported_on": pl.Date, "net_cost": pl.Float64, "counts": pl.Boolean,
            "complaint": pl.String,
        },
        orient="row",
    ).unique(["opening_id", "complaint", "visit_reported_on"], maintain_order=True)  # fmt: skip
    openings = pl.DataFrame({"opening_id": names, "job_id": names})
    return at_risk(jobs, openings, visits, as_of), visits


@FEW
@given(st.lists(VISIT, max_size=25), st.lists(st.dictionaries(st.integers(2022, 2026), st.floats(0, 3)), max_size=3))
def test_what_callbacks_cost_adds_up_to_the_whole_in_every_year(drawn, expected):
    """With findings, without, again at the same opening, outside the warranty: together the cost of all that count."""
    population, visits = small_book(drawn)
    parts = [_part(f"p{k}", by_year) for k, by_year in enumerate(expected)]
    placed = placed_visits(population, visits, "leak")
    whole, years = money_of(placed, parts), money_by_year(placed, parts)
    counted = visits.filter(pl.col("counts") & (pl.col("complaint") == "leak"))
    named = ("cost_explained", "cost_not_explained", "repeat_cost", "outside_cost")
    assert whole["cost"] == pytest.approx(counted["net_cost"].sum(), abs=1e-6)
    for money in (whole, *years):
        assert sum(money[name] for name in named) == pytest.approx(money["cost"], abs=1e-6)
    for name in (*named, "callbacks", "explained", "repeat_callbacks", "outside_callbacks", "not_costed", "cost"):
        assert sum(year[name] for year in years) == pytest.approx(whole[name], abs=1e-6)
    assert whole["callbacks"] == population["leak_day"].is_not_null().sum()
    assert whole["callbacks"] + whole["repeat_callbacks"] + whole["outside_callbacks"] == counted.height


def test_chances_are_chances_and_grow_with_the_warranty(firm):
    """More months never lower a chance; 0 months give 0."""
    population, patterns = firm
    model = fit_risk(population, patterns)
    facts = facts_of(population.head(50))
    shorter, longer, none = (predict_risk(model, facts, "crew A", months) for months in (12.0, 24.0, 0.0))
    assert set(longer) == set(COMPLAINTS)
    for name in longer:
        assert (none[name] == 0).all()
        assert ((shorter[name] >= 0) & (shorter[name] <= longer[name]) & (longer[name] < 1)).all()


def test_the_stored_risk_model_is_plain_json_and_gives_the_same_chances(firm):
    import json

    population, patterns = firm
    model = fit_risk(population, patterns)
    again = json.loads(json.dumps(model))
    facts = facts_of(population.head(20))
    for name, chance in predict_risk(model, facts).items():
        assert chance == pytest.approx(predict_risk(again, facts)[name], rel=1e-12)


def test_an_opening_with_nothing_recorded_but_its_wall_has_a_chance():
    """Unknown crew and unrecorded facts take the averages of what was done."""
    world = make_world(1_500, 31)
    population = at_risk(world.jobs, world.facts, counted_visits(world), AS_OF.astype(object))
    model = fit_risk(population, ready_patterns(world.limits, facts_of(population), population.height))
    found = predict_risk(model, {"wall_type": np.array(["brick"], object)}, "nobody we know")
    assert all(0 < chance[0] < 0.5 for chance in found.values())


def test_as_of_before_everything_leaves_nobody_at_risk():
    world = make_world(150, 1)
    early = dt.date(2000, 1, 1)
    assert at_risk(world.jobs, world.facts, counted_visits(world), early).is_empty()
