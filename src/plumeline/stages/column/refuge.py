"""How large a body of usable water must be for the fish to live through the start-up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Fish
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution, note
from plumeline.stages.limits import RefugeLimits, refuge_limits
from plumeline.units import both

LEAST_VOLUME_FRACTION = 0.15
HEAVY_STOCK_VOLUME_FRACTION = 0.25
LEAST_THICKNESS_M = 0.6
QUARTER_ACRE_M2 = 1011.7
BOIL_SHARE_FRACTION = 0.30
STOCK_UNKNOWN = (
    f"Nobody said whether there are more fish than usual, and not known is not no: {LEAST_VOLUME_FRACTION:.0%} of the "
    f"water must stay usable, as for a usual stock; for a fed or heavily stocked pond it would be "
    f"{HEAVY_STOCK_VOLUME_FRACTION:.0%}, and more ponds would count as lost. Ask the owner."
)


@dataclass(frozen=True)
class Refuge:
    """A layer is usable while all limits hold together; a body of such layers must be large enough.

    Attributes:
        limits: what the fish can bear.
        volume_fraction: least usable part of the pond's volume.
        thickness_m: least thickness of the usable body; a surface film is no refuge.
        notices: species without limits, a volume limit that was doubled.
    """

    limits: RefugeLimits
    volume_fraction: float
    thickness_m: float
    notices: tuple[Notice, ...]

    def as_array(self) -> NDArray[np.float64]:
        """Return the limits in the kernel's order (LIMITS)."""
        values = np.zeros(ix.LIMITS)
        values[ix.LIMIT_OXYGEN] = self.limits.oxygen_mg_l
        values[ix.LIMIT_TEMPERATURE] = self.limits.max_temperature_degc
        values[ix.LIMIT_AMMONIA] = self.limits.unionized_ammonia_mg_l
        values[ix.LIMIT_H2S] = self.limits.hydrogen_sulphide_mg_l
        values[ix.LIMIT_VOLUME] = self.volume_fraction
        values[ix.LIMIT_THICKNESS] = self.thickness_m
        return values


def refuge_for(fish: Fish, area_m2: float, diffuser_depth_m: tuple[float, ...]) -> Refuge:
    """Return the refuge that the fish need; doubled where a mean over the pond hides too much.

    Where boils (radius half the depth) cover over 30 % of the surface, or the pond is under a quarter acre,
    the fish may find no water that is like the mean, so twice the volume is asked for.
    """
    limits, notices = refuge_limits(fish)
    if fish.heavy_stock is None:
        notices += (note("stock-unknown", STOCK_UNKNOWN),)
    share = HEAVY_STOCK_VOLUME_FRACTION if fish.heavy_stock else LEAST_VOLUME_FRACTION
    boils = sum(np.pi * (0.5 * depth) ** 2 for depth in diffuser_depth_m) / area_m2
    if boils > BOIL_SHARE_FRACTION or area_m2 < QUARTER_ACRE_M2:
        share *= 2.0
        notices += (
            caution(
                "refuge-doubled",
                f"{_why(boils, area_m2)}: a mean over the pond is no safe measure of a refuge here, so {share:.0%} of "
                "the volume must stay usable.",
            ),
        )
    return Refuge(limits, min(share, 0.8), LEAST_THICKNESS_M, notices)


def _why(boils_fraction: float, area_m2: float) -> str:
    """Return why the mean over a pond says little, in words."""
    if boils_fraction > BOIL_SHARE_FRACTION:
        return f"Boils would cover {boils_fraction:.0%} of the surface of {both(area_m2, 'm2')}"
    return f"The pond has {both(area_m2, 'm2')}, less than a quarter of an acre"
