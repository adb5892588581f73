"""What the estimator typed or listed, read into openings: the same words and sizes as in the records."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from pipeline.errors import InputError
from pipeline.intake.measures import measure
from pipeline.intake.numerals import Style, Unreadable
from pipeline.intake.words import is_nothing, plain_word, word, yes_or_no
from pipeline.quote.request import QuoteRequest
from pipeline.settings import Settings

WORD_COLUMNS = ("wall_type", "opening_work", "soil", "dig_method", "well_type", "drain")
SIZE_COLUMNS = (
    "wall_thickness_in", "rough_width_in", "rough_height_in", "existing_width_in", "existing_height_in",
    "depth_below_grade_in", "well_width_in", "well_projection_in", "well_depth_in", "clear_width_in",
    "clear_height_in", "sill_above_floor_in", "sill_below_grade_in",
)  # fmt: skip
TEXT_COLUMNS = ("window_spec", "well_spec")
YES_NO_COLUMNS = ("reinforced",)
COLUMNS = (*WORD_COLUMNS, *SIZE_COLUMNS, *YES_NO_COLUMNS, *TEXT_COLUMNS)
NEEDED = ("wall_type", "opening_work", "rough_width_in", "rough_height_in", "well_type")
MAY_BE_ZERO = ("existing_width_in", "existing_height_in", "depth_below_grade_in", "sill_above_floor_in")
MAY_BE_NEGATIVE = ("sill_below_grade_in",)
MAX_SIZE_IN, MAX_WALL_IN = 400.0, 36.0  # the records' own limits


@dataclass(frozen=True)
class AskedOpening:
    """One opening as asked: canonical values by column, None = not given; ids, crew, start: "" or None = not said."""

    values: Mapping[str, Any]
    opening_id: str = ""
    job_id: str = ""
    crew: str = ""
    start: date | None = None


def asked_opening(
    texts: Mapping[str, str | None], settings: Settings, *, place: str = "", canonical: bool = False
) -> AskedOpening:
    """One opening from texts by column.

    in:     texts as typed; `place` stands before each fault ("openings.csv line 3: "); canonical: bare numbers are
            inches and words ours, whatever the settings say of files
    errors: InputError naming every fault at once
    """
    faults: list[str] = []
    values = {name: _value(name, texts.get(name), settings, faults=faults, canonical=canonical) for name in COLUMNS}
    faults += [f"{name} is missing; it is needed for a quote" for name in NEEDED if not texts.get(name)]
    faults += _contradictions(values)
    if faults:
        raise InputError("\n".join(place + fault for fault in faults))
    start = _start(texts.get("started_on"), place)
    return AskedOpening(
        values, texts.get("opening_id") or "", texts.get("job_id") or "", texts.get("crew") or "", start
    )


def _value(name: str, text: str | None, settings: Settings, *, faults: list[str], canonical: bool) -> Any:
    if text is None or not text.strip():
        return None
    try:
        return _read(name, text, settings, "" if canonical else settings.units.get(name, ""))
    except Unreadable as fault:
        faults.append(f"{name} is '{text}'; {fault}")
        return None


def _read(name: str, text: str, settings: Settings, unit: str) -> Any:
    if name in WORD_COLUMNS:
        return word(text, name, {plain_word(theirs): ours for theirs, ours in settings.words.get(name, {}).items()})
    if name in YES_NO_COLUMNS:
        return None if is_nothing(text) else yes_or_no(text)
    if name in TEXT_COLUMNS:
        return text.strip()
    if is_nothing(text):
        return None
    size = measure(text, "length", Style(unit=unit))
    _check_size(name, size)
    return size


def _check_size(name: str, size: float) -> None:
    most = MAX_WALL_IN if name == "wall_thickness_in" else MAX_SIZE_IN
    if name in MAY_BE_NEGATIVE:
        least_kept, words = size >= -most, f"from -{most:g} to {most:g}"
    elif name in MAY_BE_ZERO:
        least_kept, words = size >= 0, f"from 0 to {most:g}"
    else:
        least_kept, words = size > 0, f"more than 0 and at most {most:g}"
    if not least_kept or size > most:
        raise Unreadable(f"it must be {words}")


def _contradictions(values: Mapping[str, Any]) -> list[str]:
    faults = []
    for side in ("width", "height"):
        rough, existing = values[f"rough_{side}_in"], values[f"existing_{side}_in"]
        if rough is not None and existing is not None and rough < existing:
            faults.append(f"rough_{side}_in is {rough:g}; it must not be smaller than existing_{side}_in, {existing:g}")
        clear = values[f"clear_{side}_in"]
        if rough is not None and clear is not None and clear > rough:
            hole = f"rough_{side}_in, {rough:g}"
            faults.append(f"clear_{side}_in is {clear:g}; a clear opening cannot be larger than the hole, {hole}")
    return faults


def _start(text: str | None, place: str) -> date | None:
    if not text or is_nothing(text):
        return None
    from pipeline.intake.dates import day

    try:
        return day(text, Style())
    except Unreadable as fault:
        raise InputError(f"{place}started_on is '{text}'; {fault}") from fault


def quote_request(
    openings: Sequence[AskedOpening], *, crew: str, start: date | None, margin: float, price: float | None
) -> QuoteRequest:
    """Columns for the models; an opening without a job is a job of its own, and its own crew and start win."""
    starts = [opening.start or start for opening in openings]
    return QuoteRequest(
        openings={name: _column(name, openings) for name in COLUMNS},
        opening_ids=[opening.opening_id or f"opening {at}" for at, opening in enumerate(openings, start=1)],
        job_ids=[opening.job_id or f"job of opening {at}" for at, opening in enumerate(openings, start=1)],
        crews=[opening.crew or crew for opening in openings],
        months=[day.month if day else 0 for day in starts],
        starts=[day.isoformat() if day else "" for day in starts],
        margin=margin,
        price=price,
    )


def _column(name: str, openings: Sequence[AskedOpening]) -> np.ndarray:
    values = [opening.values[name] for opening in openings]
    if name in SIZE_COLUMNS or name in YES_NO_COLUMNS:
        return np.array([np.nan if value is None else float(value) for value in values], dtype=float)
    return np.array(["" if value is None else value for value in values], dtype=object)


def asked_in_file(path: Path, settings: Settings) -> tuple[list[AskedOpening], Sequence[str]]:
    """The openings listed in a file with the columns of the openings record, crew and started_on; and notes on it.

    errors: InputError naming file, line, column and rule, all faults at once
    """
    from pipeline.runs.quote_file import openings_in

    listed = openings_in(path, settings)
    asked, faults = [], []
    for row in listed.rows:
        faults += [row.place + fault for fault in row.faults]
        if row.faults:
            continue
        try:
            asked.append(asked_opening(row.texts, settings, place=row.place, canonical=True))
        except InputError as fault:
            faults.append(str(fault))
    if faults:
        raise InputError("\n".join(faults))
    return asked, listed.notes
