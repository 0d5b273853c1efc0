"""Colours, targets and sizes of the style sheet: every pair of text and ground, light and dark."""

from __future__ import annotations

import re

import pytest

from plumeline.palette import CAUTION, DEEP, GOOD, INK, PAPER, SHALLOW, WARNING, contrast_wcag_2018
from plumeline.web.site import FOLDER

CSS = (FOLDER / "static" / "plumeline.css").read_text(encoding="utf-8")


def colours(dark):
    """Return the named colours of a mode."""
    blocks = re.findall(r":root \{(.*?)\}", CSS, re.S)
    found = dict(re.findall(r"--([\w-]+): (#\w{6})", blocks[0]))
    return found | (dict(re.findall(r"--([\w-]+): (#\w{6})", blocks[1])) if dark else {})


TEXT = (
    ("ink", "paper"), ("deep", "paper"), ("paper", "deep"), ("warning-ink", "paper"), ("ink", "field"),
)  # fmt: skip
GRAPHICS = (("line", "paper"), ("warning", "paper"), ("line", "field"), ("deep", "paper"))


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(("front", "ground"), TEXT)
def test_text_stands_out(front, ground, dark):
    """WCAG 2.2, 1.4.3: 4.5 to 1."""
    found = colours(dark)
    assert contrast_wcag_2018(found[front], found[ground]) >= 4.5


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(("front", "ground"), GRAPHICS)
def test_lines_and_edges_stand_out(front, ground, dark):
    """WCAG 2.2, 1.4.11: 3 to 1."""
    found = colours(dark)
    assert contrast_wcag_2018(found[front], found[ground]) >= 3.0


def test_caution_is_a_ground_under_ink_in_both_modes():
    """Ink on it reads at 7.7 to 1 (reference/use-and-reliability: 7.76), and it is never text."""
    assert contrast_wcag_2018(INK, CAUTION) >= 7.0
    assert re.search(r"\.notice\.caution \{[^}]*color: #1c1c1c", CSS)
    assert not re.search(r"[^-]color: var\(--caution\)", CSS)


def test_the_light_colours_are_the_palette_of_the_drawings():
    """The same colour means the same on every surface."""
    found = colours(False)
    names = {
        "paper": PAPER,
        "ink": INK,
        "deep": DEEP,
        "shallow": SHALLOW,
        "warning": WARNING,
        "caution": CAUTION,
        "good": GOOD,
    }
    assert {name: found[name] for name in names} == names


def test_only_ink_deep_and_the_darker_warning_are_text():
    """Looked at in every rule that sets a colour of text."""
    used = set(re.findall(r"(?<![-\w])color: ([^;}]+)", CSS))
    assert used <= {"var(--ink)", "var(--deep)", "var(--paper)", "var(--warning-ink)", "#1c1c1c"}


def test_thumbs_hit_and_eyes_read():
    """48 px targets, 64 px for the main one, 18 px text, 22 px in fields; no sideways scroll of the page."""
    assert re.search(r"nav a, \.button, button.*?min-height: 48px", CSS, re.S)
    assert re.search(r"button\.main \{[^}]*min-height: 64px", CSS)
    assert "font: 18px/1.5" in CSS
    assert re.search(r'input\[type="text"\].*?min-height: 48px.*?font-size: 22px', CSS, re.S)
    assert re.search(r"\.scroll \{ overflow-x: auto; max-width: 100%", CSS)
    assert "@media print" in CSS
    assert "http" not in CSS
