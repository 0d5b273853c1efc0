"""Mixing: the surface layer deepens by cooling and wind, and what lies heavy over light overturns.

The mixed layer of a whole block grows together, layer by layer, while any member's goes on. Heavy water over light
that does not begin at the surface is rarer; each such member is pooled by itself.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels import relations
from plumeline.kernels.jit import fast_kernel, vector_kernel
from plumeline.kernels.lane_math import sqrt
from plumeline.kernels.lane_relations import density_chen_millero_1986

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

HEAVIER_KG_M3 = 1e-9
GRAVITY_M_S2 = 9.81

density_of_one = relations.density_chen_millero_1986


@vector_kernel
def wind_work(parameters: Array, weather: Array, area_m2: float, step_s: float, work_j: Array) -> None:
    """Fill the work of the wind on each member in one step [J].

    It is 0.23 ρ u*³ over the part of the surface that the wind reaches (Kraus-Turner form, stirring efficiency of
    Hipsey et al. 2019).
    """
    drag = sqrt(1.2 * 1.0e-3 / 998.0)
    for j in range(ix.LANES):
        friction = drag * weather[ix.WIND_SPEED, j] * parameters[ix.WIND, j]
        work_j[j] = (
            0.23 * 998.0 * friction * friction * friction * area_m2 * parameters[ix.OPEN_WIND, j] * step_s
        )


@vector_kernel
def grow_mixed_layer(
    density_kg_m3: Array, state: Array, volume_m3: Array, centre_m: Array,
    work_j: Array, warm_degc: Array, salty_g_kg: Array, part_share: Array, whole_m3: Array, last_layer: Ints,
    growing_count: Ints,
) -> int:  # fmt: skip
    """Find how deep each member's surface layer mixes, and return the deepest_layer layer that any reaches.

    It takes up the next layer where it is heavier than that layer, and where the wind's work pays for the rise of
    the water's centre of mass. The last layer that the work does not wholly pay for is mixed in part. Filled for
    each member: `last_layer` wholly mixed in, `part_share` of the way to the mean with the layer under that one,
    volume that is mixed; the other three are room to work in.
    """
    layers = volume_m3.shape[0]
    for j in range(ix.LANES):
        warm_degc[j] = state[ix.TEMPERATURE, 0, j]
        salty_g_kg[j] = state[ix.SALT, 0, j]
        part_share[j] = 0.0
        whole_m3[j] = volume_m3[0]
        last_layer[j] = 0
        growing_count[j] = 1
    # those that still grow have all mixed the same layers, so these two are alike for them
    whole = volume_m3[0]
    middle = centre_m[0]
    deepest_layer = 0
    for k in range(1, layers):
        both = whole + volume_m3[k]
        lift = GRAVITY_M_S2 * whole * volume_m3[k] / both * (centre_m[k] - middle)
        part = volume_m3[k] / both
        left = 0
        reached = 0
        for j in range(ix.LANES):
            rho = density_chen_millero_1986(warm_degc[j], salty_g_kg[j])
            lighter = density_kg_m3[k, j] - rho
            need = lift * max(lighter, 0.0)
            growing = growing_count[j] > 0
            goes_on = growing & ((lighter < -HEAVIER_KG_M3) | ((work_j[j] > 0.0) & (need <= work_j[j])))
            stops = growing & (not goes_on) & (work_j[j] > 0.0)
            part_share[j] = work_j[j] / max(need, 1e-30) if stops else part_share[j]
            work_j[j] = work_j[j] - need if goes_on else work_j[j]
            warm = warm_degc[j] + part * (state[ix.TEMPERATURE, k, j] - warm_degc[j])
            salty = salty_g_kg[j] + part * (state[ix.SALT, k, j] - salty_g_kg[j])
            warm_degc[j] = warm if goes_on else warm_degc[j]
            salty_g_kg[j] = salty if goes_on else salty_g_kg[j]
            whole_m3[j] = both if goes_on else whole_m3[j]
            last_layer[j] = k if goes_on else last_layer[j]
            growing_count[j] = 1 if goes_on else 0
            left += 1 if goes_on else 0
            reached += 1 if goes_on or stops else 0
        if reached > 0:
            deepest_layer = k
        if left == 0:
            break
        middle += part * (centre_m[k] - middle)
        whole = both
    return deepest_layer


@vector_kernel
def mix_from_the_top(
    state: Array, volume_m3: Array, deepest_layer: int, last_layer: Ints, part_share: Array, whole_m3: Array,
    total: Array, under: Array, below_m3: Array,
) -> None:  # fmt: skip
    """Mix each member's surface layers as found, conserving every state; the last three are room to work in."""
    for j in range(ix.LANES):
        below_m3[j] = 1.0
    for k in range(1, deepest_layer + 1):
        for j in range(ix.LANES):
            below_m3[j] = volume_m3[k] if k == last_layer[j] + 1 else below_m3[j]
    for s in range(state.shape[0]):
        for j in range(ix.LANES):
            total[j] = 0.0
            under[j] = 0.0
        for k in range(deepest_layer + 1):
            v = volume_m3[k]
            for j in range(ix.LANES):
                x = state[s, k, j]
                total[j] += x * v if k <= last_layer[j] else 0.0
                under[j] = x if k == last_layer[j] + 1 else under[j]
        for j in range(ix.LANES):
            # in part: each side moves the same share of the way to the mean
            share = part_share[j]
            top = total[j] / whole_m3[j]
            mean = (total[j] + under[j] * below_m3[j]) / (whole_m3[j] + below_m3[j])
            total[j] = top + share * (mean - top) if share > 0.0 else top
            under[j] += share * (mean - under[j])
        for k in range(deepest_layer + 1):
            for j in range(ix.LANES):
                x = state[s, k, j]
                share = part_share[j]
                changed = ((last_layer[j] > 0) | (share > 0.0)) & (k <= last_layer[j])
                x = total[j] if changed else x
                state[s, k, j] = under[j] if (share > 0.0) & (k == last_layer[j] + 1) else x


@vector_kernel
def count_unstable(density_kg_m3: Array, last_layer: Ints, unstable_count: Ints) -> int:
    """Count in each member the layers that lie heavy over light under its mixed layer; return the sum."""
    for j in range(ix.LANES):
        unstable_count[j] = 0
    for k in range(1, density_kg_m3.shape[0]):
        for j in range(ix.LANES):
            heavy = density_kg_m3[k - 1, j] > density_kg_m3[k, j] + HEAVIER_KG_M3
            unstable_count[j] += 1 if heavy & (k - 1 > last_layer[j]) else 0
    left = 0
    for j in range(ix.LANES):
        left += unstable_count[j]
    return left


@fast_kernel
def overturn(
    state: Array,
    member: int,
    volume_m3: Array,
    start: Ints,
    weight: Array,
    warmth_degc: Array,
    salty_g_kg: Array,
) -> None:
    """Mix layers that lie heavy over light, until the member is stable.

    Blocks are pooled from the top down; a block that has grown is compared with the one above it again. The
    four last arguments are work arrays, one entry a layer.
    """
    layers = volume_m3.shape[0]
    count = 0
    merged = False
    for k in range(layers):
        start[count] = k
        weight[count] = volume_m3[k]
        warmth_degc[count] = state[ix.TEMPERATURE, k, member]
        salty_g_kg[count] = state[ix.SALT, k, member]
        count += 1
        while count > 1:
            upper = density_of_one(warmth_degc[count - 2], salty_g_kg[count - 2])
            lower = density_of_one(warmth_degc[count - 1], salty_g_kg[count - 1])
            if upper <= lower + HEAVIER_KG_M3:
                break
            merged = True
            both = weight[count - 2] + weight[count - 1]
            share = weight[count - 1] / both
            warmth_degc[count - 2] += share * (warmth_degc[count - 1] - warmth_degc[count - 2])
            salty_g_kg[count - 2] += share * (salty_g_kg[count - 1] - salty_g_kg[count - 2])
            weight[count - 2] = both
            count -= 1
    if merged:
        for b in range(count):
            last = start[b + 1] - 1 if b < count - 1 else layers - 1
            if last > start[b]:
                mix_layers(state, member, start[b], last, volume_m3)


@fast_kernel
def mix_layers(state: Array, member: int, top: int, bottom: int, volume_m3: Array) -> None:
    """Mix the layers `top` to `bottom` (both included) of one member wholly, conserving every state."""
    whole = 0.0
    for k in range(top, bottom + 1):
        whole += volume_m3[k]
    for s in range(state.shape[0]):
        total = 0.0
        for k in range(top, bottom + 1):
            total += state[s, k, member] * volume_m3[k]
        mean = total / whole
        for k in range(top, bottom + 1):
            state[s, k, member] = mean
