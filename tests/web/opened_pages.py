"""What a page shows outside of the numbers that open, and what of that is no figure."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from tests.web.shown_lines import shown_value, worked_again

NO_FIGURES = (
    (r"\d{4}-\d{2}-\d{2}(?: \d{2}:\d{2})?", "a date"),
    (r"\b(?:pe|pvc\d*|steel|copper|tubing)-\d(?:-\d/\d|/\d)?", "the name of a pipe in the table of pipes"),
    (r"\b(?:EPA 2013|Churchill 1977|Crowl 1992|Petersen 1996|(?:and others|et al\.) \d{4})\b",
     "the year of a publication that is named"),
    (r"\b(?:\d-)?\d/\d in(?:ch)?\b", "the nominal size of a pipe or thread, a name"),
    (r"^\d in(?=,|$)", "the nominal size of a pipe in a list of parts, a name"),
    (r"\b(?:\d-)?\d(?:/\d)? hp\b|\bdiaphragm pump, \d+ W\b", "the name of a machine in job.toml or in the table"),
    (r"\bASTM D\d+(?:(?:,| and) D\d+)*", "the number of a standard"),
    (r"NEC (?:article \d+|682|table \d+\.\d+|chapter 9,? table 8|\d+\.\d+, \d+\.\d+)|\(430\.22, 430\.52\)|since 2020",
     "a place in the electrical code, and the year of its edition"),
    (r"\(911\)", "a telephone number"),
    (r"\bASME B31\.3 A323\.4\.2 and B31\.9 923\.3\.2", "places in a standard"),
    (r"\b\d+ (?:Dec|Feb) \d{4}\b|\(1972, revised 2005\)", "dates of publications that are named"),
    (r"\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) (?:\d{1,2} [A-Z][a-z]{2}|[A-Z][a-z]{2} \d{1,2})(?: \d{2}:\d{2})?\b", "a date"),
    (r"\([A-Z][a-z]{2} \d{1,2}\)", "a date"),
    (r"\bD\d+\b", "the name of a diffuser"),
    (r"Plumeline \d+\.\d+\.\d+ for revision \d+", "the version of the program, and which revision"),
    (r"still empty\. Give it, as \"120 V, 20 A\"", "what could be typed into an empty field"),
    (r"(?<![\d:])\d{2}:\d{2}(?![\d:])", "an hour of the day"),
    (r"\bday \d+\b", "which day of the plan, a name"),
    (r"\b[Qq]uote \d+\b", "the number of a quote, a name"),
    (r"\b[Rr]ow \d+\b", "which row of a file, a name"),
    (r"\b[Rr]evision \d+\b", "the number of a save, a name"),
)  # fmt: skip
"""What holds digits and is no figure, with the reason."""
WORKED = {"relation", "balance", "counted"}


class Page(HTMLParser):
    """The texts of a page's content outside of links that open, and those links."""

    VOID = frozenset({"meta", "link", "input", "br", "img", "hr"})

    def __init__(self, text) -> None:
        super().__init__()
        self.stack, self.loose, self.links = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag in self.VOID:
            return
        kind = dict(attrs).get("class") or ""
        named = [name for name in ("safety", "twin", "inputs", "on-page") if name in kind.split()]
        # a twin is a picture's own data once more, as loose as the numbers drawn in its svg; inputs are as typed;
        # the list of what stands on a page repeats its headings, which open where they stand
        self.stack.append("opens" if tag == "a" and "opens" in kind else named[0] if named else tag)
        if self.stack[-1] == "opens":
            self.links.append([dict(attrs)["href"], ""])

    def handle_endtag(self, tag):
        if self.stack and tag not in self.VOID:
            self.stack.pop()

    def handle_data(self, data):
        if "main" not in self.stack or set(self.stack) & {
            "svg",
            "twin",
            "inputs",
            "on-page",
            "h1",
            "form",
            "script",
            "safety",
        }:
            return
        if "opens" in self.stack:
            self.links[-1][1] += data
        elif data.strip():
            self.loose.append(" ".join(data.split()))


def figures_in(text):
    """Return the numbers of a text that are figures."""
    for pattern, _reason in NO_FIGURES:
        text = re.sub(pattern, " ", text)
    return re.findall(r"[^\s]*\d[^\s]*", text)


def check_page(page, rows):
    """Check that each number of a page is a link, and that its working says how it came about."""
    left = [(text, found) for text in page.loose if (found := figures_in(text))]
    assert not left, left
    check_links(page, rows)


def check_links(page, rows):
    """Check that the working of each number that opens says how it came about."""
    known = {row["key"]: row for row in rows}
    for href, text in page.links:
        row = known[href.rsplit("/", 1)[1]]
        assert text in row["result"]
        assert row["kind"] != "summed"
        assert row["line"] if row["kind"] in WORKED else row["words"] or row["source"]


def check_lines(rows):
    """Check that each line comes to what it should, worked out anew from its text; no term leads back to itself."""
    assert rows
    for row in rows:
        assert bool(row["line"]) == (row["kind"] in WORKED), row["key"]
        assert all(term["key"] != row["key"] for term in row["terms"]), row["key"]
        if row["line"]:
            goal, step = shown_value(row["comes_to"])
            assert abs(worked_again(row["line"]) - goal) <= step * (0.5 + 1e-5), (
                row["key"],
                row["line"][:400],
            )
