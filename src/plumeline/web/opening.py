"""A page whose numbers open: each is a link to how it came about, by plain HTML."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from markupsafe import Markup, escape

from plumeline.cli.tables import Part
from plumeline.errors import PlumelineError
from plumeline.files.trade_words import in_trade_words
from plumeline.units.showing import System
from plumeline.web.surveyed import Surveyed
from plumeline.web.work import Design
from plumeline.workings import Book, Equation, Kind, Term, Working
from plumeline.workings.book import unit_of_head
from plumeline.workings.files import Files
from plumeline.workings.stages import make_book


def book_of(design: Design | Surveyed, stage: str, echoes: Iterable[str], units: System) -> Book:
    """Return the workings of a stage's page; empty where they fail: its numbers stand there as text."""

    def made() -> Book:
        try:
            return make_book(stage, design, Files(design.job, tuple(echoes)), units)
        except PlumelineError:
            # something of the pond is lacking: the page itself says what
            return Book(units)

    return book_or_empty(made, units)


def book_or_empty(make: Callable[[], Book], units: System) -> Book:
    """Return the workings that are made; empty where that fails: the page's numbers stand there as text."""
    try:
        return make()
    except Exception:
        # our own mistake, for whoever reads the server's words
        traceback.print_exc()
        return Book(units)


@dataclass(frozen=True)
class Opener:
    """Sets texts with their numbers as links.

    Attributes:
        book: the workings.
        base: address of the stage's workings.
        tail: what follows the key in an address, as "?revision=3".
    """

    book: Book
    base: str
    tail: str = ""

    def text(self, text: str, *places: tuple[str, ...], unit: str = "") -> Any:
        """Return a text as HTML."""
        pieces = self.book.opened(in_trade_words(text), *places, unit=unit)
        return Markup("").join(_linked_piece(piece.text, piece.key, self.base, self.tail) for piece in pieces)

    def sentence(self, text: str) -> Any:
        """Return a sentence as HTML; its place is its beginning."""
        places = [place for place in self.book.places if place[0] == "sentence" and text.startswith(place[1])]
        return self.text(text, *places)

    def notice(self, row: dict[str, str]) -> dict[str, Any]:
        """Return a notice with its numbers as links."""
        return {**row, "text": self.text(row["text"], ("notice", row["code"]))}

    def part(self, part: Part) -> dict[str, Any]:
        """Return a part of a page as a template takes it."""
        title = self._title(part.title)
        units = [unit_of_head(head) for head in part.heads]
        rows = [
            [
                self.text(cell, ("part", title, str(i), str(j)), ("part", title, row[0]), ("part", title),
                          unit=(units[j] or _unit_of_row(row[0])) if units else "")
                for j, cell in enumerate(row)
            ]
            for i, row in enumerate(part.rows)
        ]  # fmt: skip
        return {
            "title": self.text(part.title, ("title", title)), "align": part.align, "rows": rows,
            "heads": [self.text(head, ("head", title)) for head in part.heads],
        }  # fmt: skip

    def _title(self, title: str) -> str:
        """Return a title as the book knows it: by its beginning, where it holds a number."""
        known = {place[1] for place in self.book.places if place[0] in ("part", "title")}
        return next(
            (name for name in known if title == name or (name.endswith("…") and title.startswith(name[:-1]))),
            title,
        )


def _unit_of_row(name: str) -> str:
    """Return the unit that the name of a row ends in, as "manifold, psig"; empty for none."""
    return unit_of_head(name) if ", " in name else ""


class KeptOpener(Opener):
    """Sets texts as pieces that can be kept with a run, their links made when the page is shown: see `linked`."""

    def text(self, text: str, *places: tuple[str, ...], unit: str = "") -> Any:
        """Return a text as {"pieces": [[words, key of its working or nothing], …]}."""
        pieces = self.book.opened(in_trade_words(text), *places, unit=unit)
        return {"pieces": [[piece.text, piece.key] for piece in pieces]}


def linked(kept: Any, base: str, tail: str = "") -> Any:
    """Return what `KeptOpener` set with every text as HTML.

    Args:
        kept: texts in lists and dicts.
        base: address of the workings.
        tail: what follows the key in an address, as "?revision=3".
    """
    if isinstance(kept, list):
        return [linked(one, base, tail) for one in kept]
    if not isinstance(kept, dict):
        return kept
    if kept.keys() != {"pieces"}:
        return {name: linked(one, base, tail) for name, one in kept.items()}
    return Markup("").join(_linked_piece(text, key, base, tail) for text, key in kept["pieces"])


def _linked_piece(text: str, key: str, base: str, tail: str = "") -> Markup:
    if not key:
        return escape(text)
    return Markup('<a class="opens" href="{}/{}{}">{}</a>').format(base, key, tail, text)


@dataclass(frozen=True)
class OpenedPage:
    """A stage's page with its numbers as links, and their workings by key."""

    shown: dict[str, Any]
    workings: dict[str, Working]


def kept_workings(kept: dict[str, dict[str, Any]]) -> dict[str, Working]:
    """Return workings as they were before they were kept with a run."""
    return {
        key: Working(**{
            **row, "kind": Kind(row["kind"]), "terms": tuple(Term(**one) for one in row["terms"]),
            "equations": tuple(Equation(**one) for one in row["equations"]),
        })
        for key, row in kept.items()
    }  # fmt: skip


def address(pond_id: str, stage: str) -> str:
    """Return the address of a stage's workings."""
    return f"/ponds/{quote(pond_id)}/workings/{quote(stage)}"
