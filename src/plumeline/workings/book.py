"""The workings of a page: its texts taken apart into numbers that open and the words between them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from plumeline.units.showing import System
from plumeline.workings.quantities import (
    BARE,
    Quantity,
    Unit,
    base_of,
    kind_of,
    read_quantities,
    units_by_label,
)
from plumeline.workings.value import Value
from plumeline.workings.writing import Working, WorkingError, default_text, worked_out


@dataclass(frozen=True)
class Piece:
    """A stretch of a text: words, or a number with the key of its working."""

    text: str
    key: str = ""


@dataclass
class Book:
    """The workings of one stage in one system of units.

    Attributes:
        units: the system.
        places: the values that a text may show, by the text's place: see `at`.
        workings: what was opened, by key, in the order of the page.
        failed: why a value could not be opened; our own mistakes, for the tests.
    """

    units: System
    places: dict[tuple[str, ...], list[Value]] = field(default_factory=dict)
    workings: dict[str, Working] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)
    _owners: dict[str, int] = field(default_factory=dict)
    _kept: list[Value] = field(default_factory=list)

    def at(self, *place: str, values: Iterable[Value]) -> None:
        """Say which values a text may show.

        Args:
            place: ("part", title, row, column) for a cell, rows and columns counted from 0 (a row of names and
                values also by its name); ("part", title) for what all its cells may show; ("notice", code);
                ("sentence", start of the text).
            values: in the order in which they stand there.
        """
        self.places.setdefault(place, []).extend(values)

    def opened(self, text: str, *places: tuple[str, ...], unit: str = "") -> tuple[Piece, ...]:
        """Return a text in pieces, each number that a value of these places gives with the key of its working.

        Args:
            text: the text as the page shows it.
            places: where it stands, the nearest first.
            unit: the unit of its bare numbers, as the head of its column says.
        """
        pool = [value for place in places for value in self.places.get(place, ())]
        pieces: list[Piece] = []
        at, used = 0, set[int]()
        found = read_quantities(text)
        for i in range(len(found)):
            for tried, label in _readings(found, i, unit):
                key = self._open(tried, pool, used, label)
                if key:
                    pieces += [Piece(text[at : tried.start]), Piece(text[tried.start : tried.end], key)]
                    at = tried.end
                    break
        pieces.append(Piece(text[at:]))
        return tuple(piece for piece in pieces if piece.text)

    def _open(self, shown: Quantity, pool: list[Value], used: set[int], unit: str) -> str:
        """Return the key of the first value not used yet that is what is shown, else of one that was used."""
        fitting = [value for value in pool if _same(value, shown)]
        for value in sorted(fitting, key=lambda value: id(value) in used):
            result = shown.text if shown.unit.label in shown.text else f"{shown.text} {unit}".strip()
            try:
                key = self._add(value, shown, result)
            except WorkingError as error:
                self.failed.append(str(error))
                continue
            used.add(id(value))
            return key
        return ""

    def _add(self, value: Value, shown: Quantity, result: str) -> str:
        base = slug(value.name)
        count = 1
        while (key := base if count == 1 else f"{base}-{count}") in self._owners:
            if self._owners[key] == id(value) and self.workings[key].result == result:
                return key
            count += 1
        self._kept.append(value)
        # its terms must not take its name
        self._owners[key] = id(value)
        try:
            self.workings[key] = worked_out(value, shown, result, key, self.units, self._term_key)
        except WorkingError:
            del self._owners[key]
            raise
        return key

    def _term_key(self, value: Value) -> str:
        """Return the key of a term's own working; empty where there is nothing to say about it."""
        if not (value.words or value.formula or value.source):
            return ""
        text = default_text(value, self.units)
        quantity = read_quantities(text)
        try:
            return self._add(value, quantity[0], text) if quantity else ""
        except WorkingError as error:
            self.failed.append(str(error))
            return ""


ALIKE = ({"fraction", "number"}, {"intake flow", "water flow"}, {"angle", "number"})
"""Kinds whose numbers stand on pages without a unit of their own, or with another's."""


def _same(value: Value, shown: Quantity) -> bool:
    """Return whether a value is what is shown: of one kind, and alike to the last digit."""
    kinds = {kind_of(value.suffix), shown.unit.kind}
    if len(kinds) > 1 and kinds not in ALIKE:
        return False
    return shown.fits(base_of(value.number, value.suffix), shown.unit)


def _readings(found: list[Quantity], index: int, head: str) -> list[tuple[Quantity, str]]:
    """Return how a number may be meant: as written, with the unit of its head or of a neighbour, or bare."""
    quantity = found[index]
    if quantity.unit is not BARE:
        between = units_by_label().get(f"{quantity.unit.label} apart")
        apart = [(replace(quantity, unit=between), "apart")] if between is not None else []
        return [(quantity, ""), *apart, (quantity.bare(), "")]
    after = next((one.unit.label for one in found[index + 1 :] if one.unit is not BARE), "")
    before = next((one.unit.label for one in reversed(found[:index]) if one.unit is not BARE), "")
    labels = dict.fromkeys((head, "", after, before))
    return [(with_unit(quantity, label), label) for label in labels]


def with_unit(quantity: Quantity, label: str) -> Quantity:
    """Return a bare number with the unit that its column's head says."""
    if quantity.unit is not BARE or not label:
        return quantity
    unit = units_by_label().get(label)
    if unit is None:
        return quantity
    return Quantity(quantity.start, quantity.end, quantity.text, quantity.number, unit, quantity.digits)


def unit_of_head(head: str) -> str:
    """Return the unit that stands in the head of a column, as the table of units writes it; empty for none."""
    lines = head.split("\n")
    tries = [" ".join(lines[-2:]), lines[-1], lines[-1].rpartition(", ")[2], lines[-1].partition(" ")[0]]
    return next((text for text in tries if text in units_by_label()), "")


def slug(name: str) -> str:
    """Return a name as it may stand in an address."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "number"


__all__ = ["Book", "Piece", "Unit", "Working", "slug", "unit_of_head", "with_unit"]
