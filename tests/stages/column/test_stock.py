"""How many fish there are: more need more usable water left, and not known is said, not taken as no."""

from __future__ import annotations

import pytest

from plumeline.job.document import Fish
from plumeline.stages.column import refuge_for
from plumeline.workings import Book
from plumeline.workings.startup import values_said
from plumeline.workings.startup_words import NOTICES


@pytest.mark.parametrize(
    ("heavy", "share", "said"), [(True, 0.25, False), (False, 0.15, False), (None, 0.15, True)]
)
def test_a_stock_that_nobody_told_is_counted_as_usual_and_said(
    heavy: bool | None, share: float, said: bool
) -> None:
    """A quarter of the water for a heavy stock, 15 % for a usual one (shares: our judgement, docs/column.md)."""
    found = refuge_for(Fish(heavy_stock=heavy), 6000.0, ())
    assert found.volume_fraction == share
    words = [one.said("us") for one in found.notices if one.code == "stock-unknown"]
    assert bool(words) is said
    assert all("not known is not no" in one and "25%" in one for one in words)


def test_both_shares_of_that_notice_open() -> None:
    """Each of its numbers leads to what it is and where it is from."""
    book = Book("us")
    (notice,) = (one for one in refuge_for(Fish(), 6000.0, ()).notices if one.code == "stock-unknown")
    book.at("notice", notice.code, values=values_said(notice.said("us"), *NOTICES[notice.code]))
    pieces = book.opened(notice.said("us"), ("notice", notice.code))
    assert [piece.text for piece in pieces if piece.key] == ["15%", "25%"]
