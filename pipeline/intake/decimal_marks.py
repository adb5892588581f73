"""Which decimal mark a column of numbers has, decided from all its cells; one that cannot be read decides nothing."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import polars as pl

from pipeline.intake.numerals import PLAIN, mark_demanded

# Amounts a firm writes in whole cents at most; a cost per unit or hour may have more places.
PER_UNIT = frozenset({"unit_cost", "hourly_cost"})
SEVERAL = 2  # cells; house rule: fewer that could be thousands are no custom of the column
ODD = (
    "it must be written as the others of its column are: its comma can only be a decimal mark, "
    "theirs stand before the thousands; write it with a point, or with all its digits"
)
_CERTAIN = re.compile(r"\d\.\d{3},\d|\d\.\d{3}\.\d{3}")  # 1.250,00 and 1.250.000: nobody slips into these
_NUMERAL = re.compile(PLAIN)
Reads = Callable[[str, str], bool]  # whether a text can be read when its column has this decimal mark


@dataclass(frozen=True)
class DecimalMark:
    """What was decided about a column.

    mark:     "." or ","; None = the column contradicts itself
    doubtful: whether any text has two readings; demanded: one text for each mark that is demanded
    odd:      texts that alone demand a decimal comma where the column's commas stand before thousands: these wait
    reading:  why the point was taken in spite of them; doubt: what is to be looked at
    """

    mark: str | None = "."
    doubtful: bool = False
    demanded: dict[str, str] | None = None
    odd: tuple[str, ...] = ()
    reading: str = ""
    doubt: str = ""


def decimal_mark(name: str, kind: str, text: pl.Series, *, cast: pl.Series, reads: Reads) -> DecimalMark:
    """The decimal mark of a column; asked of all its texts only when some text raises the question.

    in: text: the column's cells; cast: those that are plain numbers as they stand, null for the others
    """
    refused = text.filter(cast.is_null()).drop_nulls().unique()
    if not any(mark_demanded(cell) - {"."} for cell in refused) and not _only_thousandths(text, cast):
        return DecimalMark()
    texts = text.filter(text.str.contains(r"[.,]").fill_null(False)).unique().sort()
    mark, doubtful, demanded = _decided(texts, reads)
    decided = DecimalMark(mark, doubtful, demanded)
    return _outnumbered(decided, name, text, kind=kind, reads=reads) if mark == "," and doubtful else decided


def _decided(texts: Iterable[str], reads: Reads) -> tuple[str | None, bool, dict[str, str]]:
    witness: dict[str, str] = {}
    for text in texts:
        for mark in mark_demanded(text) - witness.keys():
            if reads(text, "." if mark == "?" else mark):
                witness[mark] = text
    doubtful = "?" in witness
    demanded = {mark: text for mark, text in witness.items() if mark != "?"}
    if len(demanded) == 2:
        return None, doubtful, demanded
    return next(iter(demanded), "."), doubtful, demanded


def _outnumbered(decided: DecimalMark, name: str, text: pl.Series, *, kind: str, reads: Reads) -> DecimalMark:
    """A decimal comma that few cells demand, while several others read as thousands, may be a slip of those few.

    Amounts in whole cents have no three decimal places, so there the few wait; elsewhere it is said.
    """
    distinct = text.filter(text.str.contains(",").fill_null(False)).unique().sort()
    few = [cell for cell in distinct if "," in mark_demanded(cell) and reads(cell, ",")]
    thousands = [cell for cell in distinct if mark_demanded(cell) == {"?"} and reads(cell, ".")]
    count = _cells(text, thousands)
    if any(_CERTAIN.search(cell) for cell in few) or count < SEVERAL or count <= _cells(text, few):
        return decided
    example = thousands[0]
    if kind == "money" and name not in PER_UNIT:
        because = f"decimal point, because {count:,} cells such as '{example}' have a comma before their thousands"
        doubt = f"'{few[0]}' has a decimal comma where the others have thousands; it waits"
        return replace(decided, mark=".", odd=tuple(few), reading=f"{name}: {because}", doubt=doubt)
    as_read = _NUMERAL.sub(lambda found: found[0].replace(",", "."), example)
    return replace(
        decided,
        doubt=f"{count:,} cells such as '{example}' are read as '{as_read}', because '{few[0]}' demands a decimal "
        "comma; if they are thousands, correct that cell and take the file in again",
    )


def _cells(text: pl.Series, texts: Sequence[str]) -> int:
    return int(text.is_in(list(texts)).sum())


def _only_thousandths(text: pl.Series, cast: pl.Series) -> bool:
    """Whether every broken number has three places, as in 1.250, which could be 1250."""
    broken = text.filter((cast != cast.floor()).fill_null(False))
    first = broken.head(1)
    if first.is_empty() or not _grouped(first).all():
        return False
    return bool(_grouped(broken).all())


def _grouped(text: pl.Series) -> pl.Series:
    return text.str.contains(r"^\s*-?[1-9]\d{0,2}\.\d{3}\s*$")
