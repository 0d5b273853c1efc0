"""The layers of a column: thermocline, metalimnion and stability from a profile of density.

Source: Read, J. S., and others. 2011. Derivation of lake mixing and stratification indices from
high-resolution lake buoy data. Environ. Model. Softw. 26: 1325–1336; Idso, S. B. 1973. On the concept of lake
stability. Limnol. Oceanogr. 18: 681–683.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from plumeline.science.water import GRAVITY_M_S2
from plumeline.stages.reading.slices import Array, Slices

MIXED_BELOW_DEGC = 1.0
"""Top to bottom less than this apart: mixed, no thermocline (practice of Read and others 2011, for fresh water)."""

MIXED_BELOW_KG_M3 = 0.4
"""Salt layers water of one temperature: over this growth of density it is not mixed. No fresh water comes to it within
1 °C: at 40 °C, the warmest read here, a degree is 0.385 kg/m³ (Kell 1975)."""

SLOPE_KG_M4 = 0.1
"""Least density gradient that bounds the metalimnion (Read and others 2011, who leave it to the user)."""

PEAK_FRACTION = 0.15
"""Part of the strongest gradient that a second, deeper peak must reach to count (Read and others 2011); and part of
the seasonal one's down to which the metalimnion goes (judgement: at 25 °C half a degree by metre is already over
0.1 kg/m⁴, so on a warm day a bound made for lakes takes a pond's whole column for its metalimnion)."""

SKIN_NUMBER = 2.0
"""How many times as steep as the weakest step above the seasonal thermocline a skin over it must be (judgement)."""


@dataclass(frozen=True)
class Strata:
    """Where the layers lie; every depth is None when the column is mixed.

    Attributes:
        thermocline_depth_m: depth of the strongest density gradient; on a hot afternoon the day's warm skin.
        seasonal_thermocline_depth_m: depth of the deepest gradient that counts.
        metalimnion_top_m, metalimnion_bottom_m: where the gradient about the seasonal thermocline falls to the
            bounding one; a day's warm skin above is no part of it.
        bound_kg_m4: the bounding gradient: 0.1, or 15 % of the seasonal thermocline's where that is more.
    """

    thermocline_depth_m: float | None
    seasonal_thermocline_depth_m: float | None
    metalimnion_top_m: float | None
    metalimnion_bottom_m: float | None
    bound_kg_m4: float | None = None

    @property
    def mixed(self) -> bool:
        """True when there is no thermocline."""
        return self.thermocline_depth_m is None


MIXED = Strata(None, None, None, None)


def strata(
    depth_m: Sequence[float], temperature_degc: Sequence[float], density_kg_m3: Sequence[float]
) -> Strata:
    """Return the layers of a profile.

    Args:
        depth_m: depths, growing, shape (k,)
        temperature_degc: temperatures, shape (k,)
        density_kg_m3: densities, shape (k,)

    Returns:
        the layers; all None with one point, a range under 1 °C that no salt holds apart, or no growth of density
        with depth. From two points the thermocline is only a middle.
    """
    if len(depth_m) < 2:
        return MIXED
    even = max(temperature_degc) - min(temperature_degc) < MIXED_BELOW_DEGC
    if even and density_kg_m3[-1] - density_kg_m3[0] < MIXED_BELOW_KG_M3:
        return MIXED
    slope = gradients_kg_m4(depth_m, density_kg_m3)
    strongest = max(range(len(slope)), key=lambda i: (slope[i], -i))
    if slope[strongest] <= 0.0:
        return MIXED
    first = _weighted_depth_m(depth_m, slope, strongest)
    seasonal, at = first, strongest
    cut = max(PEAK_FRACTION * slope[strongest], SLOPE_KG_M4)
    peaks = [i for i in _peaks(slope) if slope[i] > cut]
    if peaks and peaks[-1] > strongest + 1:
        seasonal, at = max(_weighted_depth_m(depth_m, slope, peaks[-1]), first), peaks[-1]
    bound = max(PEAK_FRACTION * slope[at], SLOPE_KG_M4)
    top, bottom = _metalimnion_m(depth_m, slope, at, bound)
    return Strata(first, seasonal, min(top, seasonal), max(bottom, seasonal), bound)


def gradients_kg_m4(depth_m: Sequence[float], density_kg_m3: Sequence[float]) -> tuple[float, ...]:
    """Return the density gradient between neighbouring points [kg/m⁴], shape (k − 1,)."""
    return tuple(
        (density_kg_m3[i + 1] - density_kg_m3[i]) / (depth_m[i + 1] - depth_m[i])
        for i in range(len(depth_m) - 1)
    )


def _peaks(slope: Sequence[float]) -> list[int]:
    """Return the inner gradients that are greater than both neighbours."""
    return [i for i in range(1, len(slope) - 1) if slope[i - 1] < slope[i] > slope[i + 1]]


def _weighted_depth_m(depth_m: Sequence[float], slope: Sequence[float], at: int) -> float:
    """Return the thermocline's depth within an interval, drawn towards the steeper neighbour.

    Read and others 2011: with s_up = Δz/(fall of the gradient above) and s_dn likewise below, the depth is
    z_dn s_dn/(s_dn + s_up) + z_up s_up/(s_dn + s_up). At the ends of the profile it is the middle.
    """
    upper, lower = depth_m[at], depth_m[at + 1]
    if 0 < at < len(slope) - 1:
        fall_below, fall_above = slope[at] - slope[at + 1], slope[at] - slope[at - 1]
        if fall_below > 0.0 and fall_above > 0.0:
            below = (lower - upper) / fall_below
            above = (upper - depth_m[at - 1]) / fall_above
            return (lower * below + upper * above) / (below + above)
    return (upper + lower) / 2.0


def _metalimnion_m(
    depth_m: Sequence[float], slope: Sequence[float], at: int, bound_kg_m4: float
) -> tuple[float, float]:
    """Return where the gradient, linear between the middles of the steps, falls to the bounding one.

    Never into a step whose own gradient is weaker. Where it falls nowhere so far above, but a skin lies there, the
    top is the middle of the weakest step between skin and seasonal thermocline.
    """
    middle = [(depth_m[i] + depth_m[i + 1]) / 2.0 for i in range(len(slope))]
    if slope[at] < bound_kg_m4:
        return middle[at], middle[at]
    top, bottom = depth_m[0], depth_m[-1]
    weak = next((i for i in range(at - 1, -1, -1) if slope[i] < bound_kg_m4), None)
    under = next((i for i in range(at + 1, len(slope)) if slope[i] < bound_kg_m4), None)
    if weak is not None:
        met = _meeting_m(middle[weak], middle[weak + 1], slope[weak], slope[weak + 1], bound_kg_m4)
        top = max(met, depth_m[weak + 1])
    elif (trough := skin_over(slope, at)) is not None:
        top = middle[trough]
    if under is not None:
        met = _meeting_m(middle[under], middle[under - 1], slope[under], slope[under - 1], bound_kg_m4)
        bottom = min(met, depth_m[under])
    return top, bottom


def skin_over(slope_kg_m4: Sequence[float], at: int) -> int | None:
    """Return the weakest step above a thermocline's where a steeper skin lies over it; None where none does."""
    if at < 2:
        return None
    weakest = min(range(at), key=lambda i: slope_kg_m4[i])
    skin = max(slope_kg_m4[:weakest], default=0.0)
    return weakest if skin >= SKIN_NUMBER * slope_kg_m4[weakest] else None


def _meeting_m(
    weak_m: float, strong_m: float, weak_kg_m4: float, strong_kg_m4: float, bound_kg_m4: float
) -> float:
    """Return where a line from the weak to the strong gradient meets the bounding one."""
    return weak_m + (strong_m - weak_m) * (bound_kg_m4 - weak_kg_m4) / (strong_kg_m4 - weak_kg_m4)


def volume_centre_m(slices: Slices) -> float:
    """Return the depth of the centre of the pond's volume [m]."""
    return slices.integral(lambda z: z) / float(slices.volume_m3.sum())


def schmidt_stability_j_m2(slices: Slices, density_kg_m3: Callable[[Array], Array]) -> float:
    """Return the work, by surface area, that it takes to mix the column without heat: Idso 1973.

    Equation: S = (g/A₀) ∫ (z − z_v)(ρ_z − ρ̄) A_z dz.

    Args:
        slices: the basin
        density_kg_m3: from depths [m], shape (n,), to densities

    Returns:
        Schmidt stability [J/m²]
    """
    centre = volume_centre_m(slices)
    mean = slices.integral(density_kg_m3) / float(slices.volume_m3.sum())
    moment = slices.integral(lambda z: (z - centre) * (density_kg_m3(z) - mean))
    return GRAVITY_M_S2 / float(slices.top_m2[0]) * moment


def layer_density_kg_m3(
    depth_m: Sequence[float], density_kg_m3: Sequence[float], top_m: float, bottom_m: float
) -> float:
    """Return the mean density of a layer, by depth, of straight lines between readings [kg/m³].

    Args:
        depth_m: depths, growing, shape (k,)
        density_kg_m3: densities, shape (k,)
        top_m: top of the layer [m]
        bottom_m: bottom of the layer [m]; at or above the top gives the density there
    """
    if bottom_m <= top_m:
        return float(np.interp(top_m, depth_m, density_kg_m3))
    inner = [depth for depth in depth_m if top_m < depth < bottom_m]
    at = np.array([top_m, *inner, bottom_m])
    return float(np.trapezoid(np.interp(at, depth_m, density_kg_m3), at) / (bottom_m - top_m))
