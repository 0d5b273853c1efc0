"""The figures of a page as a reader finds them: picture, sentence, and the tables that say the same."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta", "link", "input", "br", "img", "hr"})


@dataclass
class Table:
    """A table: what the picture's data call its columns, and its rows."""

    caption: str = ""
    keys: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)


@dataclass
class Figure:
    """A figure with a picture of ours in it."""

    name: str
    is_picture: bool = False
    sentence: str = ""
    tables: list[Table] = field(default_factory=list)

    def numbers(self, key):
        """Return the numbers of the columns of one field, each with half of its last place."""
        found = []
        for table in self.tables:
            for at in (n for n, known in enumerate(table.keys) if known == key):
                cells = [row[at] for row in table.rows if row[at] != "–"]
                found += [
                    (float(cell.replace("\u202f", "")), 0.5 * 10.0 ** -len(cell.partition(".")[2]))
                    for cell in cells
                ]
        return found


class Figures(HTMLParser):
    """The figures of a page; a `twin` belongs to the figure before it."""

    def __init__(self, text) -> None:
        super().__init__()
        self.stack, self.found, self.outside = [], [], 0
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag in VOID:
            return
        given = dict(attrs)
        kind = (given.get("class") or "").split()
        self.stack.append("twin" if tag == "details" and "twin" in kind else tag)
        if tag == "figure":
            self.found.append(Figure(" ".join(kind)))
        elif tag == "svg" and "figure" not in self.stack:
            self.outside += 1
        elif tag == "svg":
            self.found[-1].is_picture = "code" not in kind
        elif "twin" in self.stack:
            self._in_twin(tag, given)

    def _in_twin(self, tag, given):
        tables = self.found[-1].tables
        if tag == "table":
            tables.append(Table())
        elif tag == "th" and given.get("scope") == "col":
            tables[-1].keys.append(given["data-of"])
        elif tag == "tr" and "tbody" in self.stack:
            tables[-1].rows.append([])
        elif tag in ("th", "td"):
            tables[-1].rows[-1].append("")

    def handle_endtag(self, tag):
        if self.stack and tag not in VOID:
            self.stack.pop()

    def handle_data(self, data):
        if "twin" not in self.stack:
            if "figcaption" in self.stack:
                self.found[-1].sentence += data
        elif "caption" in self.stack:
            self.found[-1].tables[-1].caption += data
        elif "tbody" in self.stack and {"th", "td"} & set(self.stack):
            self.found[-1].tables[-1].rows[-1][-1] += data


def pictures(text):
    """Return the figures of a page that hold a picture, codes for phones not among them."""
    return [figure for figure in Figures(text).found if figure.is_picture]


def extremes_of(specification):
    """Return the least and the greatest number of each field of a chart's data."""
    found = {}
    for rows in _data(json.loads(json.dumps(specification))):
        for row in rows:
            for key, value in row.items():
                if isinstance(value, int | float):
                    found.setdefault(key, []).append(value)
    return {key: (min(values), max(values)) for key, values in found.items()}


def _data(part):
    """Yield the rows of each set of data in a specification."""
    if isinstance(part, dict):
        yield from part.get("datasets", {}).values()
        if isinstance(part.get("data"), dict) and "values" in part["data"]:
            yield part["data"]["values"]
    for inner in part.values() if isinstance(part, dict) else part if isinstance(part, list) else ():
        yield from _data(inner)
