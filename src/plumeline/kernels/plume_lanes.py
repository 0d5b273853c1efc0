"""The plumes over one diffuser in all members of a block, marched side by side.

Each member's plume stands in a layer of its own and takes steps of its own; one pass of the vector kernels takes one
step of every plume, and what differs between members (a layer passed, a stall, a plume that starts anew) is settled
one by one between passes. The equations are those of `rise`, from the same body.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import fast_kernel, kernel, merged_kernel, vector_kernel
from plumeline.kernels.lane_relations import (
    density_chen_millero_1986,
    solubility_nitrogen_hamme_emerson_2004,
    solubility_oxygen_benson_krause_1984,
    vapour_pressure_benson_krause_1980,
)
from plumeline.kernels.plume import NO_BUBBLES_SHARE, fall, fill_setting
from plumeline.kernels.relations import bubble_rate_wuest_1992
from plumeline.kernels.rise import (
    AMBIENT_COLUMNS,
    BUBBLE_RATE,
    GAS_CONSTANT,
    PRESSURE_PER_METRE_PA,
    SETTING_COUNT,
    STALL_VELOCITY_M_S,
    STEP_SHARE,
    slopes_of,
    start,
)
from plumeline.kernels.solubility import (
    OXYGEN_IN_AIR_FRACTION,
    OXYGEN_MOLAR_MASS_G_MOL,
    PER_PASCAL,
    PROGRAM_LAW,
)

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FLUXES = 8
# rows of the water around: as `rise` has them, without slopes
TEMPERATURE, SALINITY, OXYGEN, NITROGEN, DENSITY = range(5)
PROPERTIES = 5
# rows of where each plume stands and what its step is
DEPTH, TOP, STEP, WHOLE_STEP, PRESSURE, BUBBLES, START_DEPTH, START_OXYGEN = range(8)
PLACES = 8
# rows of whole numbers
LAYER, NUMBER, ACTIVE, RETRIES = range(4)
COUNTERS = 4
STOP2_M2_S2 = STALL_VELOCITY_M_S * STALL_VELOCITY_M_S
MOST_RETRIES = 40


class Rising(NamedTuple):
    """Room for the plumes that rise side by side; all but the last three by lanes.

    Attributes:
        fluxes: of each plume now (FLUXES, LANES).
        ahead: of each after its step.
        middle: of each at half its step.
        slope: their derivatives with height.
        around: the water around each (PROPERTIES, LANES).
        ambient: the water of all layers (PROPERTIES, layers, LANES).
        solubility: Henry coefficients and vapour pressure (3, LANES).
        place: depth, top of the layer, step and so on (PLACES, LANES).
        counters: layer, number of the plume, whether it rises, retries of its step (COUNTERS, LANES).
        drawn_m3_s: what the plume has drawn from each layer (layers, LANES) [m³/s].
        column: the layers of one member as `plume` has them (layers, AMBIENT_COLUMNS).
        setting: what is constant along the rise of one member (SETTING_COUNT).
        one_drawn_m3_s: what one plume drew (layers) [m³/s].
    """

    fluxes: Array
    ahead: Array
    middle: Array
    slope: Array
    around: Array
    ambient: Array
    solubility: Array
    place: Array
    counters: Ints
    drawn_m3_s: Array
    column: Array
    setting: Array
    one_drawn_m3_s: Array


@kernel
def make_rising(layers: int) -> Rising:
    """Return the room."""
    return Rising(
        np.ones((FLUXES, ix.LANES)),
        np.ones((FLUXES, ix.LANES)),
        np.ones((FLUXES, ix.LANES)),
        np.zeros((FLUXES, ix.LANES)),
        np.ones((PROPERTIES, ix.LANES)),
        np.zeros((PROPERTIES, layers, ix.LANES)),
        np.zeros((3, ix.LANES)),
        np.ones((PLACES, ix.LANES)),
        np.zeros((COUNTERS, ix.LANES), dtype=np.int64),
        np.zeros((layers, ix.LANES)),
        np.zeros((layers, AMBIENT_COLUMNS)),
        np.zeros(SETTING_COUNT),
        np.zeros(layers),
    )


@vector_kernel
def fill_ambient(state: Array, pressure_pa: Array, ambient: Array) -> None:
    """Fill the water of all layers: gases in mol/m³, nitrogen in equilibrium with the air above the pond."""
    for k in range(ambient.shape[1]):
        for j in range(ix.LANES):
            t = state[ix.TEMPERATURE, k, j]
            s = state[ix.SALT, k, j]
            ambient[TEMPERATURE, k, j] = t
            ambient[SALINITY, k, j] = s
            ambient[OXYGEN, k, j] = state[ix.OXYGEN, k, j] / OXYGEN_MOLAR_MASS_G_MOL
            dry = pressure_pa[j] - vapour_pressure_benson_krause_1980(t)
            henry = PER_PASCAL * solubility_nitrogen_hamme_emerson_2004(t, s)
            ambient[NITROGEN, k, j] = (1.0 - OXYGEN_IN_AIR_FRACTION) * henry * dry
            ambient[DENSITY, k, j] = density_chen_millero_1986(t, s)


@vector_kernel
def fill_solubility(fluxes: Array, solubility: Array) -> None:
    """Fill the Henry coefficients and the vapour pressure at each plume's own temperature."""
    for j in range(ix.LANES):
        t = fluxes[2, j] / fluxes[0, j]
        s = fluxes[3, j] / fluxes[0, j]
        solubility[0, j] = PER_PASCAL * solubility_oxygen_benson_krause_1984(t, s)
        solubility[1, j] = PER_PASCAL * solubility_nitrogen_hamme_emerson_2004(t, s)
        solubility[2, j] = vapour_pressure_benson_krause_1980(t)


@vector_kernel
def fill_slopes(
    fluxes: Array,
    around: Array,
    solubility: Array,
    place: Array,
    parameters: Array,
    step_number: float,
    slope: Array,
) -> None:
    """Fill the derivatives with height, `step_number` of its step above where each plume stands."""
    for j in range(ix.LANES):
        depth = place[DEPTH, j] - step_number * place[STEP, j]
        found = slopes_of(
            (
                fluxes[0, j], fluxes[1, j], fluxes[2, j], fluxes[3, j], fluxes[4, j], fluxes[5, j],
                fluxes[6, j], fluxes[7, j],
            ),
            (around[0, j], around[1, j], around[2, j], around[3, j], around[4, j]),
            place[PRESSURE, j] + PRESSURE_PER_METRE_PA * depth,
            (
                parameters[ix.ALPHA, j], parameters[ix.LAMBDA, j], place[BUBBLES, j],
                parameters[ix.TRANSFER, j], 1.0, 1.0,
            ),
            (solubility[0, j], solubility[1, j], solubility[2, j]),
        )  # fmt: skip
        slope[0, j] = found[0]
        slope[1, j] = found[1]
        slope[2, j] = found[2]
        slope[3, j] = found[3]
        slope[4, j] = found[4]
        slope[5, j] = found[5]
        slope[6, j] = found[6]
        slope[7, j] = found[7]


@vector_kernel
def choose_step(fluxes: Array, slope: Array, place: Array, counters: Ints, thickness_m: float) -> None:
    """Choose each step, as `rise.cross` does; one that is being tried again has been chosen already."""
    for j in range(ix.LANES):
        left = place[DEPTH, j] - place[TOP, j]
        h = min(thickness_m, STEP_SHARE * fluxes[0, j] / max(slope[0, j], 1e-30))
        h = min(h, STEP_SHARE * fluxes[1, j] / max(abs(slope[1, j]), 1e-30))
        h = left / max(np.ceil(left / h - 1e-9), 1.0)
        place[STEP, j] = place[STEP, j] if counters[RETRIES, j] > 0 else h


@vector_kernel
def go_along(fluxes: Array, slope: Array, place: Array, step_number: float, out: Array) -> None:
    """Fill the fluxes `step_number` of the step higher."""
    for i in range(FLUXES):
        for j in range(ix.LANES):
            out[i, j] = fluxes[i, j] + step_number * place[STEP, j] * slope[i, j]


@fast_kernel
def begin_plume(
    rising: Rising, interface_depth_m: Array, parameters: Array, lane: int, depth_m: float, oxygen_mol_s: float,
    nitrogen_mol_s: float,
) -> None:  # fmt: skip
    """Start a plume of one member at a depth, with the water that lies there."""
    k = interface_depth_m.shape[0] - 2
    while k > 0 and interface_depth_m[k] >= depth_m:
        k -= 1
    place, counters = rising.place, rising.counters
    fill_setting(
        parameters[ix.ALPHA, lane], parameters[ix.FROUDE, lane], parameters[ix.LAMBDA, lane],
        parameters[ix.SOURCE_RADIUS, lane], parameters[ix.TRANSFER, lane], place[PRESSURE, lane], PROGRAM_LAW,
        rising.setting,
    )  # fmt: skip
    rising.setting[BUBBLE_RATE] = place[BUBBLES, lane]
    for i in range(PROPERTIES):
        rising.column[k, 2 * i] = rising.ambient[i, k, lane]
    top = interface_depth_m[k]
    y = start(depth_m, oxygen_mol_s, nitrogen_mol_s, top, rising.column[k], rising.setting)
    for i, value in enumerate(y):
        rising.fluxes[i, lane] = value
    place[DEPTH, lane] = place[START_DEPTH, lane] = depth_m
    place[START_OXYGEN, lane] = oxygen_mol_s
    counters[RETRIES, lane] = 0
    counters[ACTIVE, lane] = 1
    for other in range(rising.drawn_m3_s.shape[0]):
        rising.drawn_m3_s[other, lane] = 0.0
    rising.drawn_m3_s[k, lane] = y[0]
    enter_layer(rising, interface_depth_m, lane, k)


@merged_kernel
def enter_layer(rising: Rising, interface_depth_m: Array, lane: int, layer: int) -> None:
    """Let a plume stand in a layer."""
    rising.counters[LAYER, lane] = layer
    rising.place[TOP, lane] = interface_depth_m[layer]
    for i in range(PROPERTIES):
        rising.around[i, lane] = rising.ambient[i, layer, lane]


@merged_kernel
def settle_step(rising: Rising, interface_depth_m: Array, lane: int) -> int:
    """Take or refuse one member's step; return 0 while its plume rises, 1 where it stalls, 2 at the surface."""
    fluxes, ahead, place, counters = rising.fluxes, rising.ahead, rising.place, rising.counters
    velocity = fluxes[1, lane] / fluxes[0, lane]
    w2 = velocity * velocity
    if w2 <= 1.1 * STOP2_M2_S2:
        return 1
    velocity = ahead[1, lane] / ahead[0, lane]
    ahead2 = velocity * velocity
    good = ahead[1, lane] > 0.0 and ahead2 >= 0.9 * STOP2_M2_S2
    if not good and counters[RETRIES, lane] < MOST_RETRIES:
        # w² falls nearly straight with height here, so a secant on it finds the stall
        share = (w2 - STOP2_M2_S2) / (w2 - ahead2) if ahead[1, lane] > 0.0 else 0.5
        place[STEP, lane] *= min(max(share, 0.05), 0.95)
        counters[RETRIES, lane] += 1
        return 0
    counters[RETRIES, lane] = 0
    layer = counters[LAYER, lane]
    rising.drawn_m3_s[layer, lane] += ahead[0, lane] - fluxes[0, lane]
    for i in range(FLUXES):
        fluxes[i, lane] = ahead[i, lane]
    left = place[DEPTH, lane] - place[TOP, lane]
    if place[STEP, lane] < left:
        place[DEPTH, lane] -= place[STEP, lane]
    else:
        place[DEPTH, lane] = place[TOP, lane]
        if layer == 0:
            return 2
        enter_layer(rising, interface_depth_m, lane, layer - 1)
    velocity = fluxes[1, lane] / fluxes[0, lane]
    return 1 if velocity * velocity <= 1.1 * STOP2_M2_S2 else 0


@fast_kernel
def end_plume(
    rising: Rising, interface_depth_m: Array, reentrain_fraction: float, lane: int, surfaced: bool
) -> tuple[int, float]:
    """Return where the water of a plume that has ended comes to rest, and the oxygen that it took up [g/s].

    What it drew, on its fall too, stands in `one_drawn_m3_s`.
    """
    layers = rising.drawn_m3_s.shape[0]
    for k in range(layers):
        rising.one_drawn_m3_s[k] = rising.drawn_m3_s[k, lane]
    fluxes = rising.fluxes
    gained = (rising.place[START_OXYGEN, lane] - fluxes[6, lane]) * OXYGEN_MOLAR_MASS_G_MOL
    if surfaced:
        return 0, gained
    for k in range(layers):
        for i in range(PROPERTIES):
            rising.column[k, 2 * i] = rising.ambient[i, k, lane]
    flow = fluxes[0, lane]
    _, lands = fall(
        rising.place[DEPTH, lane], flow, fluxes[2, lane] / flow, fluxes[3, lane] / flow, reentrain_fraction,
        interface_depth_m, rising.column, rising.one_drawn_m3_s,
    )  # fmt: skip
    return lands, gained


@fast_kernel
def begin_all(
    rising: Rising, interface_depth_m: Array, parameters: Array, pressure_pa: Array, wanted_count: Ints,
    diffuser_depth_m: float, air_mol_s: float,
) -> None:  # fmt: skip
    """Start the first plume over a diffuser in each member that is wanted."""
    depth = min(diffuser_depth_m, interface_depth_m[interface_depth_m.shape[0] - 1])
    for j in range(ix.LANES):
        rising.counters[ACTIVE, j] = 0
        rising.counters[NUMBER, j] = 0
        if wanted_count[j] == 0 or depth <= 0.0 or air_mol_s <= 0.0:
            continue
        k = interface_depth_m.shape[0] - 2
        while k > 0 and interface_depth_m[k] >= depth:
            k -= 1
        kelvin = rising.ambient[TEMPERATURE, k, j] + 273.15
        gas_m3_s = air_mol_s * GAS_CONSTANT * kelvin / (pressure_pa[j] + PRESSURE_PER_METRE_PA * depth)
        rising.place[PRESSURE, j] = pressure_pa[j]
        rising.place[BUBBLES, j] = bubble_rate_wuest_1992(gas_m3_s, parameters[ix.BUBBLE_RADIUS, j])
        oxygen = OXYGEN_IN_AIR_FRACTION * air_mol_s
        begin_plume(rising, interface_depth_m, parameters, j, depth, oxygen, air_mol_s - oxygen)


@fast_kernel
def go_on(rising: Rising, interface_depth_m: Array, parameters: Array, lane: int, air_mol_s: float) -> None:
    """Start the next plume of a member where the last one stalled, if its bubbles still lift water."""
    counters, place, fluxes = rising.counters, rising.place, rising.fluxes
    counters[NUMBER, lane] += 1
    counters[ACTIVE, lane] = 0
    gas = fluxes[6, lane] + fluxes[7, lane]
    lifts = place[DEPTH, lane] < place[START_DEPTH, lane] and place[DEPTH, lane] > 0.0
    if lifts and counters[NUMBER, lane] < ix.PLUMES_EACH and gas > NO_BUBBLES_SHARE * air_mol_s:
        begin_plume(
            rising, interface_depth_m, parameters, lane, place[DEPTH, lane], fluxes[6, lane], fluxes[7, lane]
        )


@merged_kernel
def rise_together(rising: Rising, parameters: Array, thickness_m: float) -> int:
    """Take one step of every plume into `ahead`; return how many rise."""
    fill_solubility(rising.fluxes, rising.solubility)
    fill_slopes(rising.fluxes, rising.around, rising.solubility, rising.place, parameters, 0.0, rising.slope)
    choose_step(rising.fluxes, rising.slope, rising.place, rising.counters, thickness_m)
    go_along(rising.fluxes, rising.slope, rising.place, 0.5, rising.middle)
    fill_slopes(rising.middle, rising.around, rising.solubility, rising.place, parameters, 0.5, rising.slope)
    go_along(rising.fluxes, rising.slope, rising.place, 1.0, rising.ahead)
    count = 0
    for j in range(ix.LANES):
        count += rising.counters[ACTIVE, j]
    return count
