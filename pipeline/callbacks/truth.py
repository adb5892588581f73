"""A condition on a table of facts: yes, no or not recorded for every opening."""

from collections.abc import Callable, Mapping
from functools import reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.callbacks.conditions import Node
from pipeline.callbacks.facts import FACTS, Facts

Known = tuple[NDArray[np.generic], NDArray[np.bool_]]
"""Values, and where they are known."""

STORED_AS: Mapping[str, np.dtype[Any]] = {
    "number": np.dtype(float),
    "flag": np.dtype(bool),
    "text": np.dtype(object),
    "date": np.dtype("datetime64[D]"),
}
COMPARE: Mapping[str, Callable[..., NDArray[np.bool_]]] = {
    "=": np.equal,
    "<>": np.not_equal,
    "<": np.less,
    "<=": np.less_equal,
    ">": np.greater,
    ">=": np.greater_equal,
}
ARITHMETIC: Mapping[str, Callable[..., NDArray[np.float64]]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
}


def truth(tree: Node, facts: Facts, rows: int) -> NDArray[np.float64]:
    """Whether the condition holds, by the three-valued logic of SQL.

    in:     facts: one array per column; a column that is absent is not recorded anywhere
    out:    1.0 yes, 0.0 no, nan not recorded; one per row
    """
    values, known = _value(tree, facts, rows)
    return np.where(known, values.astype(bool), np.nan).astype(float)


def measured(tree: Node, facts: Facts, rows: int) -> NDArray[np.float64]:
    """The number an arithmetic expression gives; nan where it is not recorded."""
    values, known = _value(tree, facts, rows)
    return np.where(known, values.astype(float), np.nan)


def _value(node: Node, facts: Facts, rows: int) -> Known:
    if node.op == "column":
        return _column(str(node.value), facts, rows)
    if node.op == "literal":
        return _literal(node, rows)
    parts = [_value(part, facts, rows) for part in node.parts]
    if node.op in COMPARE:
        return _compared(node.op, *parts)
    if node.op in ARITHMETIC:
        return _calculated(node.op, *parts)
    return SHAPES[node.op](parts)


def _column(name: str, facts: Facts, rows: int) -> Known:
    kind = FACTS[name]
    if name not in facts:
        return _blank(kind, rows), np.zeros(rows, bool)
    given = np.asarray(facts[name])
    if kind == "number":
        numbers = given.astype(float)
        return numbers, np.isfinite(numbers)
    if kind == "date":
        days = given.astype("datetime64[D]")
        return days, ~np.isnat(days)
    if kind == "flag":
        marks = np.array([np.nan if cell is None or cell == "" else float(cell) for cell in given.tolist()])
        return marks == 1, ~np.isnan(marks)
    texts = np.array(["" if cell is None else str(cell) for cell in given.tolist()], dtype=object)
    return texts, texts != ""


def _blank(kind: str, rows: int) -> NDArray[np.generic]:
    return np.full(rows, "", object) if kind == "text" else np.zeros(rows, dtype=STORED_AS[kind])


def _literal(node: Node, rows: int) -> Known:
    if node.kind == "null":
        return np.zeros(rows), np.zeros(rows, bool)
    return np.full(rows, node.value, dtype=STORED_AS[node.kind]), np.ones(rows, bool)


def _compared(op: str, left: Known, right: Known) -> Known:
    known = left[1] & right[1]
    outcome = np.zeros(len(known), bool)
    outcome[known] = COMPARE[op](left[0][known], right[0][known]).astype(bool)
    return outcome, known


def _calculated(op: str, left: Known, right: Known) -> Known:
    """Arithmetic on what is known; a division by zero is not recorded."""
    known = left[1] & right[1]
    with np.errstate(divide="ignore", invalid="ignore"):
        numbers = ARITHMETIC[op](left[0].astype(float), right[0].astype(float))
    known = known & np.isfinite(numbers)
    return np.where(known, numbers, 0.0), known


def _and(parts: list[Known]) -> Known:
    (left, known_left), (right, known_right) = parts
    known = (known_left & known_right) | (known_left & ~left.astype(bool)) | (known_right & ~right.astype(bool))
    return (left.astype(bool) | ~known_left) & (right.astype(bool) | ~known_right), known


def _or(parts: list[Known]) -> Known:
    values, known = _and([_not([part]) for part in parts])
    return ~values.astype(bool), known


def _not(parts: list[Known]) -> Known:
    values, known = parts[0]
    return ~values.astype(bool), known


def _is_null(parts: list[Known]) -> Known:
    known = parts[0][1]
    return ~known, np.ones(len(known), bool)


def _coalesce(parts: list[Known]) -> Known:
    """The first value that is known, row by row."""
    return reduce(lambda one, two: (np.where(one[1], one[0], two[0]), one[1] | two[1]), parts)


def _absolute(parts: list[Known]) -> Known:
    return np.abs(parts[0][0].astype(float)), parts[0][1]


def _extreme(parts: list[Known], choose: Callable[..., NDArray[np.float64]]) -> Known:
    """Least or greatest of the values that are known, as in SQL; not recorded where none is."""
    stack = np.array([np.where(known, values.astype(float), np.nan) for values, known in parts])
    known = np.any([part[1] for part in parts], axis=0)
    return np.where(known, choose(stack, axis=0), 0.0), known


SHAPES: Mapping[str, Callable[[list[Known]], Known]] = {
    "and": _and,
    "or": _or,
    "not": _not,
    "is null": _is_null,
    "coalesce": _coalesce,
    "abs": _absolute,
    "least": lambda parts: _extreme(parts, np.fmin.reduce),
    "greatest": lambda parts: _extreme(parts, np.fmax.reduce),
}
