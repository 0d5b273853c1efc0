"""The gauges accepted at commissioning, for people."""

from __future__ import annotations

from plumeline.cli.figures import column, gauge_unit
from plumeline.cli.tables import table
from plumeline.stages.air.accepted_line import AcceptedLine
from plumeline.units import show
from plumeline.units.showing import System


def accepted_blocks(found: AcceptedLine | None, units: System) -> list[str]:
    """Return the accepted gauges beside the line as it is now, or nothing without a record."""
    if found is None:
        return []
    rows = [
        (
            row.state,
            row.place,
            show(row.water_level_m, "m", units),
            column(row.read_pa, "pa", units, 2),
            column(row.then_pa, "pa", units, 2),
            column(row.now_pa, "pa", units, 2),
            "disagreed" if row.disagreed else "",
        )
        for row in found.rows
    ]
    unit = gauge_unit(units)
    heads = ("valves", "gauge", "water", f"read\n{unit}", f"then to show\n{unit}", f"now to show\n{unit}", "")
    title = f"Accepted at commissioning, {found.accepted_on.isoformat()}, by {found.accepted_by}"
    tail = f"\nAlthough gauges disagreed: {found.reason}" if found.reason else ""
    return [table(heads, rows, align="llrrrrl", title=title) + tail]
