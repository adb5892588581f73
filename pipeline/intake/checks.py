"""The rules of a record kind, asked of a whole file at once, with their names as the message."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from pipeline.intake.convert import sentence
from pipeline.intake.raw import NO_FAULTS
from schemas.kinds import KINDS, Kind

FIRST_DAY = date(1990, 1, 1)  # house rule: records begin here
FIRST_WEATHER_DAY = date(1700, 1, 1)  # stations published by NOAA reach back into the 18th century
UNDATED_AHEAD = frozenset({"quotes", "prices"})  # house rule: these may be dated after the day of receipt
# Rules over two columns: where the fault is shown, how it breaks the rule, and the other column.
PAIR_RULES: Mapping[str, tuple[str, str, str]] = {
    "job_is_completed_on_or_after_its_start": ("completed_on", "before", "started_on"),
    "rough_opening_is_not_narrower_than_the_existing_one": ("rough_width_in", "smaller than", "existing_width_in"),
    "rough_opening_is_not_lower_than_the_existing_one": ("rough_height_in", "smaller than", "existing_height_in"),
}
EMPTY = "it must be filled in"
PRODUCTS = {"materials": ("unit_cost", "quantity"), "labour": ("hourly_cost", "hours")}  # what a line comes to
MOST_USD = 1e10  # what the book's exact decimals of money can hold


def model_faults(kind: Kind, values: pl.DataFrame, text: pl.DataFrame) -> pl.DataFrame:
    """Cells that break the kind's own rules: _row, column, value, reason.

    in: values: record columns in the record's types; text: the same cells as read, where the file has them
    """
    import pandera.polars as pa

    try:
        kind.model.validate(values, lazy=True)
    except pa.errors.SchemaErrors as broken:
        cases = broken.failure_cases
        if cases["index"].null_count():
            raise RuntimeError(f"a rule of {kind.name} could not be asked: {cases}") from broken
        return _told(kind, cases, values, text)
    return NO_FAULTS


def _told(kind: Kind, cases: pl.DataFrame, values: pl.DataFrame, text: pl.DataFrame) -> pl.DataFrame:
    found = []
    for (column, check), rows in cases.group_by("column", "check", maintain_order=True):
        at = rows["index"].cast(pl.Int64).sort()
        if str(check) in PAIR_RULES:
            found.append(_pair_faults(str(check), at, values, text))
        else:
            found.append(place_faults(str(column), at, _shown(str(column), values, text), _rule(kind, column, check)))
    return pl.concat(found)


def _shown(name: str, values: pl.DataFrame, text: pl.DataFrame) -> pl.Series:
    return text[name] if name in text.columns else values[name].cast(pl.String)


def _pair_faults(check: str, at: pl.Series, values: pl.DataFrame, text: pl.DataFrame) -> pl.DataFrame:
    name, relation, other = PAIR_RULES[check]
    others = _shown(other, values, text).gather(at)
    rule = pl.format("it must not be {} {} ({})", pl.lit(relation), pl.lit(other), others)
    cells = pl.DataFrame({"_row": at, "value": _shown(name, values, text).gather(at)})
    return cells.select(
        "_row", pl.lit(name).alias("column"), "value", sentence(name, pl.col("value"), rule).alias("reason")
    )


def place_faults(name: str, at: pl.Series, cells: pl.Series, rule: str) -> pl.DataFrame:
    """The same rule broken in one column at several rows: _row, column, value, reason."""
    shown = sentence(name, pl.col("value"), pl.lit(rule))
    empty = pl.lit(f"{name} is empty; {rule}")
    return pl.DataFrame({"_row": at.cast(pl.Int64), "value": cells.gather(at)}).select(
        "_row",
        pl.lit(name).alias("column"),
        "value",
        pl.when(pl.col("value").is_null() | (pl.col("value").str.strip_chars() == "")).then(empty).otherwise(shown)
        .alias("reason"),
    )  # fmt: skip


def _rule(kind: Kind, name: object, check: object) -> str:
    return EMPTY if check == "not_nullable" else rule_in_words(kind.columns()[str(name)].checks)


def rule_in_words(checks: Sequence[Any]) -> str:
    """The limits of a column: `it must be more than 0 and at most 36`."""
    phrases = {
        "greater_than": lambda of: f"more than {of['min_value']}",
        "greater_than_or_equal_to": lambda of: f"at least {of['min_value']}",
        "less_than_or_equal_to": lambda of: f"at most {of['max_value']}",
        "isin": lambda of: "one of " + ", ".join(of["allowed_values"]),
    }
    return "it must be " + " and ".join(phrases[check.name](check.statistics) for check in checks)


def date_faults(kind: str, values: pl.DataFrame, text: pl.DataFrame, received: date) -> list[pl.DataFrame]:
    """Dates before the first day of records or after the day of receipt: one frame per column with faults."""
    limits = [(_before(kind), f"it must be in {_before(kind).year} or later")]
    if kind not in UNDATED_AHEAD:
        limits.append((received, f"it must not be after the day of receipt ({received})"))
    found = []
    for name, column in KINDS[kind].columns().items():
        days = values[name]
        if column.metadata["kind"] != "date" or days.null_count() == values.height:
            continue
        for (_, rule), outside in zip(limits, (days < limits[0][0], days > received), strict=False):
            at = outside.fill_null(False).arg_true()
            if len(at):
                found.append(place_faults(name, at, text[name], rule))
    return found


def product_faults(kind: str, values: pl.DataFrame, text: pl.DataFrame) -> list[pl.DataFrame]:
    """Lines that come to more money than the book can hold: at most one frame."""
    if kind not in PRODUCTS:
        return []
    name, other = PRODUCTS[kind]
    at = ((values[name] * values[other]).abs() >= MOST_USD).fill_null(False).arg_true()
    if at.is_empty():
        return []
    return [place_faults(name, at, _shown(name, values, text), f"times {other} it must be under {MOST_USD:,.0f}")]


def _before(kind: str) -> date:
    return FIRST_WEATHER_DAY if kind == "weather" else FIRST_DAY
