"""Answers on heights that are legal and hardly right: land far below the sea, a compressor on a hill."""

from __future__ import annotations

from plumeline.files.findings import Findings
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Site
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
