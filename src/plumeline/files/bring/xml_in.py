"""XML read as a stream: no entity, no document type, nothing fetched; every element with the row it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler

from plumeline.errors import InputError

DEEPEST = 64
"""Elements inside each other; files of this trade nest a dozen."""
LONGEST_TEXT = 64_000_000
MOST_ELEMENTS = 20_000_000


class Elements(ContentHandler):
    """Turns the parser's events into ``begin`` and ``finish`` of elements by their local names.

    Attributes:
        file: for messages.
        stack: local names of the elements that are open.
    """

    def __init__(self, file: str) -> None:
        super().__init__()
        self.file = file
        self.stack: list[str] = []
        self._texts: list[list[str]] = []
        self._letters = 0
        self._elements = 0
        self._place: Any = None

    def setDocumentLocator(self, locator: Any) -> None:  # noqa: N802 (the parser's name)
        """Keep what tells the row."""
        self._place = locator

    @property
    def row(self) -> int:
        """The row at which the parser is."""
        found = self._place.getLineNumber() if self._place is not None else 0
        return int(found or 0)

    def startElement(self, name: str, attrs: Any) -> None:  # noqa: N802
        """Open an element."""
        local = name.rpartition(":")[2]
        self._elements += 1
        if len(self.stack) >= DEEPEST or self._elements > MOST_ELEMENTS:
            raise InputError(
                "nests or counts more elements than any map has.", place=f"{self.file}, row {self.row}"
            )
        self.stack.append(local)
        self._texts.append([])
        self._letters = 0
        self.begin(local, attrs)

    def characters(self, content: str) -> None:
        """Collect the text of the innermost element."""
        self._letters += len(content)
        if self._letters > LONGEST_TEXT:
            raise InputError("holds an endless text.", place=f"{self.file}, row {self.row}")
        if self._texts:
            self._texts[-1].append(content)

    def endElement(self, name: str) -> None:  # noqa: N802
        """Close an element."""
        self.stack.pop()
        self.finish(name.rpartition(":")[2], "".join(self._texts.pop()).strip())

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        """Do what an element's start asks for.

        Args:
            name: without its namespace.
            given: its attributes.
        """

    def finish(self, name: str, text: str) -> None:
        """Do what an element's end asks for.

        Args:
            name: without its namespace.
            text: its own text.
        """


def read_elements(path: Path, elements: Elements) -> None:
    """Run a file through a handler.

    Raises:
        InputError: it is no XML, or holds what no map needs: a document type, an entity.
    """
    import defusedxml.sax
    from defusedxml.common import DefusedXmlException

    try:
        with path.open("rb") as stream:
            defusedxml.sax.parse(stream, elements, forbid_dtd=True)
    except DefusedXmlException:
        raise InputError(
            "holds a document type or an entity, which no map needs and which can be made to fill the memory.",
            remedy="Export it again from the program that made it.",
            place=f"{elements.file}, row {elements.row}",
        ) from None
    except SAXParseException as error:
        raise InputError(
            f"is broken off or no XML: {error.getMessage()}.",
            remedy="Copy it again from the device.",
            place=f"{elements.file}, row {error.getLineNumber()}",
        ) from None
    except (LookupError, ValueError, UnicodeError) as error:
        raise InputError(
            f"is written in letters that can't be read ({error}).", place=elements.file
        ) from None
