"""Words of closed lists, yes and no, and the cells that mean nothing was recorded."""

import re
from collections.abc import Mapping

from pipeline.intake.numerals import Unreadable, tidy
from schemas.vocab import WORDS

NOTHING = frozenset({"", "n/a", "-", "–", "—", "none", "?"})  # empty by house rule; "none" yields to a word list
YES = frozenset({"yes", "y", "true", "1", "x"})
NO = frozenset({"no", "n", "false", "0"})
_BETWEEN = re.compile(r"[\s_\-]+")


def is_nothing(text: str) -> bool:
    """Whether a cell means not recorded, also behind the apostrophe that guards a formula."""
    return tidy(text).casefold() in NOTHING


def plain_word(text: str) -> str:
    """A word in lower case with one underscore for each blank, hyphen or underscore between its parts."""
    return _BETWEEN.sub("_", text.strip().casefold())


def word(text: str, column: str, firm_words: Mapping[str, str]) -> str | None:
    """The word of a column's list that a text means; None when it means nothing.

    in:     firm_words: the firm's own words, as plain words -> ours
    errors: Unreadable, telling the list
    """
    plain = plain_word(text)
    if plain in firm_words:
        return firm_words[plain]
    if plain in WORDS[column]:
        return plain
    if is_nothing(text):
        return None
    raise Unreadable(f"it must be one of {', '.join(WORDS[column])}")


def yes_or_no(text: str) -> bool:
    """True or false.

    errors: Unreadable
    """
    plain = text.strip().casefold()
    if plain in YES:
        return True
    if plain in NO:
        return False
    raise Unreadable("it must be yes or no")
