"""The two ends of the air line on paper: what to bring for them, and what the crew must know of them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from plumeline.pairs import pair, said
from plumeline.stages.air import AirResult
from plumeline.stages.air.lines_of_ends import end_rows, part_words
from plumeline.stages.air.tubing import SPACING_M, weight
from plumeline.units.showing import System

if TYPE_CHECKING:
    from plumeline.stages.plan import Plan


def weights_words(plan: Plan, system: System) -> list[str]:
    """Return how many weights each branch is to be loaded with, by kind of tubing."""
    found = []
    for state in plan.air.ends.tubing if plan.air.ends else ():
        if state.weight_each_kg is None:
            found.append(
                f"Weights on {state.pipe}: weigh a coil first, it is not known whether it floats full of air."
            )
        elif state.weight_each_kg > 0.0:
            counts = {
                item.name: math.ceil(item.branch_cut_m / SPACING_M - 1e-9)
                for item in plan.layout.diffusers
                if item.name in state.branches
            }
            each = f"{', '.join(f'{name} {count}' for name, count in counts.items())}"
            words = f"{weight(state.weight_each_kg)} of brick or concrete, one every {pair('5 ft', '1.5 m')}"
            found.append(
                f"Weights on {state.pipe}: {sum(counts.values())} of {said(words, system)} ({each})."
            )
    return found


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
