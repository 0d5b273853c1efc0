"""Answers that are legal and hardly right: low land, a compressor on a hill, a wall deeper than the pond."""

from __future__ import annotations

from plumeline.files.findings import Findings
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Pond, Site, Wishes
from plumeline.units import both

LOW_LAND_M = -90.0
"""Land lies lower in a few basins of the Earth alone (from memory)."""
UNDER_POND_M = -15.0
OVER_POND_M = 150.0
"""A compressor is a few feet over the water, seldom a hill above it (common practice, no published source)."""


def check_heights(site: Site | None, air: AirSystem | None, findings: Findings) -> None:
    """Add cautions on heights that are most often a wrong sign or a wrong unit; faults are left to theirs."""
    elevation_m = site.elevation_m if site else None
    rise_m = air.rise_m if isinstance(air, AirSystem) else None
    if elevation_m is not None and elevation_m < LOW_LAND_M:
        findings.caution(
            "elevation-low",
            f"{JOB_FILE}, site.elevation: {both(elevation_m, 'm')} is far below the sea, where hardly any land lies; "
            "is the minus sign right?",
        )
    if rise_m is None or UNDER_POND_M <= rise_m <= OVER_POND_M:
        return
    where = "under" if rise_m < 0.0 else "over"
    findings.caution(
        "rise-far",
        f"{JOB_FILE}, air.rise: the compressor would stand {both(abs(rise_m), 'm')} {where} the water of the pond; "
        "are sign and unit right? It is the height over the water, not over the sea.",
    )


def check_edge(pond: Pond, findings: Findings) -> None:
    """Add cautions on soundings of zero, water deeper at its edge than anybody sounded, rows put back that are none."""
    sounded = [one.depth_m for one in pond.soundings]
    if sounded and not any(sounded):
        findings.caution(
            "soundings-zero",
            f"{SOUNDINGS}: all {len(sounded)} depths are zero and count for nothing. Write them as read, or delete the "
            "file and give pond.max_depth.",
        )
        return
    told = [
        ("pond.shore_depth", pond.shore_depth_m or 0.0),
        *(("pond.walls", wall.depth_m) for wall in pond.walls),
    ]
    for key, depth_m in told:
        if sounded and depth_m > max(sounded):
            findings.caution(
                "edge-deeper",
                f"{JOB_FILE}, {key}: {both(depth_m, 'm')} at the water's edge is more than the deepest sounding "
                f"({both(max(sounded), 'm')}): volume and band go by it. Check the unit, or sound at the foot of the "
                "wall.",
            )
    rows = {one.row for one in pond.soundings}
    missing = [row for row in pond.keep_rows if row not in rows]
    if missing:
        text = ", ".join(str(row) for row in missing[:6])
        findings.caution(
            "keep-rows-missing",
            f"{JOB_FILE}, pond.keep_rows: no sounding stands in row {text}; nothing is put back for it. Rows are those "
            "of the list of soundings left out.",
        )


def check_zones(wishes: Wishes, findings: Findings) -> None:
    """Add a caution where a keep-out zone is no shape and keeps nothing out."""
    for number, ring in enumerate(wishes.keep_out, start=1):
        if len(set(ring)) < 3:
            findings.caution(
                "keep-out-no-zone",
                f"{JOB_FILE}, wishes.keep_out: zone {number} has {len(set(ring))} different corners and keeps nothing "
                "out; a zone has 3 or more. Give its corners in one round, without the first again.",
            )
