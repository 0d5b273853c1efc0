"""A value written out as people read it: the formula, the line put in, what it comes to, and where it is from."""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from plumeline.pairs import said
from plumeline.units.showing import System
from plumeline.workings.formulas import (
    Relation,
    argument_suffix,
    parsed,
    relations_in,
    unit_label,
    worked,
    written_out,
)  # fmt: skip
from plumeline.workings.quantities import Quantity, Unit, base_of, kind_of, unit_for, written
from plumeline.workings.value import Kind, Value

FEWEST_FIGURES = 3
MOST_FIGURES = 14


class WorkingError(Exception):
    """A line that does not come to the number shown, or a value that is not what the text shows: our own mistake."""


@dataclass(frozen=True)
class Term:
    """One symbol of a formula: what it is, its value as it is put in, and the key of its own working if it has one."""

    symbol: str
    name: str
    text: str
    key: str = ""


@dataclass(frozen=True)
class Equation:
    """A published relation that a formula uses: its name, equation, source, and where it holds."""

    name: str
    equation: str
    source: str
    valid: tuple[str, ...]


@dataclass(frozen=True)
class Working:
    """A number that was opened.

    Attributes:
        key: its name in addresses, one a stage.
        name: what it is.
        kind: how it came about.
        result: the number with its unit, as shown.
        words: what was read and where, or by which rule it was chosen.
        formula, line: the formula, and the same with the numbers put in, as shown; empty where nothing is worked out.
        comes_to: what the line comes to: the result, or for a balance what it has to equal.
        terms: its symbols.
        equations: the published relations it names.
        source, valid, assumptions: where it is from, where it holds, what is taken for granted.
    """

    key: str
    name: str
    kind: Kind
    result: str
    words: str
    formula: str
    line: str
    comes_to: str
    terms: tuple[Term, ...]
    equations: tuple[Equation, ...]
    source: str
    valid: str
    assumptions: tuple[str, ...]


def worked_out(
    value: Value, shown: Quantity, result: str, key: str, units: System, key_of: Callable[[Value], str]
) -> Working:
    """Return a value written out for one place where it is shown.

    Args:
        value: where the number comes from.
        shown: the number as the page shows it.
        result: the same with its unit.
        key: the working's name in addresses.
        units: the system of units of the line.
        key_of: gives the key of a term's own working.

    Raises:
        WorkingError: the value is not what is shown, or its line does not come to it.
    """
    if not shown.fits(base_of(value.number, value.suffix), shown.unit):
        raise WorkingError(f"{value.name}: {value.number:.12g} {value.suffix} is not {shown.text!r}")
    if not value.formula:
        return _bare(value, result, key, units)
    tree = parsed(value.formula)
    goal, comes_to = (shown, result) if value.equals is None else _goal(value.equals, units)
    for figures in range(FEWEST_FIGURES, MOST_FIGURES + 1):
        texts, numbers = _put_in(value.terms, figures, units)
        if goal.fits(_comes_to(tree, numbers), goal.unit) and _is_in(value, shown, numbers):
            return Working(
                key, value.name, value.kind, result, value.words,
                value.shown_formula or written_out(tree, _symbols(value.terms)), written_out(tree, texts), comes_to,
                tuple(
                    Term(symbol, term.name, texts[symbol], key_of(term)) for symbol, term in value.terms.items()
                ),
                tuple(_equation(one) for one in relations_in(tree)), value.source, value.valid, _said(value, units),
            )  # fmt: skip
    texts, numbers = _put_in(value.terms, MOST_FIGURES, units)
    raise WorkingError(
        f"{value.name}: {written_out(tree, texts)} = {_comes_to(tree, numbers):.12g}, not {comes_to}"
    )


def _comes_to(tree: ast.expr, numbers: Mapping[str, float]) -> float:
    """Return what a formula comes to; not a number where so few digits leave nothing to divide by, or no logarithm."""
    try:
        return worked(tree, numbers)
    except (ArithmeticError, ValueError):
        return math.nan


def _bare(value: Value, result: str, key: str, units: System) -> Working:
    return Working(
        key, value.name, value.kind, result, value.words, "", "", "", (), (), value.source, value.valid,
        _said(value, units),
    )  # fmt: skip


def _said(value: Value, units: System) -> tuple[str, ...]:
    return tuple(said(text, units) for text in value.assumptions)


def _symbols(terms: Mapping[str, Value]) -> dict[str, str]:
    return {symbol: symbol for symbol in terms}


def _put_in(
    terms: Mapping[str, Value], digits: int, units: System
) -> tuple[dict[str, str], dict[str, float]]:
    texts: dict[str, str] = {}
    numbers: dict[str, float] = {}
    for symbol, term in terms.items():
        unit = unit_for(term.number, term.suffix, units, term.gauge)
        texts[symbol], numbers[symbol] = written(base_of(term.number, term.suffix), unit, digits)
    return texts, numbers


def _goal(equals: Value, units: System) -> tuple[Quantity, str]:
    """Return what a balance has to come to, as it is shown: to four figures."""
    unit = unit_for(equals.number, equals.suffix, units, equals.gauge)
    text, said = written(base_of(equals.number, equals.suffix), unit, 4)
    body = text.split(" ")[0].replace("−", "-")
    digits = len(body.partition(".")[2])
    return Quantity(0, len(text), text, (said - unit.offset_number) / unit.scale_number, unit, digits), text


def _is_in(value: Value, shown: Quantity, numbers: Mapping[str, float]) -> bool:
    """Return whether a balance holds the number that is shown, to its last digit, among what is put in."""
    if value.equals is None:
        return True
    return any(
        kind_of(term.suffix) == kind_of(value.suffix) and shown.fits(numbers[symbol], shown.unit)
        for symbol, term in value.terms.items()
    )


def _equation(found: Relation) -> Equation:
    valid = tuple(
        f"{name.replace('_', ' ')}: {low:g} to {high:g}" for name, (low, high) in found.limits.items()
    )
    return Equation(found.function.__name__, found.equation, found.source, valid)


def default_text(value: Value, units: System) -> str:
    """Return a value as it is shown where no page shows it: to four figures in its own unit."""
    return written(
        base_of(value.number, value.suffix), unit_for(value.number, value.suffix, units, value.gauge), 4
    )[0]


__all__ = [
    "Equation", "Term", "Unit", "Working", "WorkingError", "argument_suffix", "ast", "default_text", "unit_label",
    "worked_out",
]  # fmt: skip
