"""A number in a sentence is read as what it is: a share, a year, a custom's limit, not all of one kind."""

import pytest

from plumeline.notices import caution
from plumeline.workings.book import Book
from plumeline.workings.quantities import read_quantities
from plumeline.workings.startup import values_said
from plumeline.workings.startup_words import CONSTANTS, NOTICES
from plumeline.workings.value import Kind


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("the odds are 12 in 100", ["", ""]),
        ("cut it 12 in long", ["in"]),
        ("a bore of 2 in, 3 ft deep", ["in", "in"]),
        ("in 1 in 20 ponds", ["", ""]),
    ],
)
def test_so_many_in_a_hundred_is_no_length(text, units):
    """'12 in 100' is a share; '12 in long' a length (whole feet are read as inches)."""
    assert [one.unit.label for one in read_quantities(text)] == units


def test_the_year_of_a_publication_is_no_number_of_the_pond():
    """2008 of Jöhnk and others is left alone; 2008 ponds are counted."""
    text = "It failed in a heat wave (Jöhnk and others 2008), in 7 of 2008 ponds."
    assert [one.number for one in values_said(text, "odds", Kind.SIMULATED, "counted")] == [7.0, 2008.0]


@pytest.mark.parametrize(
    ("code", "text", "kinds"),
    [
        ("hold-until-reading", "loses 30 of 400 ponds: only after a dawn of 4 mg/L",
         ["simulated", "simulated", "constant"]),
        ("risk-not-stated", "leave only 3 ponds: from 15 min, under 4 mg/L, stopped 2 mg/L over",
         ["simulated", "constant", "constant", "constant"]),
        ("blooms-in-part", "it is less: 12 in 100", ["simulated", "constant"]),
        ("ammonia-binds", "in 5 of the 11 ponds lost while the pH is over 9", ["simulated", "simulated", "constant"]),
    ],
)  # fmt: skip
def test_each_number_of_a_notice_has_its_own_kind(code, text, kinds):
    """What is counted over simulated ponds, and what is a custom or a rule, open as that."""
    name, kind, words, source = NOTICES[code]
    book = Book("us")
    notice = caution(code, text)
    book.at("notice", code, values=[*CONSTANTS[code], *values_said(notice.text, name, kind, words, source)])
    keys = [piece.key for piece in book.opened(notice.text, ("notice", code)) if piece.key]
    found = [str(book.workings[key].kind.value) for key in keys]
    assert found == kinds
    assert not book.failed
