"""How the columns of a new firm's files are understood, with doubts, before anything is taken in."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from pipeline.intake.convert import ColumnPlan, Converted, converted
from pipeline.intake.daily_summaries import UnitNotSaid
from pipeline.intake.find import Found
from pipeline.intake.guesses import Guess, guesses, plan_under, score, with_usual_words, word_guesses
from pipeline.intake.headers import plain
from pipeline.intake.kinds_of import KindChoice, chosen_kind, header_score, likeliest_layout
from pipeline.intake.raw import RawColumn
from pipeline.intake.read import Table, Terms, records, tables_of
from pipeline.settings import Settings
from schemas.batch import FileRead
from schemas.kinds import KINDS
from schemas.results_intake import CellExample, InspectedColumn, InspectedFile, RefusedCell

REFUSED_KEPT = 25  # distinct texts; the rest are counted
KEPT_OUT = "columns that are none of ours"  # the columns themselves say so here
KIND_FIRST = "to be settled once the kind is"
TWICE = "another file of this kind has a column for it already; name it there alike"


@dataclass(frozen=True)
class Understanding:
    """Every table, and the words of ours that the files' own words usually mean: column -> theirs -> ours."""

    files: list[InspectedFile]
    words: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class Look:
    """A table with what its unknown headings are taken for, by position; refused: why ingest would stop at it."""

    table: Table
    guesses: Mapping[int, Guess]
    refused: UnitNotSaid | None = None


def look(found: Found, terms: Terms) -> Iterator[Look | FileRead]:
    """Every table of a file with its guesses; a NOAA file, which has no headings to guess, as its records.

    errors: InputError when the file cannot be opened at all
    """
    lenient = replace(terms, lay_out=likeliest_layout, score=_score)
    try:
        tables, refused = list(tables_of(found, lenient)), None
    except UnitNotSaid as unsaid:
        settings = replace(terms.settings, units={**terms.settings.units, **unsaid.units})
        tables, refused = list(tables_of(found, replace(lenient, settings=settings))), unsaid
    for table in tables:
        if isinstance(table, FileRead):
            yield table
        else:
            yield Look(table, guesses(table.layout, table.raw, terms.settings), refused)


def _score(cells: Sequence[str], kind: str | None, settings: Settings) -> int:
    return score(cells, kind, settings) if kind else header_score(cells, kind, settings)


def understood(looks: Sequence[Look | FileRead], terms: Terms) -> Understanding:
    """Every table: what each column is taken for, which cells cannot be read, what is missing, what ingest would do.

    The counts are those of an ingest with the starting settings, which hold every guess that is sure.
    """
    told = [one for one in looks if isinstance(one, Look)]
    named = _with_headings(told, terms.settings)
    words = _usual_words_in(told, named)
    both = {column: {**pairs, **named.words.get(column, {})} for column, pairs in words.items()}
    starting = replace(terms, settings=replace(named, words={**named.words, **both}))
    files = [_noaa(one) if isinstance(one, FileRead) else _file(one, starting, terms.settings) for one in looks]
    return Understanding(files, words)


def _with_headings(looks: Sequence[Look], settings: Settings) -> Settings:
    """The settings with every sure guess that no file of the same kind contradicts."""
    headers = {kind: dict(names) for kind, names in settings.headers.items()}
    for one in looks:
        if _choice(one.table, settings).doubt:
            continue
        kind = one.table.layout.kind
        for at, guess in one.guesses.items():
            header = one.table.raw.columns[at].header.strip()
            if guess.sure and not any(_contradicts(other, kind, header, guess.column) for other in looks):
                headers.setdefault(kind, {})[header] = guess.column
    return replace(settings, headers=headers)


def _contradicts(other: Look, kind: str, header: str, column: str) -> bool:
    """Whether a table would have a column twice, or another column under the heading, were it so named."""
    if other.table.layout.kind != kind:
        return False
    at = next((at for at, raw in enumerate(other.table.raw.columns) if plain(raw.header) == plain(header)), None)
    if at is None:
        return False
    has_it = column in {plan.name for plan in other.table.layout.plans.values()}
    return has_it or other.guesses.get(at, Guess("")).column != column


def _usual_words_in(looks: Sequence[Look], settings: Settings) -> dict[str, dict[str, str]]:
    """The words of the files that are none of ours, but that usually mean one."""
    words: dict[str, dict[str, str]] = {}
    for one in looks:
        if _choice(one.table, settings).doubt:
            continue
        raw = one.table.raw
        for at, plan in likeliest_layout(_headers(one.table), one.table.told, settings, "").plans.items():
            if plan.kind == "word":
                refused = converted(plan, raw.columns[at], guarded=raw.guarded).faults["value"].unique().sort()
                words.setdefault(plan.name, {}).update(word_guesses(plan.name, refused))
    return {column: pairs for column, pairs in words.items() if pairs}


def _choice(table: Table, settings: Settings) -> KindChoice:
    return chosen_kind(_headers(table), table.told, settings)


def _headers(table: Table) -> list[str]:
    return [column.header for column in table.raw.columns]


def _noaa(file: FileRead) -> InspectedFile:
    doubts = [f"values of other elements, for which there is no column: {file.not_used}"] if file.not_used else []
    return InspectedFile(
        path=file.path, sheet=file.sheet, kind=file.kind, kind_doubt=None, rows=file.rows, good=file.good.height,
        waiting=file.bad.height, columns=[], missing=[], doubts=["a NOAA GHCN-Daily file", *file.readings, *doubts],
        units_to_say={},
    )  # fmt: skip


def _file(one: Look, terms: Terms, given: Settings) -> InspectedFile:
    """One table as an ingest with the starting settings would read it; `given` are the settings there are now."""
    choice = _choice(one.table, terms.settings)
    layout = likeliest_layout(_headers(one.table), one.table.told, terms.settings, "")
    table = replace(one.table, layout=layout)
    doubts = [f"column {name} stands twice; leave one of them" for name in layout.repeated]
    usable = not (layout.missing or layout.repeated or choice.doubt or one.refused)
    if one.refused:
        doubts.append(str(one.refused).removeprefix(f"{table.source.name}: "))
    file = records(table, terms) if usable else None
    if file is not None:
        whole = (notice.text for notice in file.warnings if notice.column is None and notice.line is None)
        doubts += [text for text in whole if not text.startswith(KEPT_OUT)]
    return InspectedFile(
        path=table.source.path, sheet=table.source.sheet, kind=layout.kind, kind_doubt=choice.doubt or None,
        rows=table.raw.height, good=file.good.height if file else None, waiting=file.bad.height if file else None,
        columns=list(_columns(table, terms.settings, given, KIND_FIRST if choice.doubt else TWICE)),
        missing=list(layout.missing), doubts=doubts,
        units_to_say=dict(one.refused.units) if one.refused else {},
    )  # fmt: skip


def _columns(table: Table, settings: Settings, given: Settings, held_back: str) -> Iterator[InspectedColumn]:
    """Each column: ours as it stands, ours by a guess, or none of ours; held_back: why a sure guess is not in force."""
    left = guesses(table.layout, table.raw, settings)
    before = likeliest_layout(_headers(table), table.layout.kind, given, "").plans
    for at, column in enumerate(table.raw.columns):
        guess = left.get(at)
        if not column.header.strip():
            continue
        if at in before:
            yield _read(table.layout.plans.get(at, before[at]), column, table)
        elif at in table.layout.plans:
            plan = table.layout.plans[at]
            yield {**_read(plan, column, table), "column": None, "nearest": plan.name}
        elif guess is not None:
            known = with_usual_words(settings, guess.column) if held_back == KIND_FIRST else settings
            plan = plan_under(guess.column, column.header, table.layout.kind, known)
            read = _read(plan, column, table)
            yield {**read, "column": None, "nearest": guess.column, "why_unsure": guess.doubt or held_back}
        else:
            yield _none_of_ours(column)


def _read(plan: ColumnPlan, column: RawColumn, table: Table) -> InspectedColumn:
    result = converted(plan, column, guarded=table.raw.guarded)
    heading = column.header.strip()  # a line that repeats the header waits as a whole, so its cells say nothing
    refused = result.faults.filter(pl.col("value").str.strip_chars().ne_missing(heading))
    refused = refused.unique("value", keep="first", maintain_order=True)
    return InspectedColumn(
        header=column.header.strip(), column=plan.name, read_as=plan.kind,
        unit=plan.unit or str(KINDS[table.layout.kind].columns()[plan.name].metadata["unit"]) or None,
        filled=int(result.values.count()) + result.faults.height, examples=_examples(column, result),
        refused=_refused(refused), refused_more=max(refused.height - REFUSED_KEPT, 0),
        readings=list(result.readings), doubts=list(result.doubts), nearest=None, why_unsure=None,
    )  # fmt: skip


def _examples(column: RawColumn, result: Converted) -> list[CellExample]:
    """Texts that became something else; where none did, the first cell with a value."""
    if result.examples:
        return [CellExample(text=text, value=value) for text, value in result.examples]
    at = result.values.is_not_null().arg_true().head(1)
    return [CellExample(text=str(column.text[i]), value=str(result.values[i])) for i in at]


def _refused(distinct: pl.DataFrame) -> list[RefusedCell]:
    rules = distinct.head(REFUSED_KEPT).with_columns(pl.col("reason").str.split("'; ").list.last().alias("rule"))
    return [RefusedCell(text=row["value"], rule=row["rule"]) for row in rules.iter_rows(named=True)]


def _none_of_ours(column: RawColumn) -> InspectedColumn:
    return InspectedColumn(
        header=column.header.strip(), column=None, read_as=None, unit=None, filled=int(column.text.count()),
        examples=[], refused=[], refused_more=0, readings=[], doubts=[], nearest=None, why_unsure=None,
    )  # fmt: skip
