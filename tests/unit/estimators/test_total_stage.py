"""The doubt of the hours' total as it is stored: pairs of columns that one opening can have, nothing of the others."""

import json

import numpy as np
import pytest

from pipeline.estimators.design import Column, may_meet
from pipeline.estimators.pooled import leverage
from pipeline.estimators.total_stage import TotalModel, total_from_plain

WALLS = ("brick", "stone")


def columns_for(crews: list[str]) -> tuple[Column, ...]:
    """The level of all, two walls, a column per crew and one per crew on each wall."""
    named = [("", "")]
    named += [("wall_type", wall) for wall in WALLS]
    named += [("crew", crew) for crew in crews]
    named += [("crew_and_wall", f"{crew} on {wall}") for crew in crews for wall in WALLS]
    return tuple(Column(word, word, level, "one", 1.0) for word, level in named)


def model_of(crews: list[str]) -> TotalModel:
    columns = columns_for(crews)
    root = np.random.default_rng(5).normal(size=(len(columns), len(columns)))
    return TotalModel(columns, np.zeros(len(columns)), root @ root.T, np.ones(len(columns), dtype=int), {}, 0.1)


def openings_of(crews: list[str]) -> np.ndarray:
    """A row of the design per crew and wall, and one whose crew is not known."""
    columns = columns_for(crews)
    rows = [{"", wall, crew, f"{crew} on {wall}"} for crew in crews for wall in WALLS] + [{"", "stone"}]
    return np.array([[float(column.level in row) for column in columns] for row in rows])


def test_doubt_of_every_possible_opening_survives_the_book():
    """x'Vx by numpy on the whole square; a crew may be called 'on' something itself."""
    crews = ["Otter", "Heron", "Night on call"]
    fitted, rows = model_of(crews), openings_of(crews)
    stored = total_from_plain(json.loads(json.dumps(fitted.as_plain())))
    whole = np.einsum("ij,jk,ik->i", rows, fitted.V, rows)
    assert leverage(rows, stored.V) == pytest.approx(whole, rel=1e-12)


def test_a_book_fitted_earlier_holds_the_square_and_is_read_the_same():
    fitted = model_of(["Otter", "Heron"])
    earlier = total_from_plain(fitted.as_plain() | {"V": fitted.V.tolist()})
    assert earlier.V.tolist() == fitted.V.tolist()
    assert earlier.as_plain() == fitted.as_plain()


def test_two_crews_or_two_walls_never_meet():
    meet = may_meet(columns_for(["Otter", "Heron"]))
    names = [column.level for column in columns_for(["Otter", "Heron"])]
    pairs = {(names[one], names[two]) for one, two in zip(*np.nonzero(meet), strict=True)}
    assert ("Otter", "Otter on brick") in pairs
    assert ("brick", "Otter on brick") in pairs
    assert ("", "Heron") in pairs
    assert not pairs & {("Otter", "Heron"), ("brick", "stone")}
    assert not pairs & {("Otter", "Heron on brick"), ("stone", "Otter on brick")}


def test_ten_times_the_crews_take_little_more_than_ten_times_the_room():
    """Each crew adds the same few pairs: itself, the level, the walls, its walls; the square would grow 100-fold."""
    few, many = (
        sum(len(row) for row in model_of([f"crew {at}" for at in range(crews)]).as_plain()["V"]) for crews in (10, 100)
    )
    assert many < 11 * few
