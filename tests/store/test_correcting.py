"""What an edit changed of an item is said row by row, also where rows came or went."""

from __future__ import annotations

import pytest
from tests.capture_items import BODIES, item, text

from plumeline.errors import JobFolderError
from plumeline.files.field_items import read_item
from plumeline.store.correcting import _position, changes

ROWS = BODIES["profile"]["rows"]


def profile(*rows):
    return read_item(text(item("profile", body={"rows": list(rows)})))


def test_a_row_that_came_or_went_is_said_with_each_of_its_values():
    """Nothing is compared with what is not there; a value that stayed is not named."""
    one, two = profile(ROWS[0]), profile(*ROWS)
    came = changes(one, two)
    assert "row 2, depth: was empty, now 12 ft 6 in" in came
    assert "row 2, depth: was 12 ft 6 in, now empty" in changes(two, one)
    assert not [words for words in came if words.startswith("row 1")]
    assert changes(one, one) == ()


def test_an_edit_of_another_kind_is_another_reading():
    """A note that took a gauge's place is not compared field by field."""
    assert changes(read_item(text(item("gauge"))), read_item(text(item("note")))) == ()


def test_a_place_that_is_none_is_said_back_no_longer_than_it_must_be():
    """Sixty letters of it, and how it is written; nothing is no place."""
    assert _position("") is None
    assert _position("35.5, -79.25")["longitude_deg"] == -79.25
    with pytest.raises(JobFolderError) as caught:
        _position("x" * 70)
    assert f"'{'x' * 60}' is no latitude" in str(caught.value)
