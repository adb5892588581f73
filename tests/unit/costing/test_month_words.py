"""The month in words: what is said of a wall type stands with its range."""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from pipeline.costing.month_words import _walls, cost_so_far
from schemas.results_money import QuoteBias


def _bias(low: float, high: float) -> QuoteBias:
    """10 jobs that took 129 h where 100 h were quoted."""
    return QuoteBias(
        measure="hours", jobs=10, quoted=100.0, actual=129.0, bias=0.29, low=low, high=high, correction=1.29
    )


def _told(low: float, high: float) -> list[str]:
    return [sentence["text"] for sentence in _walls(SimpleNamespace(bias_by_wall=[("brick", _bias(low, high))]))]


def test_a_wall_that_stands_out_is_told_with_its_range_and_its_jobs():
    assert _told(0.10, 0.48) == [
        "On brick: over the last twelve months jobs took 29.0 % more hours than quoted "
        "(range +10.0 to +48.0 %, 10 jobs); quoted hours times 1.29 would have been right."
    ]


def test_one_wall_of_five_needs_more_than_a_range_without_zero():
    """Half the range is 0.28; 1 chance in 100 asks for 2.576 / 1.96 times that, 0.368, and 0.29 is less."""
    assert _told(0.01, 0.57) == []


@pytest.mark.parametrize(
    ("visits", "not_costed", "cost", "said"),
    [
        (3, 3, "0", "not costed yet"),
        (3, 1, "250", "$250 so far, 1 of them not costed yet"),
        (3, 0, "250", "$250 so far"),
        (0, 0, "0", "$0 so far"),
    ],
)
def test_a_cost_nobody_has_written_down_yet_is_not_nothing(visits, not_costed, cost, said):
    assert cost_so_far({"visits": visits, "not_costed": not_costed, "cost": Decimal(cost)}) == said
