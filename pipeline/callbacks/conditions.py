"""The `when` of a pattern, read into a tree: columns, literals, comparison, arithmetic, and/or/not; nothing else."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.callbacks.facts import FACTS, words_of
from pipeline.errors import InputError

MAX_LENGTH = 2_000  # characters; a longer condition is a mistake, and the reader below recurses
MAX_DEPTH = 40  # nested parentheses, for the same reason
MAX_LINKS = 200  # and, or, + - * / in all: a chain of them is a tree as deep, which is walked by recursion
TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+\.?\d*|\.\d+)|(?P<text>'(?:[^']|'')*')|(?P<name>[A-Za-z_]\w*)"
    r"|(?P<sign><=|>=|<>|!=|[=<>+\-*/(),]))"
)
KEYWORDS = {"and", "or", "not", "in", "between", "is", "null", "true", "false"}
FUNCTIONS = {"coalesce": (1, 99), "abs": (1, 1), "least": (1, 99), "greatest": (1, 99)}
COMPARISONS = {"=", "<>", "!=", "<", "<=", ">", ">="}


@dataclass(frozen=True)
class Node:
    """One step of a condition: an operation, a column or a literal, and the kind of value it gives."""

    op: str
    kind: str  # number, text, flag, date, or null for a bare null
    parts: tuple["Node", ...] = ()
    value: str | float | bool | date | None = None


def parse(text: str) -> Node:
    """Read one condition.

    in:     text in the grammar of the settings file
    out:    a tree whose top gives a yes/no value
    errors: InputError with the word or column that does not belong
    """
    if len(text) > MAX_LENGTH:
        raise InputError(f"a condition may have at most {MAX_LENGTH} characters; this one has {len(text)}")
    reader = _Reader(text)
    tree = _either(reader)
    if reader.peek() != "":
        raise reader.unexpected()
    return _wanted(tree, "flag", "the whole condition")


def columns_used(tree: Node) -> set[str]:
    """Names of the columns a condition looks at."""
    own = {str(tree.value)} if tree.op == "column" else set()
    return own.union(*(columns_used(part) for part in tree.parts))


class _Reader:
    """The words of a condition, one at a time."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = list(_tokens(text))
        self.at = 0
        self.depth = 0
        self.links = 0

    def peek(self) -> str:
        """The next token in lower case (text literals as written); empty at the end."""
        token = self.tokens[self.at] if self.at < len(self.tokens) else ""
        return token if token.startswith("'") else token.lower()

    def take(self) -> str:
        token = self.peek()
        self.at += 1
        return token

    def accept(self, *wanted: str) -> str:
        """Take the next token if it is one of those; else give an empty text."""
        return self.take() if self.peek() in wanted else ""

    def link(self, *wanted: str) -> str:
        """The same for what links two parts; too many of them are refused."""
        found = self.accept(*wanted)
        self.links += bool(found)
        if self.links > MAX_LINKS:
            raise InputError(f"condition `{self.text}`: more than {MAX_LINKS} of and, or, +, -, * and /")
        return found

    def expect(self, wanted: str) -> None:
        if not self.accept(wanted):
            raise self.unexpected(f", '{wanted}' should stand there")

    def unexpected(self, more: str = "") -> InputError:
        found = f"'{self.peek()}' does not belong there" if self.peek() else "it ends too early"
        return InputError(f"condition `{self.text}`: {found}{more}")


def _tokens(text: str) -> Iterator[str]:
    at = 0
    while at < len(text.rstrip()):
        found = TOKEN.match(text, at)
        if found is None:
            raise InputError(f"condition `{text}`: '{text[at:].strip()[0]}' is not part of the grammar")
        yield found.group().strip()
        at = found.end()


def _either(reader: _Reader) -> Node:
    return _chain(reader, "or", _both)


def _both(reader: _Reader) -> Node:
    return _chain(reader, "and", _negated)


def _chain(reader: _Reader, word: str, part: Callable[[_Reader], Node]) -> Node:
    left = part(reader)
    while reader.link(word):
        sides = (_wanted(left, "flag", word), _wanted(part(reader), "flag", word))
        left = Node(word, "flag", sides)
    return left


def _negated(reader: _Reader) -> Node:
    if not reader.accept("not"):
        return _compared(reader)
    reader.depth += 1
    inner = _wanted(_negated(_checked_depth(reader)), "flag", "not")
    reader.depth -= 1
    return Node("not", "flag", (inner,))


def _compared(reader: _Reader) -> Node:
    left = _sum(reader)
    if sign := reader.accept(*COMPARISONS):
        return Node("<>" if sign == "!=" else sign, "flag", _pair(left, _sum(reader), sign))
    if reader.accept("is"):
        negate = bool(reader.accept("not"))
        reader.expect("null")
        return _maybe_not(Node("is null", "flag", (left,)), negate)
    negate = bool(reader.accept("not"))
    if reader.accept("in"):
        return _maybe_not(_member(reader, left), negate)
    if reader.accept("between"):
        return _maybe_not(_between(reader, left), negate)
    if negate:
        raise reader.unexpected(", 'in' or 'between' should stand there")
    return left


def _maybe_not(node: Node, negate: bool) -> Node:
    return Node("not", "flag", (node,)) if negate else node


def _member(reader: _Reader, left: Node) -> Node:
    reader.expect("(")
    choices = _listed(reader)
    return _any_of([Node("=", "flag", _pair(left, choice, "in")) for choice in choices])


def _any_of(parts: list[Node]) -> Node:
    """One or more yes/no values joined by or, halves of halves, so that a long list makes no deep tree."""
    if len(parts) == 1:
        return parts[0]
    middle = len(parts) // 2
    return Node("or", "flag", (_any_of(parts[:middle]), _any_of(parts[middle:])))


def _between(reader: _Reader, left: Node) -> Node:
    low = Node(">=", "flag", _pair(left, _sum(reader), "between"))
    reader.expect("and")
    high = Node("<=", "flag", _pair(left, _sum(reader), "between"))
    return Node("and", "flag", (low, high))


def _listed(reader: _Reader) -> list[Node]:
    """The values of a list after its opening parenthesis, which is closed here."""
    values = [_either(_checked_depth(reader))]
    while reader.accept(","):
        values.append(_either(reader))
    reader.expect(")")
    return values


def _sum(reader: _Reader) -> Node:
    left = _product(reader)
    while sign := reader.link("+", "-"):
        left = _arithmetic(sign, left, _product(reader))
    return left


def _product(reader: _Reader) -> Node:
    left = _signed(reader)
    while sign := reader.link("*", "/"):
        left = _arithmetic(sign, left, _signed(reader))
    return left


def _signed(reader: _Reader) -> Node:
    if reader.accept("-"):
        reader.depth += 1
        inner = _signed(_checked_depth(reader))
        reader.depth -= 1
        return _arithmetic("-", Node("literal", "number", value=0.0), inner)
    return _single(reader)


def _single(reader: _Reader) -> Node:
    token = reader.peek()
    if reader.accept("("):
        reader.depth += 1
        inner = _either(_checked_depth(reader))
        reader.depth -= 1
        reader.expect(")")
        return inner
    if token in FUNCTIONS:
        return _function(reader)
    literal = _literal(token)
    if literal is not None:
        reader.take()
        return literal
    if not token or token in KEYWORDS or not token[0].isalpha():
        raise reader.unexpected()
    return _column(reader)


def _literal(token: str) -> Node | None:
    if token.startswith("'"):
        return Node("literal", "text", value=token[1:-1].replace("''", "'"))
    if token[:1].isdigit() or token[:1] == ".":
        return Node("literal", "number", value=float(token))
    if token in ("true", "false"):
        return Node("literal", "flag", value=token == "true")
    return Node("literal", "null") if token == "null" else None


def _column(reader: _Reader) -> Node:
    name = reader.take()
    if reader.peek() == "(":
        allowed = ", ".join(FUNCTIONS)
        raise InputError(f"condition `{reader.text}`: no function '{name}'; there are {allowed}")
    if name not in FACTS:
        raise InputError(
            f"condition `{reader.text}`: no column '{name}' among the openings, their checks and the weather "
            f"of the setting day; there are {', '.join(FACTS)}"
        )
    return Node("column", FACTS[name], value=name)


def _function(reader: _Reader) -> Node:
    name = reader.take()
    reader.expect("(")
    reader.depth += 1
    values = _listed(reader)
    reader.depth -= 1
    least, most = FUNCTIONS[name]
    if not least <= len(values) <= most:
        raise InputError(f"condition `{reader.text}`: {name} takes {least} value, not {len(values)}")
    if name != "coalesce":
        return Node(name, "number", tuple(_wanted(value, "number", name) for value in values))
    kind = next((value.kind for value in values if value.kind != "null"), "null")
    return Node(name, kind, tuple(_wanted(value, kind, name) for value in values))


def _arithmetic(sign: str, left: Node, right: Node) -> Node:
    return Node(sign, "number", (_wanted(left, "number", sign), _wanted(right, "number", sign)))


def _pair(left: Node, right: Node, sign: str) -> tuple[Node, Node]:
    """Both sides of a comparison as one kind; a text beside a date is read as a date, a word is checked."""
    if left.kind == "date" or right.kind == "date":
        left, right = _as_date(left), _as_date(right)
    kind = left.kind if left.kind != "null" else right.kind
    for column, literal in ((left, right), (right, left)):
        _known_word(column, literal)
    return left, _wanted(right, kind, sign)


def _as_date(node: Node) -> Node:
    if node.op != "literal" or node.kind != "text":
        return node
    try:
        return Node("literal", "date", value=date.fromisoformat(str(node.value)))
    except ValueError as fault:
        raise InputError(f"'{node.value}' is no date; write it as '2025-03-14'") from fault


def _known_word(column: Node, literal: Node) -> None:
    words = words_of(str(column.value)) if column.op == "column" else ()
    if words and literal.op == "literal" and literal.kind == "text" and literal.value not in words:
        raise InputError(f"'{literal.value}' is no word of {column.value}; there are {', '.join(words)}")


def _wanted(node: Node, kind: str, place: str) -> Node:
    if node.kind in (kind, "null") or kind == "null":
        return node
    names = {"flag": "a yes/no value", "number": "a number", "text": "a text", "date": "a date"}
    shown = f"'{node.value}'" if node.value is not None else f"'{node.op}'"
    raise InputError(f"{place} needs {names[kind]}, but {shown} is {names[node.kind]}")


def _checked_depth(reader: _Reader) -> _Reader:
    if reader.depth > MAX_DEPTH:
        raise InputError(f"condition `{reader.text}`: more than {MAX_DEPTH} levels inside one another")
    return reader
