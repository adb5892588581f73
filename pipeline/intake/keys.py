"""The key of each row: its id, the columns that name it, or for rows without an id what they are about."""

import polars as pl

from schemas.kinds import Kind

JOINT = "\x1f"  # the unit separator: stands in no cell that a person types


def keys(kind: Kind, values: pl.DataFrame) -> pl.Series:
    """One key per row; null where a part of it is missing or could not be read.

    in: values: record columns, typed; cells that could not be read are null
    """
    if kind.natural:
        return _with_natural(kind, values)
    if len(kind.key) == 1:
        return values[kind.key[0]].alias("_key")
    parts = [_text(name).fill_null("") if kind.columns()[name].metadata["optional"] else _text(name)
             for name in kind.key]  # fmt: skip
    return values.select(pl.concat_str(parts, separator=JOINT).alias("_key"))["_key"]


def _text(name: str) -> pl.Expr:
    return pl.col(name).cast(pl.String)


def _with_natural(kind: Kind, values: pl.DataFrame) -> pl.Series:
    """The id; for a row without one its natural columns and how often they occurred before in this file."""
    own = values[kind.key[0]]
    if not own.null_count():
        return own.alias("_key")
    required = [name for name in kind.natural if not kind.columns()[name].metadata["optional"]]
    occurrence = pl.int_range(1, pl.len() + 1).over(kind.natural).cast(pl.String)
    parts = [pl.lit(""), *(_text(name).fill_null("") for name in kind.natural), occurrence]
    named = pl.all_horizontal(pl.col(name).is_not_null() for name in required)
    without = values.with_row_index("_at").filter(own.is_null())
    found = without.select("_at", pl.when(named).then(pl.concat_str(parts, separator=JOINT)).alias("_key"))
    return (
        values.select(pl.col(kind.key[0]).alias("_own")).with_row_index("_at")
        .join(found, on="_at", how="left", validate="1:1", maintain_order="left")
        .select(pl.coalesce("_own", "_key").alias("_key"))["_key"]
    )  # fmt: skip
