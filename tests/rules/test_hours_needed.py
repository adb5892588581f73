"""When hours are predicted, with what confidence, and when the answer is refused: one row per rule."""

import numpy as np
import pytest

from pipeline.errors import NotEnoughRecords
from pipeline.estimators.hours import fit_hours, predict_hours
from tests.recovery.labour_world import World, make_firm
from tests.unit.takeoff.build_openings import one

FIRM = make_firm(World(jobs=120, seed=77))


def first(openings):
    """The jobs that hold the first so many openings, as frames."""
    ids = FIRM.openings["job_id"].to_list()[:openings]
    return tuple(frame.filter(frame["job_id"].is_in(ids)) for frame in (FIRM.jobs, FIRM.openings, FIRM.labour))


@pytest.mark.parametrize(
    ("openings", "starter_rates", "answers"),
    [
        (0, {}, False),
        (8, {}, False),  # under 12
        (14, {}, True),
        (0, {"excavation": 1.0}, True),  # starter rates answer from the first job on
        (3, {"excavation": 1.0}, True),
    ],
)
def test_when_there_is_an_answer(openings, starter_rates, answers):
    if not answers:
        with pytest.raises(NotEnoughRecords, match="at least 12 are needed"):
            fit_hours(*first(openings), starter_rates=starter_rates)
        return
    model = fit_hours(*first(openings), starter_rates=starter_rates)
    assert np.isfinite(predict_hours(model, one(), "", 5, 1).mean).all()


MODEL = fit_hours(FIRM.jobs, FIRM.openings, FIRM.labour)


@pytest.mark.parametrize(
    ("changes", "confidence"),
    [
        ({"rough_width_in": 42.0}, "ok"),
        ({"rough_width_in": 75.0}, "few_like_it"),  # wider than any, by less than half
        ({"rough_width_in": 140.0}, "outside_experience"),  # over one and a half times the widest
        ({"wall_type": "wattle"}, "outside_experience"),  # never cut
        ({"soil": ""}, "ok"),  # not recorded: assumed and said
    ],
)
def test_confidence(changes, confidence):
    assert predict_hours(MODEL, one(**changes), "crew A", 5, 1).confidence == [confidence]


@pytest.mark.parametrize(
    ("changes", "zero"),
    [
        ({"opening_work": "replace"}, {"wall_cutting"}),
        ({"dig_method": "none"}, {"excavation", "backfill"}),
        ({"well_type": "none"}, {"well_setting"}),
        ({"drain": "none"}, {"drainage"}),
    ],
)
def test_phases_that_cannot_be_take_exactly_no_hours(changes, zero):
    said = predict_hours(MODEL, one(**changes), "crew A", 5, 1)
    assert {phase for phase, hours in said.phase_mean.items() if hours[0] == 0.0} == zero
