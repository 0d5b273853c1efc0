"""The two ends of the line on paper: every part with its count, the labels, and what runs back or stays trapped."""

from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.pairs import said
from plumeline.paper.render import render
from plumeline.paper.shore import ends_part

DAY = date(2026, 8, 11)


def letters(text):
    """Return a text without its blanks: a PDF breaks lines where it likes."""
    return "".join(text.split())


@pytest.mark.parametrize("system", ["us", "si"])
def test_parts_and_figures_are_printed(small_plan, system):
    """Each part of the list with its count and size, each label, in the units of the paper."""
    pdf = render(small_plan, DAY, system)
    page = letters("".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages))
    found = small_plan.air.ends
    assert letters("The two ends of the line") in page
    for row in found.parts:
        assert letters(f"{row.count} {row.part}") in page
    for label in found.labels:
        assert letters(said(label.words, system)) in page
    part = ends_part(small_plan.air, system)
    other = "kPa" if system == "us" else "psi"
    assert other not in part["figures"] + part["labels"] + " ".join(part["parts"])
    assert "gauge that stays trapped" in part["figures"]
