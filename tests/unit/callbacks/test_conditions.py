"""The `when` of a pattern: what it may say, what it gives, and what it refuses."""

import numpy as np
import polars as pl
import pytest

from pipeline.callbacks.conditions import columns_used, parse
from pipeline.callbacks.facts import CHECK_FACTS, OPENING_FACTS
from pipeline.callbacks.truth import truth
from pipeline.errors import InputError

YES, NO, UNKNOWN = 1.0, 0.0, None
FACTS = {
    "substrate_temp_f": np.array([30.0, 55.0, np.nan]),
    "substrate_wet": np.array([None, True, False], object),
    "soil": np.array(["clay", "loam", None], object),
    "anchor_torque_max_lbft": np.array([40.0, 30.0, 35.0]),
    "anchor_torque_min_lbft": np.array([20.0, np.nan, 35.0]),
    "setting_day": np.array(["2024-01-31", "2024-07-04", None], "datetime64[D]"),
}


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("substrate_temp_f < 40", [YES, NO, UNKNOWN]),
        ("substrate_temp_f < 40 or substrate_wet", [YES, YES, UNKNOWN]),
        ("substrate_temp_f < 40 and substrate_wet", [UNKNOWN, NO, NO]),
        ("not substrate_wet", [UNKNOWN, NO, YES]),
        ("substrate_wet = true", [UNKNOWN, YES, NO]),
        ("soil in ('clay', 'hardpan')", [YES, NO, UNKNOWN]),
        ("soil not in ('clay', 'hardpan')", [NO, YES, UNKNOWN]),
        ("soil is null", [NO, NO, YES]),
        ("soil IS NOT NULL AND soil <> 'loam'", [YES, NO, NO]),
        ("substrate_temp_f between 30 and 50", [YES, NO, UNKNOWN]),
        ("substrate_temp_f not between 30 and 50", [NO, YES, UNKNOWN]),
        ("coalesce(substrate_temp_f, 0) < 40", [YES, NO, YES]),
        ("anchor_torque_max_lbft - anchor_torque_min_lbft > 10", [YES, UNKNOWN, NO]),
        ("anchor_torque_max_lbft / (anchor_torque_max_lbft - 40) > 0", [UNKNOWN, NO, NO]),
        ("abs(substrate_temp_f - 40) <= 10", [YES, NO, UNKNOWN]),
        ("least(substrate_temp_f, 40) < 40", [YES, NO, NO]),
        ("greatest(substrate_temp_f, 40) > 40", [NO, YES, NO]),
        ("setting_day >= '2024-07-01'", [NO, YES, UNKNOWN]),
        ("2 + 3 * 2 = 8 and -2 < -1", [YES, YES, YES]),
        ("not (soil = 'clay' or substrate_temp_f > 50)", [NO, NO, UNKNOWN]),
        ("gasket_gap_in > 0", [UNKNOWN, UNKNOWN, UNKNOWN]),
    ],
)
def test_conditions_follow_the_three_valued_logic_of_sql(condition, expected):
    """Not recorded stays not recorded unless the other side settles it (SQL-92 truth tables; from memory)."""
    found = truth(parse(condition), FACTS, 3)
    assert [None if np.isnan(value) else value for value in found] == expected


@pytest.mark.parametrize(
    ("condition", "named"),
    [
        ("torque > 40", "no column 'torque'"),
        ("substrate_temp_f <", "ends too early"),
        ("substrate_temp_f < 40;", "';' is not part of the grammar"),
        ("substrate_temp_f", "yes/no"),
        ("soil = 'mud'", "'mud' is no word of soil"),
        ("soil > 3", "number"),
        ("lower(soil) = 'clay'", "no function 'lower'"),
        ("delete from openings", "no column 'delete'"),
        ("(select 1) = 1", "no column 'select'"),
        ("soil like 'c%'", "'like' does not belong there"),
        ("case when soil = 'clay' then true end", "no column 'case'"),
        ("substrate_wet + 1 > 1", "number"),
        ("setting_day > '2024-13-01'", "no date"),
        ("abs(1, 2) = 1", "abs takes 1"),
        ("soil in ()", "does not belong there"),
        ("crew = 'A'", "no column 'crew'"),
        ("", "ends too early"),
        ("(" * 60 + "1 = 1" + ")" * 60, "levels inside one another"),
        ("not " * 60 + "substrate_wet", "levels inside one another"),
        ("substrate_wet or " * 200 + "substrate_wet", "at most 2000 characters"),
        ("1" + "+1" * 990 + " > 0", "more than 200 of and, or"),
        ("1=1" + " or 1=1" * 240, "more than 200 of and, or"),
        ("2" + "*2" * 120 + " > " + "2" + "/2" * 120, "more than 200 of and, or"),
    ],
)
def test_anything_beyond_the_grammar_is_named(condition, named):
    with pytest.raises(InputError, match=named):
        parse(condition)


def test_the_longest_chain_and_list_allowed_are_walked():
    """200 sums of one make 201; a list of 380 numbers ends with the wall's 30 °F."""
    assert truth(parse("1" + "+1" * 200 + " = 201"), FACTS, 3).tolist() == [YES] * 3
    long_list = "substrate_temp_f in (" + "1, " * 380 + "30)"
    assert columns_used(parse(long_list)) == {"substrate_temp_f"}
    assert truth(parse(long_list), FACTS, 3)[:2].tolist() == [YES, NO]


def test_the_columns_a_condition_looks_at():
    tree = parse("coalesce(substrate_temp_f, 0) < 40 and soil in ('clay')")
    assert columns_used(tree) == {"substrate_temp_f", "soil"}


def test_the_facts_are_the_columns_of_the_records():
    """Every column of an opening and of a check card can be named, with the right kind of value."""
    from schemas.installs import InstallChecks
    from schemas.jobs import Openings

    def kinds(model):
        named = {pl.String: "text", pl.Boolean: "flag", pl.Date: "date"}
        columns = model.to_schema().columns
        return {name: named.get(column.dtype.type, "number") for name, column in columns.items()}

    assert kinds(Openings) == dict(OPENING_FACTS)
    assert kinds(InstallChecks) == {"opening_id": "text", **CHECK_FACTS}
