"""docs/bars.md names tests that exist, and every bar."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "docs" / "bars.md").read_text(encoding="utf-8")
NAMED = re.findall(r"`([\w/]+\.py)?(?:::(\w+))?`", TEXT)


def test_every_test_that_is_named_exists():
    """A renamed or dropped test is missed here, so that no bar loses its test unseen."""
    assert len(NAMED) > 60
    path = ""
    for found, name in NAMED:
        path = found or path
        file = ROOT / path if path.startswith("benchmarks/") else ROOT / "tests" / path
        assert file.is_file(), path
        text = file.read_text(encoding="utf-8")
        assert not name or re.search(rf"^(def|class) {name}\b", text, re.MULTILINE), (path, name)


def test_no_bar_is_left_out():
    """Those of field capture, store, use and pages, each once."""
    bars = [
        f"{letter}{n}"
        for letter, most in (("A", 14), ("B", 9), ("C", 9), ("F", 3))
        for n in range(1, most + 1)
    ]
    assert re.findall(r"^- \*\*([A-F]\d+)\*\*", TEXT, re.M) == bars


def test_the_page_is_short():
    """120 lines of 120 columns."""
    assert len(TEXT.splitlines()) <= 120
    assert max(map(len, TEXT.splitlines())) <= 120
