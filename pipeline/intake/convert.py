"""A column of texts to a column of values: the whole column by one cast, the rest once per distinct text."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import polars as pl

from pipeline.intake import dates, measures, numerals, words
from pipeline.intake.decimal_marks import ODD, DecimalMark, decimal_mark
from pipeline.intake.numerals import Style, Unreadable
from pipeline.intake.raw import NO_FAULTS, RawColumn
from schemas.vocab import WORDS

MEASURED = frozenset(measures.CANONICAL)
NUMERIC = MEASURED | {"money", "number", "count"}
ROUNDED = {"money": 4, "number": 4, "hours": 4}  # places that the book keeps
TOO_LARGE = {"money": 1e10, "number": 1e10, "hours": 1e6, "count": 2**31}  # what the book's columns can hold
DTYPES: Mapping[str, Any] = {
    **dict.fromkeys(NUMERIC, pl.Float64),
    **dict.fromkeys(("text", "id", "word"), pl.String),
    "count": pl.Int64,
    "date": pl.Date,
    "yes_no": pl.Boolean,
}
NOTHING_TEXTS = sorted(
    {variant for text in words.NOTHING for variant in (text, text.upper(), text.capitalize())} | {"N/a", "n/A"}
)
BARE = re.compile(r"[\d\s.,/+()-]+")  # a number without a unit
LONGEST = 200  # letters of a cell that is to be a number, a date or a word
SHOWN = 60  # letters of a cell that a reason repeats
EXAMPLES_KEPT = 3


@dataclass(frozen=True)
class ColumnPlan:
    """How one of our columns is to be read.

    header:  their header; unit: unit word of bare numbers, "" = canonical
    no_unit: what the header has in brackets where a unit word is expected, when it is none we know
    words:   the firm's own words -> ours; order, decimal: what the settings say, None = decide from the column
    """

    name: str
    kind: str
    header: str
    optional: bool = True
    unit: str = ""
    no_unit: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    order: str | None = None
    decimal: str | None = None


@dataclass(frozen=True)
class Converted:
    """A column read: its values, the cells that could not be read, what was decided, doubts and examples.

    retold: the texts as they read the same in any other file: where the column's heading or its other cells
            decided the reading, the text says it itself; None = all texts do
    """

    values: pl.Series
    faults: pl.DataFrame = field(default_factory=lambda: NO_FAULTS)
    readings: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    examples: tuple[tuple[str, str], ...] = ()
    retold: pl.Series | None = None


def converted(plan: ColumnPlan, column: RawColumn, *, guarded: bool) -> Converted:
    """One column in the record's types.

    in:  guarded: text that looks like a formula carries an apostrophe that is to be taken off
    out: values in row order; null where nothing was recorded or the cell could not be read (then it is in faults)
    """
    if plan.kind in ("id", "text"):
        return Converted(_verbatim(plan, column.text, guarded=guarded))
    if plan.kind == "date":
        return _dates(plan, column)
    if plan.kind in NUMERIC:
        return _numbers(plan, column)
    return _listed(plan, column.text)


def _verbatim(plan: ColumnPlan, text: pl.Series, *, guarded: bool) -> pl.Series:
    """Text as it stands: outer blanks and the formula guard taken off, empty cells null."""
    values = text.str.strip_chars()
    if guarded and values.str.starts_with("'").any():
        values = values.str.replace(r"^'('*[=+\-@\t\r])", "${1}")
    is_nothing = values == "" if plan.kind == "id" else values.is_in(NOTHING_TEXTS)
    if is_nothing.any():
        values = values.set(is_nothing.fill_null(False), None)
    return values.alias(plan.name)


def _listed(plan: ColumnPlan, text: pl.Series) -> Converted:
    """Words of a list, or yes and no: read once per distinct text."""
    firm_words = {words.plain_word(theirs): ours for theirs, ours in plan.words.items()}

    def parse(cell: str) -> str | bool | None:
        if plan.kind == "word":
            return words.word(numerals.tidy(cell), plan.name, firm_words)
        return words.yes_or_no(cell)

    distinct = text.unique()
    if plan.kind == "word" and distinct.drop_nulls().is_in(list(WORDS[plan.name])).all() and not firm_words:
        return Converted(text.alias(plan.name))
    return _finish(plan, text, _parsed(distinct, parse, none_is_nothing=plan.kind != "word"))


def _dates(plan: ColumnPlan, column: RawColumn) -> Converted:
    text = _untyped(column.text, column.dates)
    cast = text.str.to_date("%Y-%m-%d", strict=False)
    cast = cast.set((cast.dt.year() < 1000).fill_null(False), None)  # the cast takes 24-3-14 for the year 24
    refused = _refused(text, cast)
    order, doubtful, demanded = dates.order_of(refused)
    style = Style(order=plan.order or order)
    read = _finish(plan, text, _parsed(refused, lambda cell: dates.day(cell, style)), cast=cast)
    values = read.values if column.dates is None else column.dates.fill_null(read.values)
    told = _Told(plan, {"dmy": "day first", "mdy": "month first", "ymd": "year first"})
    told.decide(order, doubtful=doubtful, demanded=demanded, setting=plan.order, remedy=f'[dates] {plan.name} = "dmy"')
    unclear = [cell for cell in refused if doubtful and style.order and dates.has_two_readings(cell)]
    retold = column.text.replace(unclear, [dates.day(cell, style).isoformat() for cell in unclear]) if unclear else None
    return replace(
        read, values=values.alias(plan.name), retold=retold, readings=told.readings, doubts=told.doubts
    )


def _numbers(plan: ColumnPlan, column: RawColumn) -> Converted:
    exact = column.clocks if plan.kind == "hours" else None
    typed = None if column.numbers is None else _possible(plan, column.numbers)
    text = _untyped(_untyped(column.text, typed), exact)
    numbers = _scaled(plan, typed) if typed is not None and plan.unit else typed
    cast = _possible(plan, text.cast(pl.Float64, strict=False))
    refused = _refused(text, cast)
    decided = _decimal(plan, text, cast)
    everything = decided.mark != "." or bool(plan.unit)
    parse = _parser(plan.kind, Style(decimal=decided.mark, unit=plan.unit))
    answers = _without_odd(_parsed(_refused(text, None) if everything else refused, parse), decided)
    read = _finish(plan, text, answers, cast=None if everything else cast)
    values = read.values
    for given in (numbers, exact):
        values = values if given is None else given.fill_null(values)
    told = _Told(plan, {",": "decimal comma", ".": "decimal point"})
    told.decide_number(decided)
    retold = _retold(plan, column.text, answers) if decided.doubtful or plan.unit or plan.decimal else None
    doubts = (*told.doubts, *_doubted_unit(plan))
    return _within_storage(
        plan, column.text, replace(read, values=values, retold=retold, readings=told.readings, doubts=doubts)
    )


def _without_odd(answers: pl.DataFrame, decided: DecimalMark) -> pl.DataFrame:
    """The answers without those of texts that do not fit with the others of their column."""
    if not decided.odd:
        return answers
    is_odd = pl.col("text").is_in(decided.odd)
    return answers.with_columns(
        pl.when(~is_odd).then("value").alias("value"), pl.when(is_odd).then(pl.lit(ODD)).otherwise("rule").alias("rule")
    )


def _doubted_unit(plan: ColumnPlan) -> tuple[str, ...]:
    if not plan.no_unit:
        return ()
    if plan.kind not in MEASURED:
        return (f"the heading says ({plan.no_unit}), which is not read; its numbers are taken as they stand",)
    unit = plan.unit or measures.own_word(plan.kind)
    return (f"the heading says ({plan.no_unit}), which is no unit we know; bare numbers are read as {unit}",)


def _retold(plan: ColumnPlan, text: pl.Series, answers: pl.DataFrame) -> pl.Series:
    """Bare numbers with the unit of their column, numbers with two readings as the one that was taken."""
    read = answers.filter(pl.col("value").is_not_null()).select("text", "value").iter_rows()
    unclear = {cell: _plain_number(value) for cell, value in read if "?" in numerals.mark_demanded(cell)}
    distinct = text.drop_nulls().unique() if plan.unit else ()
    bare = {cell: f"{cell.strip()} {plan.unit}" for cell in distinct if BARE.fullmatch(cell) and cell.strip(" -")}
    told = {**bare, **unclear}
    return text.replace(list(told), list(told.values())) if told else text


def _plain_number(value: float) -> str:
    """A number in digits that read in one way only: 1250, 12.5, 7.1250."""
    digits = str(int(value)) if value.is_integer() else repr(value)
    return f"{digits}0" if numerals.mark_demanded(digits) == {"?"} else digits


def _possible(plan: ColumnPlan, numbers: pl.Series) -> pl.Series:
    """Numbers that the column can hold, null for the others: no infinities, no parts of what is counted."""
    impossible = ~numbers.is_finite() | (numbers != numbers.floor()) if plan.kind == "count" else ~numbers.is_finite()
    return numbers.set(impossible.fill_null(False), None)


def _parser(kind: str, style: Style) -> Callable[[str], float]:
    if kind in MEASURED:
        return lambda cell: measures.measure(cell, kind, style)
    simple = {"money": numerals.money, "number": numerals.number, "count": numerals.whole_number}[kind]
    return lambda cell: simple(cell, style)


def _decimal(plan: ColumnPlan, text: pl.Series, cast: pl.Series) -> DecimalMark:
    """The decimal mark that the settings give, or that the column's own cells do."""
    if plan.decimal is not None:
        return DecimalMark(plan.decimal)

    def reads(cell: str, mark: str) -> bool:
        try:
            _parser(plan.kind, Style(decimal=mark, unit=plan.unit))(cell)
        except Unreadable:
            return False
        return True

    return decimal_mark(plan.name, plan.kind, text, cast=cast, reads=reads)


def _scaled(plan: ColumnPlan, numbers: pl.Series) -> pl.Series:
    """Exact numbers of a column whose header gives another unit, in the canonical one."""
    distinct = numbers.drop_nulls().unique()
    style = Style(unit=plan.unit)
    answers = _parsed(distinct.cast(pl.String), _parser(plan.kind, style))
    return numbers.replace_strict(distinct, answers["value"].cast(pl.Float64), default=None, return_dtype=pl.Float64)


def _untyped(text: pl.Series, typed: pl.Series | None) -> pl.Series:
    """The texts of cells that the file does not type itself."""
    return text if typed is None else text.set(typed.is_not_null(), None)


def _refused(text: pl.Series, cast: pl.Series | None) -> pl.Series:
    """The distinct texts that the cast refused, in order, cells that mean nothing left out."""
    refused = text if cast is None else text.filter(cast.is_null())
    return refused.drop_nulls().unique().sort()


def _parsed(texts: pl.Series, parse: Callable[[str], Any], *, none_is_nothing: bool = True) -> pl.DataFrame:
    """Each distinct text with its value, or the rule it breaks."""
    found: list[tuple[str, Any, str | None]] = []
    for text in texts.drop_nulls():
        if (none_is_nothing and words.is_nothing(text)) or not text.strip():
            found.append((text, None, None))
            continue
        if len(text) > LONGEST:
            found.append((text, None, f"it must be no longer than {LONGEST} letters"))
            continue
        try:
            found.append((text, parse(text), None))
        except Unreadable as broken:
            found.append((text, None, str(broken)))
    keys, values, rules = zip(*found, strict=True) if found else ((), (), ())
    return pl.DataFrame(
        {"text": pl.Series(keys, dtype=pl.String), "value": pl.Series(values, strict=False) if values else [],
         "rule": pl.Series(rules, dtype=pl.String)}
    )


def _finish(plan: ColumnPlan, text: pl.Series, answers: pl.DataFrame, *, cast: pl.Series | None = None) -> Converted:
    """The column with its distinct answers put in place."""
    dtype = pl.Float64 if plan.kind in NUMERIC else DTYPES[plan.kind]
    values = _answered(text, answers, cast, dtype)
    broken = answers.filter(pl.col("rule").is_not_null())
    good = answers.filter(pl.col("value").is_not_null() & (pl.col("text") != pl.col("value").cast(pl.String)))
    examples = tuple((row["text"], str(row["value"])) for row in good.head(EXAMPLES_KEPT).iter_rows(named=True))
    return Converted(values.alias(plan.name), cell_faults(plan.name, text, broken), examples=examples)


def _answered(text: pl.Series, answers: pl.DataFrame, cast: pl.Series | None, dtype: Any) -> pl.Series:
    """Every text's answer, or where a cast did most of the work only those of the texts it refused."""
    if answers.is_empty():
        return pl.Series([None], dtype=dtype).new_from_index(0, len(text)) if cast is None else cast
    at = None if cast is None else (cast.is_null() & text.is_not_null()).arg_true()
    asked = text if at is None else text.gather(at)
    answered = asked.replace_strict(answers["text"], answers["value"].cast(dtype), default=None, return_dtype=dtype)
    return answered if cast is None or at is None else cast.scatter(at, answered)


def cell_faults(name: str, text: pl.Series, broken: pl.DataFrame) -> pl.DataFrame:
    """One line per cell whose text breaks a rule: _row, column, value, reason."""
    if broken.is_empty():
        return NO_FAULTS
    cells = pl.DataFrame({"_row": pl.int_range(len(text), eager=True), "value": text})
    return (
        cells.join(broken.select("text", "rule"), left_on="value", right_on="text", how="inner")
        .with_columns(pl.lit(name).alias("column"), sentence(name, pl.col("value"), pl.col("rule")).alias("reason"))
        .select("_row", "column", "value", "reason")
    )


def sentence(name: str, value: pl.Expr, rule: pl.Expr) -> pl.Expr:
    """`hours is '-8'; it must be more than 0`; the apostrophe that guards a formula is not shown."""
    value = value.str.replace(r"^'('*[=+\-@\t\r])", "${1}")
    shown = pl.when(value.str.len_chars() > SHOWN).then(value.str.head(SHOWN) + "…").otherwise(value)
    return pl.format("{} is '{}'; {}", pl.lit(name), shown, rule)


def _within_storage(plan: ColumnPlan, text: pl.Series, read: Converted) -> Converted:
    """Values rounded to the places the book keeps; what it cannot hold becomes a fault."""
    values = read.values.round(ROUNDED[plan.kind]) if plan.kind in ROUNDED else read.values
    most = TOO_LARGE.get(plan.kind)
    faults = read.faults
    if most is not None and (too_large := (values.abs() >= most).fill_null(False)).any():
        rule = f"it must be under {most:,.0f}"
        texts = text.filter(too_large).unique()
        found = cell_faults(plan.name, text.set(~too_large, None), pl.DataFrame({"text": texts, "rule": rule}))
        faults = pl.concat([faults, found])
        values = values.set(too_large, None)
    values = values.cast(pl.Int64, strict=False) if plan.kind == "count" else values
    return replace(read, values=values.alias(plan.name), faults=faults)


class _Told:
    """What is said about a column's order of day and month, or its decimal mark."""

    def __init__(self, plan: ColumnPlan, names: Mapping[str, str]) -> None:
        self.plan = plan
        self.names = names
        self.readings: tuple[str, ...] = ()
        self.doubts: tuple[str, ...] = ()

    def decide_number(self, decided: DecimalMark) -> None:
        """Say which decimal mark was taken and why, and which cells speak against it."""
        if decided.reading:
            self.readings = (decided.reading,)
        else:
            self.decide(
                decided.mark, doubtful=decided.doubtful, demanded=decided.demanded or {},
                setting=self.plan.decimal, remedy='[numbers] decimal = ","',
            )  # fmt: skip
        self.doubts = (*self.doubts, *([decided.doubt] if decided.doubt else []))

    def decide(
        self, choice: str | None, *, doubtful: bool, demanded: Mapping[str, str], setting: str | None, remedy: str
    ) -> None:
        """Say what was decided and why, or that nothing decides."""
        name = self.plan.name
        if setting is not None:
            self.readings = (f"{name}: {self.names[setting]}, as the settings say",)
        elif choice is None:
            both = " and ".join(f"'{text}' is {self.names[mark]}" for mark, text in demanded.items())
            self.doubts = (
                f"the column contradicts itself: {both}; rows with two readings wait; settle it with {remedy}",
            )
        elif doubtful and not demanded:
            self.readings = (f"{name}: {self.names[choice]}, because nothing decides",)
            self.doubts = (
                f"some cells can be read in two ways and nothing decides; read with {self.names[choice]}; "
                f"to read them the other way set {remedy}",
            )
        elif doubtful or choice in (",", "dmy"):
            self.readings = (f"{name}: {self.names[choice]}, because '{demanded[choice]}' demands it",)


def readings_of(results: Sequence[Converted]) -> tuple[str, ...]:
    """Everything that was decided, in the order of the columns."""
    return tuple(reading for result in results for reading in result.readings)
