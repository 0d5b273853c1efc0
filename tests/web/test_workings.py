"""Every number of a result page opens; every line that is shown comes to the number that is shown."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from tests.web.shown_lines import shown_value, worked_again

PAGES = ("survey", "reading", "layout", "air")
NO_FIGURES = (
    (r"\d{4}-\d{2}-\d{2}(?: \d{2}:\d{2})?", "a date"),
    (r"\b(?:pe|pvc|steel|copper|tubing)-\d(?:-\d/\d|/\d)?", "the name of a pipe in the table of pipes"),
    (r"\b(?:EPA 2013|Churchill 1977)\b", "the year of a publication that is named"),
    (r"\b(?:\d-)?\d/\d in\b", "the nominal size of a pipe or thread, a name"),
    (r"\b\d/\d hp class\b", "the name of a machine in job.toml"),
    (r"\bASTM D\d+(?:, D\d+)*", "the number of a standard"),
    (r"NEC (?:article \d+|table \d+\.\d+|chapter 9, table 8|\d+\.\d+, \d+\.\d+)|\(430\.22, 430\.52\)|since 2020",
     "a place in the electrical code, and the year of its edition"),
    (r"\(911\)", "a telephone number"),
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
        named = [name for name in ("safety", "twin") if name in kind.split()]
        # a twin is a picture's own data once more, as loose as the numbers drawn in its svg
        self.stack.append("opens" if tag == "a" and "opens" in kind else named[0] if named else tag)
        if self.stack[-1] == "opens":
            self.links.append([dict(attrs)["href"], ""])

    def handle_endtag(self, tag):
        if self.stack and tag not in self.VOID:
            self.stack.pop()

    def handle_data(self, data):
        if "main" not in self.stack or set(self.stack) & {"svg", "twin", "h1", "form", "script", "safety"}:
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


@pytest.fixture
def chosen_units(shared, units):
    """The shared browser in these units, and as it was afterwards."""
    yield shared.in_units(units)
    shared.in_units("us")


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("stage", PAGES)
def test_every_number_of_a_page_opens(chosen_units, stage, units):
    """Crawl a result page: what is a number is a link, and its page says how it came about."""
    browser = chosen_units
    page = Page(browser.get(f"/ponds/{browser.pond}/{stage}").text)
    left = [(text, found) for text in page.loose if (found := figures_in(text))]
    opened = len(page.links)
    print(f"{stage}, {units}: {opened} numbers open, {sum(len(found) for _, found in left)} don't")
    assert not left
    rows = {
        row["key"]: row
        for row in browser.get(f"/api/v1/ponds/{browser.pond}/workings/{stage}?units={units}").json()
    }
    for href, text in page.links:
        row = rows[href.rsplit("/", 1)[1]]
        assert text in row["result"]
        assert row["kind"] != "summed"
        assert row["line"] if row["kind"] in WORKED else row["words"] or row["source"]


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("stage", PAGES)
def test_every_line_comes_to_what_is_shown(shared, stage, units):
    """Work out each line anew from its text, in the units that it shows."""
    rows = shared.get(f"/api/v1/ponds/{shared.pond}/workings/{stage}?units={units}").json()
    assert rows
    for row in rows:
        assert bool(row["line"]) == (row["kind"] in WORKED), row["key"]
        if row["line"]:
            goal, step = shown_value(row["comes_to"])
            assert abs(worked_again(row["line"]) - goal) <= step * (0.5 + 1e-5), (
                row["key"],
                row["line"][:400],
            )


def test_a_wrong_line_is_found():
    """The reader is no rubber stamp."""
    goal, step = shown_value("5 ft 6 in")
    assert abs(worked_again("8.85 acre-ft / 1.60 acre") - goal) <= step
    assert abs(worked_again("8.85 acre-ft / 1.70 acre") - goal) > step
    assert worked_again("(84.4 °F − 32 °F) × 2") == pytest.approx(58.2222, abs=1e-3)
    assert worked_again("normal((2 m − 1 m) / 0.5 m) + 2^3 / 4 − 1") == pytest.approx(1.97725, abs=1e-5)


@pytest.mark.parametrize(
    "path", ["/workings/survey", "/workings/survey/volume", "/workings/survey/volume?revision=1"]
)
def test_a_number_has_its_page(shared, path):
    """One working a page, and all of them to be printed."""
    answer = shared.get(f"/ponds/{shared.pond}{path}")
    assert answer.status_code == 200
    assert "Gaussian Processes for Machine Learning" in answer.text
    assert "alert(1)</script>" not in answer.text


def test_an_unknown_number_is_said(shared):
    """A key that no number has."""
    assert shared.get(f"/ponds/{shared.pond}/workings/survey/no-such").status_code == 404
