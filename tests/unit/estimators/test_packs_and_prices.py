"""Packs, prices and lines of material by hand."""

from datetime import date

import numpy as np
import pytest

from pipeline.estimators.known import learn_defaults
from pipeline.estimators.materials import job_order, predict_materials
from pipeline.estimators.materials_fit import fit_materials
from pipeline.estimators.packs import pack_size, packs_to_order
from pipeline.estimators.prices import price_level, price_of
from pipeline.estimators.records import arrays_of
from tests.unit.estimators.build_records import bought, jobs, listed, openings
from tests.unit.takeoff.build_openings import one


@pytest.mark.parametrize(
    ("quantities", "pack"),
    [
        ([25, 50, 75, 25], 25),  # a roll of 25 ft; 50 does not divide 25
        ([24, 48, 72], 24),
        ([1, 2, 3, 5], 1),
        ([0.5, 1.5, 2.0], 0.5),
        ([20] * 99 + [7], 20),  # one odd line in a hundred is a slip of the pen
    ],
)
def test_pack_is_the_largest_that_divides_nearly_all(quantities, pack):
    assert pack_size(np.array(quantities, dtype=float)) == pack


def test_an_exact_fit_needs_no_further_pack():
    assert packs_to_order(np.array([50.0, 50.1, 49.9]), 25.0).tolist() == [2, 3, 2]


NAMES = [f"J{n}" for n in range(1, 13)]
OPENINGS = openings(*((f"o{n}", f"J{n}", {"well_type": "steel" if n < 7 else "timber"}) for n in range(1, 13)))
DAY = date(2025, 3, 1)
WINDOWS = [(f"J{n}", f"o{n}", "window", f"casement {n}", "ea", date(2025, 3, n), 1.0, 100.0 * n) for n in range(1, 13)]
WELLS = [(f"J{n}", f"o{n}", "window_well", None, "ea", DAY, 1.0, 200.0 if n < 7 else 300.0) for n in range(1, 13)]
TAPE = [(f"J{n}", None, "gasket_tape", None, "ft", DAY, 25.0, 1.2) for n in range(1, 13)]
COVERS = [(f"J{n}", f"o{n}", "well_cover", None, "ea", DAY, 1.0, 90.0) for n in range(1, 7)]


def model(*rows, prices=None):
    return fit_materials(
        jobs(*NAMES),
        OPENINGS,
        bought(*WINDOWS, *WELLS, *TAPE, *COVERS, *rows),
        listed() if prices is None else prices,
        defaults=learn_defaults(arrays_of(OPENINGS)),
    )


def line(item, lines):
    return next(each for each in lines if each.item == item)


def test_the_list_in_force_comes_before_purchases():
    prices = listed(("window", "casement 2", DAY, "ea", 222.0), ("gasket_tape", "", DAY, "ft", 1.5))
    level = model(prices=prices).prices
    assert price_of(level, "window", "casement 2", well_type="steel", area_sqft=12).unit_cost == 222.0
    assert price_of(level, "gasket_tape", "", well_type="steel", area_sqft=12).unit_cost == 1.5


def test_a_spec_without_a_list_price_takes_its_last_purchases():
    assert price_of(model().prices, "window", "casement 4", well_type="steel", area_sqft=12).unit_cost == 400.0


def test_a_well_without_a_spec_takes_wells_of_its_type():
    level = model().prices
    assert price_of(level, "window_well", "", well_type="timber", area_sqft=12).unit_cost == 300.0


def test_a_window_without_a_spec_takes_the_middle_of_the_nearest_in_area():
    """Twelve windows of one area, 100 to 1,200 USD: 650."""
    assert price_of(model().prices, "window", "", well_type="steel", area_sqft=12).unit_cost == 650.0


def test_an_item_never_priced_has_no_price_rather_than_zero():
    assert price_of(model().prices, "ladder", "", well_type="steel", area_sqft=12).unit_cost is None


def test_only_the_last_twenty_purchases_count():
    old = [("J1", None, "foam", None, "can", date(2020, 1, 1), 1.0, 5.0)] * 30
    new = [("J1", None, "foam", None, "can", date(2025, 1, 1), 1.0, 8.0)] * 20
    assert model(*old, *new).prices.last["foam"] == 8.0


def test_listed_prices_keep_the_newest():
    level = price_level(
        bought().with_columns(well_type=None, area_sqft=None),
        listed(("foam", "", date(2024, 1, 1), "can", 6.0), ("foam", "", date(2025, 1, 1), "can", 7.0)),
    )
    assert level.listed["foam"][""] == 7.0


def test_one_window_and_one_well_to_an_opening():
    lines = predict_materials(model(), one())[0]
    assert line("window", lines).order_quantity == 1
    assert line("window_well", lines).order_quantity == 1
    assert not [each for each in predict_materials(model(), one(well_type="none"))[0] if each.item == "window_well"]


def test_a_cover_is_counted_by_its_wells():
    """6 of 6 steel wells had one and 0 of 6 timber wells: likely on steel, unlikely on timber, never certain."""
    fitted = model()
    on_steel = line("well_cover", predict_materials(fitted, one())[0])
    on_timber = line("well_cover", predict_materials(fitted, one(well_type="timber"))[0])
    assert 0.5 < on_steel.share < 1
    assert 0 < on_timber.share < 0.5
    assert (on_steel.order_quantity, on_timber.order_quantity) == (1, 0)


def test_tape_comes_in_whole_rolls_and_a_job_pools_its_openings():
    """14 ft a frame, always one roll of 25 ft: the use is under 25 ft; two frames do not need two and a half rolls."""
    lines = predict_materials(model(), one())[0]
    tape = line("gasket_tape", lines)
    assert tape.pack_size == 25
    assert tape.order_quantity == 25
    assert tape.cost == pytest.approx(25 * 1.2)
    pooled = next(each for each in job_order([lines, lines]) if each.item == "gasket_tape")
    assert pooled.order_quantity in (25, 50)
    assert pooled.order_quantity <= 2 * tape.order_quantity


def test_an_item_bought_only_where_nothing_needs_it_is_left_out():
    """Drain pipe on jobs without a drain: no use per foot can be told, and none is made up."""
    dry = openings(*((f"o{n}", f"J{n}", {"drain": "none"}) for n in range(1, 13)))
    pipe = [(f"J{n}", None, "drain_pipe", None, "ft", DAY, 10.0, 2.0) for n in range(1, 13)]
    fitted = fit_materials(
        jobs(*NAMES), dry, bought(*TAPE, *pipe), listed(), defaults=learn_defaults(arrays_of(dry))
    )
    assert list(fitted.items) == ["gasket_tape"]


def test_a_pack_named_by_the_price_list_wins():
    """Bought by the 25 ft, listed by the 5 ft: the list decides."""
    prices = listed(("gasket_tape", "", DAY, "ft", 1.5)).with_columns(pack_size=5.0)
    assert model(prices=prices).items["gasket_tape"].pack_size == 5.0
    assert model().items["gasket_tape"].pack_size == 25.0


def test_returned_goods_lower_the_use():
    """Two cans bought, one taken back, at every job: one can."""
    cans = [(f"J{n}", None, "foam", None, "can", DAY, 2.0, 7.0) for n in range(1, 13)]
    back = [(f"J{n}", None, "foam", None, "can", DAY, -1.0, 7.0) for n in range(1, 13)]
    kept = line("foam", predict_materials(model(*cans, *back), one())[0])
    both = line("foam", predict_materials(model(*cans), one())[0])
    assert kept.order_quantity < both.order_quantity
