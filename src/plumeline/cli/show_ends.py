"""The two ends of the air line for people: parts, labels, what runs back, what stays, what floats."""

from __future__ import annotations

from plumeline.cli.figures import EMPTY
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.ends import EndsResult
from plumeline.stages.air.lines_of_ends import end_rows
from plumeline.units.showing import System


def ends_blocks(found: EndsResult | None, units: System) -> list[str]:
    """Return the texts of the valve box and the compressor's end; nothing where a result has none."""
    if found is None:
        return []
    blocks = []
    for place in dict.fromkeys(row.place for row in found.parts):
        rows = [
            (f"{row.count}", row.part, said(row.size, units) or EMPTY, row.why)
            for row in found.parts
            if row.place == place
        ]
        title = f"Parts: {place}"
        blocks.append(table(("", "part", "size", "for"), rows, align="rlll", title=title))
    labels = [(item.name, said(item.words, units)) for item in found.labels]
    blocks.append(listing(labels, title="Labels at the valves"))
    figures = [(name, said(value, units)) for name, value in end_rows(found)]
    blocks.append(listing(figures, title="Riser, check valves, restart, tubing"))
    return blocks
