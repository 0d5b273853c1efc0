"""Where a number comes from: read from a file, measured, worked out by a formula, counted or chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """Ways in which a number comes about."""

    GIVEN = "given"
    MEASURED = "measured"
    RELATION = "relation"
    BALANCE = "balance"
    COUNTED = "counted"
    CHOSEN = "chosen"
    CONSTANT = "constant"
    SIMULATED = "simulated"
    """Taken from the simulated ponds by a stated rule; no line can give it, only the same simulation again."""
    DRAWN = "drawn"
    """Taken from air lines solved by the program, by a stated rule; no line can give it, only solving them again."""
    SUMMED = "summed"
    """Summed by the program over more parts than a page can show; never a number of a page, only one put in."""


@dataclass(frozen=True, eq=False)
class Value:
    """A number with where it comes from.

    Attributes:
        name: what it is, in the trade's words.
        number: the number, in the unit that the suffix names.
        suffix: its unit: the ending of a field's name, a unit as it is written, or empty for a bare number.
        kind: how it came about.
        words: what was read and where, the rule by which it was chosen, or what the formula says.
        formula: what can be worked out again: symbols of ``terms``, numbers, + - * / ^, functions of the science
            by their names; empty where nothing is worked out.
        terms: the value of each symbol.
        shown_formula: the formula as people write it, where the other is long.
        equals: for a balance, what the formula comes to: the number itself is one of the terms.
        source, valid, assumptions: where the formula is from, where it holds, what is taken for granted.
        gauge: for pressures: over the air's pressure (True), absolute (False), a difference (None).
    """

    name: str
    number: float
    suffix: str
    kind: Kind
    words: str = ""
    formula: str = ""
    terms: Mapping[str, Value] = field(default_factory=dict)
    shown_formula: str = ""
    equals: Value | None = None
    source: str = ""
    valid: str = ""
    assumptions: tuple[str, ...] = ()
    gauge: bool | None = None


def given(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value of the job's files: ``words`` say which file and field, and how it was understood."""
    return Value(name, number, suffix, Kind.GIVEN, words, **more)  # type: ignore[arg-type]


def measured(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value that somebody measured: ``words`` say in which row of which file it stands."""
    return Value(name, number, suffix, Kind.MEASURED, words, **more)  # type: ignore[arg-type]


def plain_constant(name: str, number: float, suffix: str, source: str, **more: object) -> Value:
    """Return a value that is the same for every pond, with where it is from."""
    return Value(name, number, suffix, Kind.CONSTANT, source=source, **more)  # type: ignore[arg-type]


def summed(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value that stands in a line: a sum over many cells, hours or members, in words."""
    return Value(name, number, suffix, Kind.SUMMED, words, **more)  # type: ignore[arg-type]


def chosen(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value that was picked: ``words`` say by which rule, and from what."""
    return Value(name, number, suffix, Kind.CHOSEN, words, **more)  # type: ignore[arg-type]


def simulated(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value of the simulated ponds: ``words`` say of which, by what rule, and how it is made again."""
    return Value(name, number, suffix, Kind.SIMULATED, words, **more)  # type: ignore[arg-type]


def drawn(name: str, number: float, suffix: str, words: str, **more: object) -> Value:
    """Return a value of lines solved or drawn by the program: ``words`` say which, and by what rule."""
    return Value(name, number, suffix, Kind.DRAWN, words, **more)  # type: ignore[arg-type]


def relation(
    name: str, number: float, suffix: str, formula: str, terms: Mapping[str, Value], **more: object
) -> Value:
    """Return a value that a formula gives."""
    return Value(name, number, suffix, Kind.RELATION, formula=formula, terms=terms, **more)  # type: ignore[arg-type]


def counted(
    name: str, number: float, suffix: str, formula: str, terms: Mapping[str, Value], **more: object
) -> Value:
    """Return a value that is a count, or a part of a count."""
    return Value(name, number, suffix, Kind.COUNTED, formula=formula, terms=terms, **more)  # type: ignore[arg-type]


def balance(
    name: str,
    number: float,
    suffix: str,
    formula: str,
    terms: Mapping[str, Value],
    equals: Value,
    **more: object,
) -> Value:
    """Return a value that was solved for: put into the formula, it gives what that has to equal."""
    return Value(
        name, number, suffix, Kind.BALANCE, formula=formula, terms=terms, equals=equals, **more,  # type: ignore[arg-type]
    )  # fmt: skip
