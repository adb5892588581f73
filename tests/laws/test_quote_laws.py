"""What holds for the quote of any opening: order, sums, finite figures, price against margin, chance against price."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.estimators.hours_model import HoursModel
from pipeline.estimators.materials import MaterialsModel
from pipeline.quote.build import build_quote
from pipeline.quote.request import QuoteParts
from pipeline.runs.quote import quote_parts
from pipeline.runs.quote_request import COLUMNS, AskedOpening, quote_request
from pipeline.settings import load_settings
from pipeline.store.book import newest_date, open_book
from schemas.vocab import DIG_METHOD, DRAIN, OPENING_WORK, SOIL, WALL_TYPE, WELL_TYPE
from tests.runs.fitted_book import fitted_book

EXAMPLES = 60
PARTS = ("labour_cost", "material_cost", "other_cost", "overhead", "callback_allowance")


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> QuoteParts:
    """Parts fitted on sixty invented jobs."""
    book, settings_file = fitted_book(tmp_path_factory.mktemp("laws"), jobs=60)
    with open_book(book) as con:
        return quote_parts(con, load_settings(settings_file), newest_date(con))


def maybe(values: Any) -> Any:
    return st.one_of(st.none(), values)


def words(listed: Any) -> Any:
    return st.sampled_from(sorted(listed))


SIZE = st.floats(0.25, 400, allow_nan=False)
OPENING = st.fixed_dictionaries(
    {
        "wall_type": words(WALL_TYPE), "opening_work": words(OPENING_WORK), "well_type": words(WELL_TYPE),
        "rough_width_in": SIZE, "rough_height_in": SIZE, "soil": maybe(words(SOIL)), "drain": maybe(words(DRAIN)),
        "dig_method": maybe(words(DIG_METHOD)), "wall_thickness_in": maybe(st.floats(0.25, 36)),
        "depth_below_grade_in": maybe(st.floats(0, 400)), "well_width_in": maybe(SIZE),
        "well_projection_in": maybe(SIZE),
        "well_depth_in": maybe(SIZE), "reinforced": maybe(st.booleans()), "existing_width_in": maybe(st.floats(0, 400)),
        "existing_height_in": maybe(st.floats(0, 400)),
    }
)  # fmt: skip
USUAL = st.fixed_dictionaries(
    {
        "wall_type": st.just("poured_concrete"), "opening_work": st.just("new_cut"), "well_type": st.just("steel"),
        "rough_width_in": st.floats(36, 54), "rough_height_in": st.floats(40, 54),
        "depth_below_grade_in": st.floats(50, 70),
    }
)  # fmt: skip


def quoted(parts: QuoteParts, *openings: Any, margin: float = 0.35, price: float | None = None, jobs: Any = "") -> Any:
    ids = jobs or [""] * len(openings)
    nothing = dict.fromkeys(COLUMNS)
    asked = [AskedOpening({**nothing, **one}, job_id=job) for one, job in zip(openings, ids, strict=True)]
    return build_quote(parts, quote_request(asked, crew="", start=None, margin=margin, price=price))


def figures(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [figure for inner in value.values() for figure in figures(inner)]
    if isinstance(value, list):
        return [figure for inner in value for figure in figures(inner)]
    return [value] if isinstance(value, (int, float)) and not isinstance(value, bool) else []


@settings(max_examples=EXAMPLES, deadline=None)
@given(opening=OPENING)
def test_every_figure_is_finite_and_no_cost_is_negative(parts, opening):
    """Whatever is asked within the records' limits, no NaN and no infinity comes out."""
    answer = quoted(parts, opening)
    assert all(math.isfinite(figure) for figure in figures(answer))
    assert all(answer["total"][name] >= 0 for name in (*PARTS, "expected_cost"))


@settings(max_examples=EXAMPLES, deadline=None)
@given(openings=st.lists(OPENING, min_size=1, max_size=4), data=st.data())
def test_parts_add_up_and_quantiles_are_in_order(parts, openings, data):
    """Phases to openings to jobs to the total; p05 < p10 < p50 < p90 < p95."""
    jobs = data.draw(st.lists(st.sampled_from(["A", "B"]), min_size=len(openings), max_size=len(openings)))
    answer = quoted(parts, *openings, jobs=jobs)
    for opening in answer["openings"]:
        phases = sum(line["mean"] for line in opening["phases"])
        assert math.isclose(phases, opening["labour_hours"]["mean"], rel_tol=1e-9)
    mean = answer["total"]["labour_hours"]["mean"]
    for held in ("openings", "jobs"):
        assert math.isclose(sum(one["labour_hours"]["mean"] for one in answer[held]), mean, rel_tol=1e-9)
    total = answer["total"]
    assert math.isclose(sum(total[name] for name in PARTS), total["expected_cost"], rel_tol=1e-9)
    for one in (*answer["openings"], *answer["jobs"], total):
        found = one["labour_hours"]
        assert found["p05"] < found["p10"] < found["p50"] < found["p90"] < found["p95"]


@settings(max_examples=EXAMPLES, deadline=None)
@given(opening=OPENING)
def test_orders_are_whole_packs_and_nothing_impossible_is_ordered(parts, opening):
    """Each order is a whole number of its item's packs; no well, no cover and no ladder without a well."""
    packs = {name: item.pack_size for name, item in parts.materials.items.items()}
    answer = quoted(parts, opening)
    for line in [*answer["openings"][0]["materials"], *answer["jobs"][0]["order"]]:
        number = line["order_quantity"] / packs[line["item"]]
        assert math.isclose(number, round(number), abs_tol=1e-6)
    if opening["well_type"] == "none":
        assert not {line["item"] for line in answer["jobs"][0]["order"]} & {"window_well", "well_cover", "ladder"}


@settings(max_examples=EXAMPLES, deadline=None)
@given(opening=USUAL, low=st.floats(0, 0.9), more=st.floats(0.01, 0.09))
def test_a_higher_margin_asks_a_higher_price_at_a_lower_chance_of_loss(parts, opening, low, more):
    """The cost stays; the price rises; the chance to lose money does not."""
    one, other = (quoted(parts, opening, margin=margin)["total"] for margin in (low, low + more))
    assert one["expected_cost"] == other["expected_cost"]
    assert other["price_at_margin"] > one["price_at_margin"]
    assert other["chance_of_loss"] <= one["chance_of_loss"]


@settings(max_examples=EXAMPLES, deadline=None)
@given(opening=USUAL, price=st.floats(500, 20_000), more=st.floats(1, 5_000))
def test_the_chance_of_loss_never_rises_with_the_price(parts, opening, price, more):
    """Asked for more money, the firm loses no more often; at its 80 % cost it loses one time in five."""
    chances = [quoted(parts, opening, price=asked)["total"]["chance_of_loss"] for asked in (price, price + more)]
    assert 0 <= chances[1] <= chances[0] <= 1
    total = quoted(parts, opening)["total"]
    at_p80 = quoted(parts, opening, price=total["cost_p80"])["total"]["chance_of_loss"]
    assert abs(at_p80 - 0.2) <= 1 / 2048


@settings(max_examples=20, deadline=None)
@given(opening=USUAL)
def test_stored_models_give_the_same_quote_as_fitted_ones(parts, opening):
    """Parts written to plain numbers and read again change no figure."""
    again = QuoteParts(
        **{
            **vars(parts),
            "hours": HoursModel.from_json(parts.hours.to_json()),
            "materials": MaterialsModel.from_json(parts.materials.to_json()),
        }
    )
    assert quoted(again, opening) == quoted(parts, opening)
