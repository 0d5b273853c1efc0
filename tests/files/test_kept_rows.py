"""The line of the kept rows in job.toml: other lines stay, and what can't be read without doubt is left alone."""

from __future__ import annotations

import tomllib

import pytest

from plumeline.files.kept_rows import with_keep_rows


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("[pond]\narea = 3\n", "[pond]\nkeep_rows = [4, 12]\narea = 3\n"),
        ("[pond]\r\nkeep_rows = [7] # mine\r\n", "[pond]\r\nkeep_rows = [4, 12] # mine\r\n"),
        ("a = 1\n[site]\nkeep_rows = [1]\n[pond]\n", "a = 1\n[site]\nkeep_rows = [1]\n[pond]\nkeep_rows = [4, 12]\n"),
    ],
)  # fmt: skip
def test_only_its_own_line_changes(text: str, wanted: str) -> None:
    """The rows are put into their line or behind the section's head, and the parser of Python reads them."""
    got = with_keep_rows(text.encode(), {12, 4})
    assert got == wanted.encode()
    assert tomllib.loads(got.decode())["pond"]["keep_rows"] == [4, 12]


@pytest.mark.parametrize("text", ["[pond]\nkeep_rows = [\n 4,\n]\n", "[site]\n", "\xff"])
def test_what_is_in_doubt_is_left_alone(text: str) -> None:
    """Several lines, no section, no UTF-8: whoever asked writes the job anew."""
    assert with_keep_rows(text.encode("latin-1"), {4}) is None
