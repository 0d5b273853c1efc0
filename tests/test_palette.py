"""The colours stand out enough from each other."""

from __future__ import annotations

import pytest

from plumeline.palette import (
    CAUTION,
    DEEP,
    GOOD,
    INK,
    PAPER,
    SHALLOW,
    WARNING,
    contrast_wcag_2018,
    depth_colour,
    luminance_wcag_2018,
)


@pytest.mark.parametrize(
    ("one", "other", "ratio_number"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.1, definition of contrast ratio: from 1 to 21
        ("#ffffff", "#ffffff", 1.0),
        ("#777777", "#ffffff", 4.48),  # W3C's own example of a grey that just fails 4.5:1 (from memory)
        # measured for the project's design by another program: caution, shallow, good, warning on paper
        (CAUTION, PAPER, 1.95),
        (SHALLOW, PAPER, 2.94),
        (GOOD, PAPER, 3.67),
        (WARNING, PAPER, 3.86),
    ],
)
def test_contrast_is_the_standards(one, other, ratio_number):
    """The contrast ratio is that of WCAG 2.1 (W3C 2018)."""
    assert contrast_wcag_2018(one, other) == pytest.approx(ratio_number, abs=0.006)


@pytest.mark.parametrize("colour", [INK, DEEP])
def test_text_can_be_read_on_paper(colour):
    """Each text colour has at least 4.5:1 on paper and on white (WCAG 2.1, 1.4.3)."""
    assert contrast_wcag_2018(colour, PAPER) >= 4.5
    assert contrast_wcag_2018(colour, "#ffffff") >= 4.5


@pytest.mark.parametrize("ground", [PAPER, *(depth_colour(n / 7) for n in range(8))])
def test_lines_stand_out(ground):
    """A line of paper cased in ink stands out 3:1 from any ground: ink or paper does (WCAG 2.1, 1.4.11)."""
    assert max(contrast_wcag_2018(INK, ground), contrast_wcag_2018(PAPER, ground)) >= 3.0


def test_deeper_is_darker():
    """Depth reads without colour: each band is darker than the one above it."""
    lights = [luminance_wcag_2018(depth_colour(n / 7)) for n in range(8)]
    assert lights == sorted(lights, reverse=True)
    assert len(set(lights)) == 8
