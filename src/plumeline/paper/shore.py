"""The two ends of the air line on paper: what to bring for them, and what the crew must know of them."""

from __future__ import annotations

from typing import Any

from plumeline.pairs import said
from plumeline.stages.air import AirResult
from plumeline.stages.air.lines_of_ends import end_rows, part_words
from plumeline.units.showing import System


def ends_part(air: AirResult, system: System) -> dict[str, Any] | None:
    """Return parts and figures of the two ends; None where the air line has none."""
    found = air.ends
    if found is None:
        return None
    parts = [f"{place[:1].upper()}{place[1:]}: {said(words, system)}." for place, words in part_words(found)]
    figures = "; ".join(f"{name}: {said(value, system)}" for name, value in end_rows(found))
    return {
        "parts": parts,
        "labels": "Labels: " + "; ".join(said(item.words, system) for item in found.labels) + ".",
        "figures": f"{figures[:1].upper()}{figures[1:]}.",
    }
