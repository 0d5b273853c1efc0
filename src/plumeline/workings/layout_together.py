"""How manifold and places came about together: the line on the plan, the trunk in it, and the mean ways."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

from plumeline.stages.layout import Layout, Together
from plumeline.stages.layout.together import LONGER_FRACTION
from plumeline.workings.files import Files
from plumeline.workings.value import Value, chosen, relation, summed

BEFORE = "the places that serve best by themselves (p-median, Hakimi 1964), the manifold where it is best for those"


def together_values(layout: Layout, found: Together, files: Files, volume: Value) -> list[Value]:
    """Return round, lines and mean ways of the places found together with the manifold.

    Args:
        layout: where everything lies.
        found: how it came there.
        files: the job.
        volume: of the pond.
    """
    lengths = {
        f"l{n}": summed(
            f"line of {item.name} on the plan", _plan_m(item.branch_path_xy), "m",
            "the shortest way through the water from the manifold, round the keep-out zones",
        )
        for n, item in enumerate(layout.diffusers, start=1)
    }  # fmt: skip
    formula, terms = " + ".join(lengths), dict(lengths)
    if found.trunk_m is not None:
        terms["T"] = chosen(
            "trunk over land", found.trunk_m, "m",
            "the shortest way on land from power.place to the manifold, round the water",
        )  # fmt: skip
        terms["w"] = _weight(found, files)
        formula += " + w * T"
    rule = (
        "counted until no place, with the manifold's best for it, makes the line shorter while the mean way stays "
        f"within {LONGER_FRACTION:.0%} of its least and the water lifted and served is no less"
    )
    line = relation("line in all", found.line_m, "m", formula, terms)
    values = [
        chosen("round", float(found.round_count), "", rule),
        line,
        chosen("line with the places that serve best", found.line_before_m, "m", BEFORE),
        _way("mean way to a diffuser, by parts", found.way_m, "the places found together with the manifold", volume),
        _way("mean way with the places that serve best", found.way_before_m, BEFORE, volume),
    ]  # fmt: skip
    return values if found.trunk_m is None else [*values, terms["T"], terms["w"]]


def _way(name: str, way_m: float, of: str, volume: Value) -> Value:
    """Return a mean way to the nearest diffuser."""
    words = (
        f"the shortest way of each of some 350 parts of the water to its nearest diffuser × its volume; {of}"
    )
    moment = summed(f"sum of way × water, {name}", way_m * volume.number, "m⁴", words)
    return relation(name, way_m, "m", "M / V", {"M": moment, "V": volume})


def _plan_m(path_xy: tuple[tuple[float, float], ...]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(path_xy))


def _weight(found: Together, files: Files) -> Value:
    """Return what a length of trunk counts for in lengths of branch."""
    prices, name = files.job.prices, "branch that a length of trunk counts for"
    if found.trunk_weight_number == 1.0 and None in (
        prices.trench_per_m,
        prices.pipe_per_m,
        prices.branch_per_m,
    ):
        return chosen(name, 1.0, "", "length alone: the job's prices do not say trench, pipe and branch")
    parts = {"a": "trench", "b": "pipe", "c": "branch"}
    terms = {
        key: files.field(f"price of {word}", getattr(prices, f"{word}_per_m"), "", f"prices.{word}")
        for key, word in parts.items()
    }
    return relation(name, found.trunk_weight_number, "", "(a + b) / c", terms)
