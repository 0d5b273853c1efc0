"""Parts of the pond's volume: hypoxic, anoxic, under the fish's limit, and usable as a refuge."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plumeline.stages.limits import RefugeLimits
from plumeline.stages.reading.profile import REDUCED_NONE_MG_L, Lines
from plumeline.stages.reading.result import LayerReading, Shares
from plumeline.stages.reading.slices import BasinByDepth, crossings_m, slices_of

ANOXIC_MG_L = 0.5
"""What a field meter can't tell from none (membrane and optical meters state ±0.1 to 0.3 mg/L)."""


def shares_of(
    basin: BasinByDepth,
    lines: Lines,
    layers: Sequence[LayerReading],
    limits: RefugeLimits,
    hypoxic_below_mg_l: float,
) -> Shares:
    """Return the parts of the pond's volume under each threshold, and the usable part.

    Args:
        basin: area and volume by depth
        lines: the profile
        layers: the profile with what follows from it, shape (k,)
        limits: what the fish can bear
        hypoxic_below_mg_l: threshold of the hypoxic share [mg/L]

    Returns:
        the shares; exact for straight lines, for slices end where a line crosses its limit
    """
    fields = (
        ([-layer.do_mg_l for layer in layers], -limits.oxygen_mg_l),
        ([layer.temperature_degc for layer in layers], limits.max_temperature_degc),
        ([layer.unionized_ammonia_mg_l for layer in layers], limits.unionized_ammonia_mg_l),
        ([layer.hydrogen_sulphide_mg_l for layer in layers], limits.hydrogen_sulphide_mg_l),
    )
    # a guessed sulphide, drawn as a straight line between two far readings, must not close water that holds
    # the oxygen to burn it; a measured one may
    guessed = all(layer.sulphide_assumed for layer in layers)
    corners = [depth for values, limit in fields for depth in crossings_m(lines.depth_m, values, limit)]
    slices = slices_of(basin, (*lines.corners_m(hypoxic_below_mg_l, ANOXIC_MG_L), *corners))
    volume = float(slices.volume_m3.sum())
    oxygen = lines.line(lines.do_mg_l)
    usable = np.ones(slices.middle_m.shape, dtype=bool)
    for values, limit in fields[:3]:
        usable &= lines.line(values)(slices.middle_m) <= limit
    sulphide, limit = fields[3]
    clean = lines.line(sulphide)(slices.middle_m) <= limit
    usable &= clean | (guessed & (oxygen(slices.middle_m) >= REDUCED_NONE_MG_L))
    first, last = _greatest_run(usable, slices.volume_m3)
    low = slices.top_m[oxygen(slices.middle_m) < hypoxic_below_mg_l]

    def under(limit_mg_l: float) -> float:
        return slices.volume_where(lambda z: oxygen(z) < limit_mg_l)

    hypoxic = under(hypoxic_below_mg_l)
    return Shares(
        hypoxic_below_mg_l=hypoxic_below_mg_l,
        hypoxic_fraction=hypoxic / volume,
        hypoxic_volume_m3=hypoxic,
        anoxic_fraction=under(ANOXIC_MG_L) / volume,
        below_limit_fraction=under(limits.oxygen_mg_l) / volume,
        hypoxic_top_m=float(low[0]) if low.size else None,
        usable_fraction=float(slices.volume_m3[first:last].sum()) / volume,
        usable_top_m=float(slices.top_m[first]) if last > first else None,
        usable_bottom_m=float(slices.bottom_m[last - 1]) if last > first else None,
    )


def _greatest_run(usable: np.ndarray, volume_m3: np.ndarray) -> tuple[int, int]:
    """Return start and end of the unbroken run of usable slices that holds most water; 0, 0 for none."""
    best, most_m3, start = (0, 0), 0.0, 0
    for end in range(1, len(usable) + 1):
        if end < len(usable) and usable[end] == usable[start]:
            continue
        held = float(volume_m3[start:end].sum())
        if usable[start] and held > most_m3:
            best, most_m3 = (start, end), held
        start = end
    return best
