"""Bubble plumes over one diffuser, one above the other: rise, peel, restart, fall.

The water around is given in segments from the surface down (`fill_segments`, `fill_layers`). Where a plume
stalls its water peels off and falls to its level of equal density; the bubbles go on and start a new
plume by the same rule, until the surface. Nothing here allocates: whoever calls brings the arrays.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from plumeline.kernels.jit import fast_kernel
from plumeline.kernels.lane_relations import density_chen_millero_1986
from plumeline.kernels.relations import bubble_rate_wuest_1992
from plumeline.kernels.rise import (
    ALPHA,
    AMBIENT_COLUMNS,
    BUBBLE_RATE,
    DENSITY,
    EXPANSION,
    FROUDE,
    GAS_CONSTANT,
    LAMBDA,
    LAW,
    NITROGEN,
    ORDER,
    OXYGEN,
    REFERENCE_PRESSURE,
    SALINITY,
    SLIP,
    SOURCE_RADIUS,
    STRATIFICATION,
    SURFACE_PRESSURE,
    TEMPERATURE,
    TRANSFER,
    cross,
    gas_pressure,
    start,
)
from plumeline.kernels.solubility import (
    OXYGEN_MOLAR_MASS_G_MOL,
    nitrogen_in_equilibrium,
    oxygen_share,
)

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.int64]

SAME_DENSITY_KG_M3 = 1e-6
NO_BUBBLES_SHARE = 1e-6

# Columns of the record of one plume.
START_DEPTH, START_VELOCITY, END_DEPTH, FLOW, VELOCITY, RADIUS = 0, 1, 2, 3, 4, 5
END_TEMPERATURE, END_SALINITY, END_OXYGEN, END_NITROGEN, NEUTRAL_DEPTH = 6, 7, 8, 9, 10
OXYGEN_UPTAKE, NITROGEN_UPTAKE, OXYGEN_LEFT, NITROGEN_LEFT, SURFACED = 11, 12, 13, 14, 15
RECORD_COLUMNS = 16


@fast_kernel
def fill_segments(
    interface_depth_m: Array,
    temperature_degc: Array,
    salinity_g_kg: Array,
    do_mg_l: Array,
    surface_pressure_pa: float,
    law: float,
    ambient: Array,
) -> None:
    """Lay out the water around a plume, linear between values at the K + 1 interfaces.

    Args:
        interface_depth_m: depths from 0 down, shape (K + 1,) [m].
        temperature_degc: temperature there, shape (K + 1,) [°C].
        salinity_g_kg: salinity there, shape (K + 1,) [g/kg].
        do_mg_l: oxygen there, shape (K + 1,) [mg/L].
        surface_pressure_pa: air pressure; the water's nitrogen is in equilibrium with it [Pa].
        law: solubility law, see `plumeline.kernels.solubility`.
        ambient: filled, shape (K, AMBIENT_COLUMNS), amounts of gas in mol/m³.
    """
    for k in range(ambient.shape[0]):
        thickness = interface_depth_m[k + 1] - interface_depth_m[k]
        for side in range(2):
            t, s = temperature_degc[k + side], salinity_g_kg[k + side]
            place = side
            ambient[k, TEMPERATURE + place] = t
            ambient[k, SALINITY + place] = s
            ambient[k, OXYGEN + place] = do_mg_l[k + side] / OXYGEN_MOLAR_MASS_G_MOL
            ambient[k, NITROGEN + place] = nitrogen_in_equilibrium(t, s, surface_pressure_pa, law)
            ambient[k, DENSITY + place] = density_chen_millero_1986(t, s)
        for column in range(0, AMBIENT_COLUMNS, 2):
            ambient[k, column + 1] = (ambient[k, column + 1] - ambient[k, column]) / thickness


@fast_kernel
def fill_layers(
    temperature_degc: Array,
    salinity_g_kg: Array,
    do_mg_l: Array,
    surface_pressure_pa: float,
    law: float,
    ambient: Array,
) -> None:
    """Lay out the water around a plume as K layers, each of one temperature, salinity and oxygen.

    Args:
        temperature_degc: temperature of each layer, shape (K,) [°C].
        salinity_g_kg: salinity, shape (K,) [g/kg].
        do_mg_l: oxygen, shape (K,) [mg/L].
        surface_pressure_pa: air pressure; the water's nitrogen is in equilibrium with it [Pa].
        law: solubility law, see `plumeline.kernels.solubility`.
        ambient: filled, shape (K, AMBIENT_COLUMNS), slopes zero, amounts of gas in mol/m³.
    """
    for k in range(temperature_degc.shape[0]):
        t, s = temperature_degc[k], salinity_g_kg[k]
        ambient[k, TEMPERATURE] = t
        ambient[k, SALINITY] = s
        ambient[k, OXYGEN] = do_mg_l[k] / OXYGEN_MOLAR_MASS_G_MOL
        ambient[k, NITROGEN] = nitrogen_in_equilibrium(t, s, surface_pressure_pa, law)
        ambient[k, DENSITY] = density_chen_millero_1986(t, s)
        for column in range(1, AMBIENT_COLUMNS, 2):
            ambient[k, column] = 0.0


@fast_kernel
def fill_setting(
    alpha_number: float,
    froude_number: float,
    lambda_number: float,
    source_radius_m: float,
    transfer_factor_number: float,
    surface_pressure_pa: float,
    law: float,
    setting: Array,
) -> None:
    """Write what is constant along the rise.

    The limits (slip, expansion, stratification) stand at 1, the order of the steps at 4.

    Args:
        alpha_number: top-hat entrainment coefficient, α [-].
        froude_number: densimetric Froude number of the start, Fr [-].
        lambda_number: radius of the bubble core over that of the plume, λ [-].
        source_radius_m: radius of the bubble core at the start, λb₀ [m].
        transfer_factor_number: factor on K_L for surfactants; 0 switches gas exchange off [-].
        surface_pressure_pa: air pressure [Pa].
        law: solubility law, see `plumeline.kernels.solubility`.
        setting: filled, shape (SETTING_COUNT,).
    """
    setting[ALPHA] = alpha_number
    setting[FROUDE] = froude_number
    setting[LAMBDA] = lambda_number
    setting[SOURCE_RADIUS] = source_radius_m
    setting[BUBBLE_RATE] = 0.0
    setting[TRANSFER] = transfer_factor_number
    setting[SURFACE_PRESSURE] = surface_pressure_pa
    setting[REFERENCE_PRESSURE] = surface_pressure_pa
    setting[SLIP] = 1.0
    setting[EXPANSION] = 1.0
    setting[STRATIFICATION] = 1.0
    setting[LAW] = law
    setting[ORDER] = 4.0


@fast_kernel
def _segment_of(depth_m: float, interface_depth_m: Array) -> int:
    """Return the segment whose water a plume that starts at this depth stands in."""
    k = len(interface_depth_m) - 2
    while k > 0 and interface_depth_m[k] >= depth_m:
        k -= 1
    return k


@fast_kernel
def rest_depth(
    depth_m: float, density_kg_m3: float, interface_depth_m: Array, ambient: Array
) -> tuple[float, int]:
    """Return where water let go at a depth comes to rest without mixing, and the segment there.

    Args:
        depth_m: where it is let go [m].
        density_kg_m3: its density [kg/m³].
        interface_depth_m: depths of the K + 1 interfaces [m].
        ambient: the water around, shape (K, AMBIENT_COLUMNS).
    Returns:
        Depth of equal density below [m] and its segment; the deepest point when nothing is as dense.
    """
    count = len(ambient)
    k = 0
    while k < count - 1 and interface_depth_m[k + 1] <= depth_m:
        k += 1
    high = depth_m
    while k < count:
        slope = ambient[k, DENSITY + 1]
        at_high = ambient[k, DENSITY] + slope * (high - interface_depth_m[k])
        low = interface_depth_m[k + 1]
        missing = density_kg_m3 - SAME_DENSITY_KG_M3 - at_high
        if missing <= 0.0:
            return high, k
        if slope * (low - high) >= missing:
            return high + missing / slope, k
        high = low
        k += 1
    return float(interface_depth_m[count]), count - 1


@fast_kernel
def fall(
    depth_m: float,
    flow_m3_s: float,
    temperature_degc: float,
    salinity_g_kg: float,
    reentrain_fraction: float,
    interface_depth_m: Array,
    ambient: Array,
    withdrawn_m3_s: Array,
) -> tuple[float, int]:
    """Let peeled water fall and mix with what it falls through; return where it rests and the segment.

    It takes up `reentrain_fraction` times its flow, evenly over the fall that it would make unmixed, and
    stops where the mixture is no longer denser than the water around.

    Args:
        depth_m: where it peels [m].
        flow_m3_s: its flow [m³/s].
        temperature_degc: its temperature [°C].
        salinity_g_kg: its salinity [g/kg].
        reentrain_fraction: share of its flow that it may take up on the way [-].
        interface_depth_m: depths of the K + 1 interfaces [m].
        ambient: the water around, shape (K, AMBIENT_COLUMNS).
        withdrawn_m3_s: what it takes from each segment is added here, shape (K,) [m³/s].
    Returns:
        Depth [m] and segment of rest.
    """
    density = density_chen_millero_1986(temperature_degc, salinity_g_kg)
    deepest, last = rest_depth(depth_m, density, interface_depth_m, ambient)
    height = deepest - depth_m
    if reentrain_fraction <= 0.0 or height <= 0.0:
        return deepest, last
    Q, QT, QS = flow_m3_s, flow_m3_s * temperature_degc, flow_m3_s * salinity_g_kg
    k = 0
    while k < last and interface_depth_m[k + 1] <= depth_m:
        k += 1
    high = depth_m
    while k < last:
        low = interface_depth_m[k + 1]
        middle = 0.5 * (high + low) - interface_depth_m[k]
        q = reentrain_fraction * flow_m3_s * (low - high) / height
        withdrawn_m3_s[k] += q
        Q += q
        QT += q * (ambient[k, TEMPERATURE] + ambient[k, TEMPERATURE + 1] * middle)
        QS += q * (ambient[k, SALINITY] + ambient[k, SALINITY + 1] * middle)
        density = density_chen_millero_1986(QT / Q, QS / Q)
        depth, here = rest_depth(low, density, interface_depth_m, ambient)
        if depth <= low:
            return low, here
        high = low
        k += 1
    return rest_depth(high, density, interface_depth_m, ambient)


@fast_kernel
def rise_once(
    depth_m: float,
    oxygen_mol_s: float,
    nitrogen_mol_s: float,
    interface_depth_m: Array,
    ambient: Array,
    setting: Array,
    steps_per_segment: int,
    withdrawn_m3_s: Array,
    trace: Array,
    record: Array,
) -> None:
    """Carry one plume from where it starts to the surface or to where it stalls.

    Args:
        depth_m: where it starts [m].
        oxygen_mol_s: oxygen in its bubbles [mol/s].
        nitrogen_mol_s: nitrogen in its bubbles, argon counted with it [mol/s].
        interface_depth_m: depths of the K + 1 interfaces, the first 0 [m].
        ambient: the water around, shape (K, AMBIENT_COLUMNS).
        setting: what is constant along the rise, shape (SETTING_COUNT,).
        steps_per_segment: least number of steps in one segment.
        withdrawn_m3_s: what the plume draws from each segment is added here, shape (K,) [m³/s].
        trace: depth, radius and velocity at each interface passed, shape (K + 1, 3) or (0, 3).
        record: filled, shape (RECORD_COLUMNS,).
    """
    k = _segment_of(depth_m, interface_depth_m)
    y = start(depth_m, oxygen_mol_s, nitrogen_mol_s, interface_depth_m[k], ambient[k], setting)
    record[START_DEPTH] = depth_m
    record[START_VELOCITY] = y[1] / y[0]
    withdrawn_m3_s[k] += y[0]
    stalled = False
    while True:
        top = interface_depth_m[k]
        before = y[0]
        longest = (interface_depth_m[k + 1] - top) / steps_per_segment
        depth_m, y, stalled = cross(depth_m, top, longest, y, ambient[k], setting)
        withdrawn_m3_s[k] += y[0] - before
        if trace.shape[0] > 0:
            trace[k, 0] = depth_m
            trace[k, 1] = math.sqrt(y[0] * y[0] / (math.pi * y[1]))
            trace[k, 2] = y[1] / y[0]
        if stalled or k == 0:
            break
        k -= 1
    record[END_DEPTH] = depth_m
    record[FLOW] = y[0]
    record[VELOCITY] = y[1] / y[0]
    record[RADIUS] = math.sqrt(y[0] * y[0] / (math.pi * y[1]))
    record[END_TEMPERATURE] = y[2] / y[0]
    record[END_SALINITY] = y[3] / y[0]
    record[END_OXYGEN] = y[4] / y[0]
    record[END_NITROGEN] = y[5] / y[0]
    record[OXYGEN_UPTAKE] = oxygen_mol_s - y[6]
    record[NITROGEN_UPTAKE] = nitrogen_mol_s - y[7]
    record[OXYGEN_LEFT] = y[6]
    record[NITROGEN_LEFT] = y[7]
    record[SURFACED] = 0.0 if stalled else 1.0


@fast_kernel
def rise_all(
    diffuser_depth_m: float,
    air_mol_s: float,
    bubble_radius_m: float,
    interface_depth_m: Array,
    ambient: Array,
    setting: Array,
    steps_per_segment: int,
    withdrawn_m3_s: Array,
    trace: Array,
    records: Array,
) -> int:
    """Carry the air of one diffuser to the surface, plume after plume; return how many plumes there were.

    Args:
        diffuser_depth_m: depth of the membrane, not below the last interface [m].
        air_mol_s: dry air [mol/s].
        bubble_radius_m: radius of the bubbles as they leave the membrane [m].
        interface_depth_m: depths of the K + 1 interfaces, the first 0 [m].
        ambient: the water around, shape (K, AMBIENT_COLUMNS).
        setting: from `fill_setting`; the bubble rate is written here.
        steps_per_segment: least number of steps in one segment.
        withdrawn_m3_s: added to, shape (P, K): plume p draws from segment k [m³/s].
        trace: shape (P, K + 1, 3), or (P, 0, 3) for none.
        records: filled, shape (P, RECORD_COLUMNS); after P plumes the bubbles lift no more water.
    Returns:
        Number of plumes, 0 to P; the last one's record says whether it surfaced.
    """
    most_plumes = len(records)
    share = oxygen_share(setting[LAW])
    oxygen, nitrogen = share * air_mol_s, (1.0 - share) * air_mol_s
    k = _segment_of(diffuser_depth_m, interface_depth_m)
    T = ambient[k, TEMPERATURE] + ambient[k, TEMPERATURE + 1] * (diffuser_depth_m - interface_depth_m[k])
    setting[REFERENCE_PRESSURE] = setting[SURFACE_PRESSURE] + 9806.65 * diffuser_depth_m
    V = air_mol_s * GAS_CONSTANT * (T + 273.15) / gas_pressure(diffuser_depth_m, setting)
    setting[BUBBLE_RATE] = bubble_rate_wuest_1992(V, bubble_radius_m)
    depth = diffuser_depth_m
    for p in range(most_plumes):
        if depth <= 0.0 or oxygen + nitrogen <= NO_BUBBLES_SHARE * air_mol_s or air_mol_s <= 0.0:
            return p
        rise_once(
            depth, oxygen, nitrogen, interface_depth_m, ambient, setting, steps_per_segment,
            withdrawn_m3_s[p], trace[p], records[p],
        )  # fmt: skip
        record = records[p]
        density = density_chen_millero_1986(record[END_TEMPERATURE], record[END_SALINITY])
        record[NEUTRAL_DEPTH] = rest_depth(record[END_DEPTH], density, interface_depth_m, ambient)[0]
        if record[SURFACED] > 0.0:
            return p + 1
        if record[END_DEPTH] >= record[START_DEPTH]:
            return p  # too little gas left to lift any water
        depth, oxygen, nitrogen = record[END_DEPTH], record[OXYGEN_LEFT], record[NITROGEN_LEFT]
    return most_plumes
