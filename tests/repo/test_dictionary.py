"""The data dictionary in schemas/README.md is the one that the models give."""

from schemas.dictionary import README, dictionary, limits_in_words
from schemas.kinds import KINDS
from schemas.vocab import WORDS


def test_the_data_dictionary_is_not_stale() -> None:
    assert README.read_text(encoding="utf-8") == dictionary(), "run `make docs`"


def test_the_data_dictionary_names_every_column_and_every_word() -> None:
    text = dictionary()
    for kind in KINDS.values():
        section = text.split(f"## {kind.name}\n")[1].split("\n## ")[0]
        assert all(f"| {name} |" in section or f"| **{name}** |" in section for name in kind.columns())
    assert all(f"| {word} |" in text for words in WORDS.values() for word in words)


def test_limits_read_as_a_person_says_them() -> None:
    checks = KINDS["openings"].columns()["wall_thickness_in"].checks
    assert limits_in_words(checks) == "more than 0 and at most 36"
