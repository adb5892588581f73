"""Units live in names: what a column is measured in can be read off its end."""

from schemas.kinds import KINDS
from schemas.units import SUFFIXES

FIELDS = [(name, column.metadata) for kind in KINDS.values() for name, column in kind.columns().items()]


def test_a_column_with_a_unit_ends_in_it():
    """Lengths end in _in, temperatures in _f, torques in _lbft, each a suffix that is explained."""
    measured = [(name, field["unit"]) for name, field in FIELDS if field["kind"] in ("length", "temperature", "torque")]
    assert len(measured) > 20
    assert [name for name, unit in measured if not name.endswith(f"_{unit}") or f"_{unit}" not in SUFFIXES] == []


def test_a_date_ends_in_on():
    """worked_on, bought_on, reported_on …"""
    dates = [name for name, field in FIELDS if field["kind"] == "date"]
    assert len(dates) > 10 and "_on" in SUFFIXES
    assert [name for name in dates if not name.endswith("_on")] == []
