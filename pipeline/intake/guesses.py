"""Which column of ours a heading of theirs most likely means: by custom and by words, held against the cells below."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache

import polars as pl

from pipeline.intake.assemble import TOTAL
from pipeline.intake.convert import ColumnPlan, Converted, converted
from pipeline.intake.headers import SUFFIXES, Layout, heading, plain, plan_of
from pipeline.intake.raw import RawColumn, RawTable
from pipeline.intake.usual_headings import ABBREVIATIONS, DOUBTFUL_HEADINGS, FILLERS, USUAL_HEADINGS
from pipeline.intake.usual_words import USUAL_WORDS
from pipeline.intake.words import plain_word
from pipeline.settings import Settings
from schemas.kinds import KINDS

ALIKE = 0.6  # house rule: share of words that two headings must have in common to be called alike
MISSPELT = 0.84  # house rule: share of letters that a word must have in common with one that we know
SHORTEST_MISSPELT = 5  # letters; shorter words are too alike for that
MOST_UNREADABLE = 0.5  # house rule: a guess is dropped when more of a column's cells cannot be read under it
SURE_READABLE = 0.8  # house rule: a guess is sure when at least so many can
FEW_WORDS = 25  # house rule: a column with more distinct texts is no column of words
SAME, USUAL, ASKED, LIKE = range(4)  # how good a guess is, the best first
_BRACKETS = re.compile(r"[(\[{].*?[)\]}]")
_DOTTED = re.compile(r"(?<=\b\w)\.")  # R.O. is RO
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True)
class Guess:
    """The column that a heading is taken for; a guess that is not sure has its doubt, for a person to settle."""

    column: str
    doubt: str = ""

    @property
    def sure(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.doubt


@dataclass(frozen=True)
class _Candidate:
    rank: int
    column: str
    doubt: str = ""


def guesses(layout: Layout, raw: RawTable, settings: Settings) -> dict[int, Guess]:
    """The column of each heading that is none of ours, by position; none of them twice, and none that is there."""
    taken = {plan.name for plan in layout.plans.values()}
    fitting: list[tuple[int, int, _Candidate]] = []
    for at, column in enumerate(raw.columns):
        if at in layout.plans or not column.header.strip() or column.header.strip() not in layout.unexpected:
            continue
        open_to_it = [one for one in candidates(column.header, layout.kind) if one.column not in taken]
        kept = [found for one in open_to_it if (found := _held(one, column, layout.kind, settings, raw.guarded))]
        fitting += [(one.rank, at, _besides(one, kept)) for one in kept]
    return _one_each(sorted(fitting, key=lambda found: found[:2]), [column.header.strip() for column in raw.columns])


def _one_each(fitting: Sequence[tuple[int, int, _Candidate]], headers: Sequence[str]) -> dict[int, Guess]:
    """Each heading its best column that no better or earlier heading has; a rival as good makes it doubtful."""
    given: dict[int, tuple[int, Guess]] = {}
    for rank, at, one in fitting:
        rival = next((place for place, (_, guess) in given.items() if guess.column == one.column), None)
        if at in given:
            continue
        if rival is None:
            given[at] = (rank, Guess(one.column, one.doubt))
        elif given[rival][0] == rank and given[rival][1].sure:
            given[rival] = (rank, Guess(one.column, f"{headers[at]} may be it as well; use one of the two"))
    return {at: guess for at, (_, guess) in given.items()}


def _besides(one: _Candidate, others: Sequence[_Candidate]) -> _Candidate:
    """The candidate, doubtful when another column fits the heading and its cells as well."""
    rivals = [other.column for other in others if other.rank == one.rank and other.column != one.column]
    return replace(one, doubt=f"it may be {' or '.join(rivals)} as well") if rivals and not one.doubt else one


def _held(one: _Candidate, column: RawColumn, kind: str, settings: Settings, guarded: bool) -> _Candidate | None:
    """The candidate held against the cells: None when most of them cannot be read so, doubtful when many cannot."""
    no_record = column.text.str.strip_chars().str.contains(f"^$|{TOTAL}")
    column = replace(column, text=column.text.set(no_record.fill_null(False), None))
    filled = column.text.drop_nulls()
    if filled.is_empty():
        return one
    value_kind = str(KINDS[kind].columns()[one.column].metadata["kind"])
    if value_kind in ("id", "text"):
        return None if value_kind == "id" and column.dates is not None and column.dates.count() else one
    read = _read_as(one.column, column, kind, settings, guarded)
    readable = 1 - read.faults.height / len(filled)
    if value_kind == "word":
        return _held_words(one, filled, readable)
    if readable < MOST_UNREADABLE:
        return None
    if readable < SURE_READABLE and read.faults.height > 1 and not one.doubt:
        return replace(one, doubt=f"{read.faults.height} of {len(filled)} cells cannot be read so")
    return _within_limits(one, read.values.drop_nulls(), kind)


def _held_words(one: _Candidate, filled: pl.Series, readable: float) -> _Candidate | None:
    distinct = filled.unique()
    if readable >= MOST_UNREADABLE:
        return one
    are_numbers = distinct.str.contains(r"\d").sum() > MOST_UNREADABLE * len(distinct)
    if are_numbers or len(distinct) > FEW_WORDS:
        return None
    is_plain = one.rank in (SAME, USUAL) and not one.doubt
    return one if is_plain and readable else replace(one, doubt=one.doubt or "few of its words are ours")


def _within_limits(one: _Candidate, values: pl.Series, kind: str) -> _Candidate:
    """The candidate, doubtful when most values are outside the column's own limits, as hours over 24."""
    limits = {check.name: check.statistics for check in KINDS[kind].columns()[one.column].checks}
    most = limits.get("less_than_or_equal_to", {}).get("max_value")
    if one.doubt or most is None or (values > most).sum() <= MOST_UNREADABLE * len(values):
        return one
    doubt = f"most of its cells are over {most}, the most that {one.column} may be; is the unit right?"
    return replace(one, doubt=doubt)


def _read_as(name: str, column: RawColumn, kind: str, settings: Settings, guarded: bool) -> Converted:
    """The cells as they would be read under a name, the usual words of offices known."""
    return converted(plan_under(name, column.header, kind, with_usual_words(settings, name)), column, guarded=guarded)


def plan_under(name: str, header: str, kind: str, settings: Settings) -> ColumnPlan:
    """How a column would be read were its heading named in the settings."""
    named = replace(settings, headers={**settings.headers, kind: {**settings.headers.get(kind, {}), header: name}})
    found = heading(header, kind, named)
    assert found is not None and found.column == name  # the settings have just named it
    return plan_of(found, kind, header, named)


def with_usual_words(settings: Settings, column: str) -> Settings:
    """The settings with the words that offices use in a column; the firm's own words stand above them."""
    words = {**usual_words(column), **settings.words.get(column, {})}
    return replace(settings, words={**settings.words, column: words})


@cache
def usual_words(column: str) -> Mapping[str, str]:
    """The words that offices use in a column, plain -> ours."""
    lists = USUAL_WORDS.get(column, {})
    return {plain_word(theirs): ours for ours, words in lists.items() for theirs in words.split(",")}


def score(cells: Sequence[str], kind: str, settings: Settings) -> int:
    """How many cells of a line are headings of a kind, as ours or as offices write them."""
    return sum(
        heading(cell, kind, settings) is not None or any(one.rank < LIKE for one in candidates(cell, kind))
        for cell in cells
        if cell.strip()
    )


@cache
def candidates(header: str, kind: str) -> Sequence[_Candidate]:
    """The columns of a kind that a heading may mean, the likeliest first."""
    words = heading_words(header)
    if not words:
        return ()
    found = list(_named(words, kind))
    if found:
        return found
    spelled = frozenset(_spelled(word, kind) for word in words)
    if spelled != words and (right := list(_named(spelled, kind))):
        return [replace(one, rank=LIKE, doubt=f"read as {' '.join(sorted(spelled))}") for one in right]
    return list(_alike(words, kind))


def _named(words: frozenset[str], kind: str) -> Iterator[_Candidate]:
    for entry, one in _entries(kind):
        if entry == words:
            yield one


def _alike(words: frozenset[str], kind: str) -> Iterator[_Candidate]:
    """The one column that a heading shares most words with."""
    shares = [(len(entry & words) / len(entry | words), one) for entry, one in _entries(kind)]
    best, one = max(shares, key=lambda found: found[0])
    if best >= ALIKE:
        yield _Candidate(LIKE, one.column, one.doubt or "its words are only like it")


@cache
def _entries(kind: str) -> Sequence[tuple[frozenset[str], _Candidate]]:
    """Every heading that we know of a kind, as its words, the surest first."""
    own = [(heading_words(_short(name)), _Candidate(SAME, name)) for name in KINDS[kind].columns()]
    usual = [
        (heading_words(text), _Candidate(USUAL, name))
        for name, texts in USUAL_HEADINGS[kind].items()
        for text in texts.split(",")
    ]
    asked = [
        (heading_words(text), _Candidate(ASKED, name, doubt))
        for text, (name, doubt) in DOUBTFUL_HEADINGS.get(kind, {}).items()
    ]
    return list(dict.fromkeys([*own, *usual, *asked]))


def _short(name: str) -> str:
    for suffix in SUFFIXES:
        name = name.removesuffix(suffix)
    return name


@cache
def heading_words(header: str) -> frozenset[str]:
    """A heading's words, abbreviations spelled out, each in the singular; what stands in brackets is left out."""
    text = _DOTTED.sub("", _BRACKETS.sub(" ", header)).replace("#", " no ").replace("№", " no ").replace("/", " ")
    words = (_singular(word) for word in plain(_CAMEL.sub(" ", text)).split("_"))
    spelled = (ABBREVIATIONS.get(word, word) for word in words)
    return frozenset(word for word in spelled if word and word not in FILLERS)


def _singular(word: str) -> str:
    is_plural = len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is"))
    return word[:-1] if is_plural else word


def _spelled(word: str, kind: str) -> str:
    if len(word) < SHORTEST_MISSPELT:
        return word
    close = get_close_matches(word, _known_words(kind), n=1, cutoff=MISSPELT)
    return close[0] if close else word


@cache
def _known_words(kind: str) -> Sequence[str]:
    return sorted({word for entry, _ in _entries(kind) for word in entry})


def word_guesses(column: str, texts: Iterable[str]) -> dict[str, str]:
    """The words of ours that texts of a column usually mean; texts that may mean anything are left out."""
    usual = usual_words(column)
    return {text: usual[plain_word(text)] for text in texts if plain_word(text) in usual}
