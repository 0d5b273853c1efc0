"""The two ends of the line on paper: every part with its count, the labels, and what runs back or stays trapped."""

from datetime import date
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from plumeline.pairs import said
from plumeline.paper.render import render
from plumeline.paper.shore import ends_part, weights_words
from plumeline.units import show

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


def test_a_crew_without_gps_has_order_depths_and_weights(small_plan):
    """The farthest line is let down first, each place has what the line must read, each branch its count of weights."""
    pdf = render(small_plan, DAY, "us")
    page = letters(PdfReader(BytesIO(pdf)).pages[0].extract_text())
    by_run = sorted(small_plan.layout.diffusers, key=lambda item: -item.branch_run_m)
    assert [item.name for item in small_plan.layout.stakes] == [item.name for item in by_run]
    whole = letters("".join(one.extract_text() for one in PdfReader(BytesIO(pdf)).pages))
    assert letters("the line must read") in page
    for item in small_plan.layout.stakes:
        assert letters(show(item.line_depth_m, "m", "us")) + "±" in page
    said_words = weights_words(small_plan, "us")
    floats = [
        state
        for state in small_plan.air.ends.tubing
        if state.submerged_kg_m is None or state.submerged_kg_m < 0
    ]
    assert len(said_words) == len(floats) > 0
    for state, words in zip(floats, said_words, strict=True):
        assert letters(words.replace("\u2060", "")) in whole.replace("\u2060", "")
        if state.submerged_kg_m is not None:
            for item in by_run:
                # every 5 ft: Nebraska Game and Parks, Nebraska Pond Management, p. 87
                assert f"{item.name} {int(np.ceil(item.branch_cut_m / 1.524 - 1e-9))}" in words
