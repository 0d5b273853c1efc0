"""Sentences that name keys of job.toml are shown on pages in the trade's words."""

from __future__ import annotations

import ast
import html
import re
from pathlib import Path

import pytest

import plumeline
from plumeline.files.keys import find_key
from plumeline.files.toml_part import SECTIONS, SHORT_FORMS
from plumeline.files.trade_words import WORDS, in_trade_words
from plumeline.job.document import Compressor, SiteFacts
from plumeline.notices import caution
from plumeline.web.asked import notice_field
from plumeline.web.showing import notice_lines

SOURCE = Path(plumeline.__file__).parent
TOLD = ("stages/**/*.py", "files/**/*.py", "cli/show_*.py")
"""Where sentences are made that pages show too."""
KEY = re.compile(rf"(?<![\w.])(?:{'|'.join(SECTIONS)}|reading)\.[a-z_]+(?:\.[a-z_]+)*")
IN_FILES = re.compile(r"\(in the files: [\w.]+\)")


def sentences():
    """Return every text of the source that people may read, with its file: those with a blank, no docstrings."""
    for pattern in TOLD:
        for path in sorted(SOURCE.glob(pattern)):
            tree = ast.parse(path.read_text())
            said = {
                id(node.body[0].value)
                for node in ast.walk(tree)
                if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
                and node.body
                and isinstance(node.body[0], ast.Expr)
            }
            # a text that stands alone explains a constant or a field
            said |= {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            texts = [
                node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in said
            ]
            for node in texts:
                if isinstance(node.value, str) and " " in node.value and KEY.search(node.value):
                    yield path.relative_to(SOURCE), node.value


def test_no_key_of_the_file_is_left_in_what_a_page_shows_but_where_the_reader_must_edit_it():
    """Each table and key named in any sentence has words; a key that no form asks for stands behind them."""
    found = list(sentences())
    assert len(found) > 30
    left = [
        (str(path), key)
        for path, text in found
        for key in KEY.findall(IN_FILES.sub("", in_trade_words(text)))
    ]
    assert left == []


def test_every_word_is_of_a_key_that_there_is():
    """A key that was renamed is renamed here too."""
    models = {"site.facts": SiteFacts, "air.compressor": Compressor, **SECTIONS}
    for key in WORDS:
        table, _, name = key.rpartition(".")
        if key in models or table == "reading" or key == "reading":
            continue
        assert find_key(models[table], name) or SHORT_FORMS.get(table) == name, key


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("job.toml, air.route_length: the line is short.", "The line is short."),
        ("and give power.high_water.", "and give the highest usual water over today's."),
        ("Give air.membrane_most_air: x", "Give the most air of a membrane (in the files: air.membrane_most_air): x"),
        ("of the call it lacks its number ([trench] in job.toml).", "of the call it lacks its number (the trench)."),
        ('then write spawning_beds = "no".', "then write spawning beds: no."),
        ("pond.walls[2] is wrong", "the walls along the shore, number 2 is wrong"),
        ("Depth 3.5 ft, as told.", "Depth 3.5 ft, as told."),
    ],
)  # fmt: skip
def test_a_sentence_is_turned_once(text, shown):
    """And turned again it stays: a text may pass two ways to a page."""
    assert in_trade_words(text) == shown
    assert in_trade_words(shown) == shown


def test_a_notice_in_trade_words_still_leads_to_its_field():
    """The field is found by what the notice says of job.toml before that is taken out."""
    (row,) = notice_lines([caution("any", "job.toml, pond.max_depth: 14 ft is odd.")], "us")
    assert row["text"] == "14 ft is odd."
    assert notice_field(row) == "max_depth"
    assert notice_field({"code": "any", "text": "job.toml, pond.max_depth: 14 ft is odd."}) == "max_depth"


def test_the_pages_of_a_pond_name_no_key(browser, oak_zip):
    """The demo pond with what its air page asks for taken away: survey, layout and air."""
    assert browser.bring_in(oak_zip).status_code == 303
    pond = next(iter(browser.store.ponds.rows())).id
    files = dict(browser.store.ponds.folder(pond).files)
    text = files["job.toml"].decode()
    for key in ("high_water", "feeder_length", "neighbour_distance", "night_limit", "rise"):
        text = re.sub(rf"(?m)^{key} = .*$", "", text)
    files["job.toml"] = text.encode()
    browser.store.ponds.save_files(pond, files, expected_number=1, author="", reason="")
    for page in ("", "/known", "/survey", "/layout", "/air"):
        plain = html.unescape(re.sub(r"<[^>]+>", " ", browser.get(f"/ponds/{pond}{page}").text))
        assert KEY.findall(IN_FILES.sub("", plain)) == [], page
    assert "give the highest usual water over today's" in " ".join(plain.split())
