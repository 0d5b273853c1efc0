"""What the electrician must know, for people."""

from __future__ import annotations

from plumeline.cli.figures import bullets
from plumeline.cli.tables import listing, table
from plumeline.pairs import said
from plumeline.stages.air.electrical import Electrical
from plumeline.stages.air.electrical_words import FOR_WHOM
from plumeline.stages.air.lines_of_electrical import WIRE_HEADS, electrical_rows, wire_cells
from plumeline.units.showing import System


def electrical_blocks(found: Electrical | None, units: System) -> list[str]:
    """Return the texts for the electrician: figures, wires, points to check."""
    if found is None:
        return []
    rows = [(said(name, units), said(value, units)) for name, value in electrical_rows(found)]
    return [
        listing(rows, title="Electrical, for the licensed electrician"),
        _wires(found, units),
        bullets((FOR_WHOM, *found.checklist), "Points for the licensed electrician", units),
    ]


def _wires(found: Electrical, units: System) -> str:
    count = len(WIRE_HEADS) - (found.feeder_length_m is None)
    rows = [[said(cell, units) for cell in wire_cells(wire)[:count]] for wire in found.conductors]
    title = "Wire, one way, 3 % running and 15 % at the start"
    return table(WIRE_HEADS[:count], rows, align="rrlrrrrl"[:count], title=title)
