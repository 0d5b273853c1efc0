"""How layout, air line and the simulated water came to agree: round, airs, and ponds that mixed."""

from __future__ import annotations

from plumeline.stages.layout import Agreement
from plumeline.stages.mixed import DAYS, MIXED_WORDS
from plumeline.workings.value import Value, chosen, relation, simulated

MIXED_RULE = f"{MIXED_WORDS} at the last of {DAYS} dawns"
"""Which simulated ponds count as mixed."""


def agreement_values(found: Agreement) -> list[Value]:
    """Return round, airs and difference of how layout and air line came to agree."""
    before = chosen(
        "air of a diffuser that the places were sought for", found.air_before_m3_s, "air",
        "what the air line gave a diffuser in the round before; in the first, what the job wishes, else 1.3 scfm",
    )  # fmt: skip
    after = chosen(
        "mean air of a diffuser that runs", found.air_after_m3_s, "air",
        "the mean of what the balanced air line gives the diffusers in these places: see the page of the air",
    )  # fmt: skip
    words = "counted until the two airs lie less than 2 % apart, 8 rounds at most"
    return [
        chosen("round", float(found.round_count), "", words),
        relation("apart", found.change_fraction, "fraction", "max(b - a, a - b) / a", {"a": before, "b": after}),
        before, after,
    ]  # fmt: skip


def mixing_values(found: Agreement) -> list[Value]:
    """Return the numbers of diffusers that were run in the simulated water, and the ponds that came to be mixed."""
    values: list[Value] = []
    for item in found.mixing:
        of = f"with {item.diffuser_count} diffusers"
        run = (
            f"ponds drawn to agree with the readings, run {of} and the air on all day; all run the same ponds"
        )
        values += [
            chosen(
                "diffusers tried",
                float(item.diffuser_count),
                "",
                "the least that meet the turnover, or one more",
            ),
            simulated(
                f"ponds mixed {of}",
                float(item.mixed_members),
                "",
                f"{run}: counted are those whose {MIXED_RULE}",
            ),
            simulated(
                f"simulated ponds {of}",
                float(item.members),
                "",
                f"{run}; how many is a choice of this program",
            ),
        ]
    return values
