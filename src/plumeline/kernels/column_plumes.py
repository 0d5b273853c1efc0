"""The plumes of all diffusers in every member's water: what they draw, and where they bring it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.column_block import Air, Basin, Plumes
from plumeline.kernels.jit import fast_kernel
from plumeline.kernels.plume_lanes import (
    ACTIVE,
    DEPTH,
    START_DEPTH,
    Rising,
    begin_all,
    end_plume,
    fill_ambient,
    go_on,
    rise_together,
    settle_step,
)

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

SWEPT_ABOVE_M = 0.5  # bed from this far above the shallowest running diffuser down is swept


@fast_kernel
def _moved(state: Array, solved_for_degc: Array, member: int) -> bool:
    """Tell whether a member's stratification has moved since its plumes were solved, and remember it anew."""
    layers = state.shape[1]
    mean = 0.0
    for k in range(layers):
        mean += state[ix.TEMPERATURE, k, member]
    mean /= layers
    most = 0.0
    for k in range(layers):
        most = max(most, abs(state[ix.TEMPERATURE, k, member] - mean - solved_for_degc[k, member]))
    if most < ix.MOVED_K:
        return False
    for k in range(layers):
        solved_for_degc[k, member] = state[ix.TEMPERATURE, k, member] - mean
    return True


@fast_kernel
def _add_plume(
    plumes: Plumes, member: int, drawn_m3_s: Array, lands_index: int, gained_g_s: float, times_number: float
) -> None:
    """Add `times_number` times a plume to the row that goes to the same layer, or to a new row."""
    layers = drawn_m3_s.shape[0]
    row = 0
    while row < plumes.row_count[member] and plumes.target_index[row, member] != lands_index:
        row += 1
    if row == plumes.row_count[member]:
        plumes.row_count[member] += 1
        plumes.target_index[row, member] = lands_index
    for k in range(layers):
        flow = times_number * drawn_m3_s[k]
        plumes.withdrawn_m3_s[row, k, member] += flow
        plumes.drawn_m3_s[k, member] += flow
        plumes.flow_m3_s[member] += flow
    plumes.bubble_oxygen_g_s[row, member] += times_number * gained_g_s


@fast_kernel
def _forget(plumes: Plumes, member: int) -> None:
    """Empty what one member's plumes move."""
    for row in range(plumes.row_count[member]):
        plumes.bubble_oxygen_g_s[row, member] = 0.0
        for k in range(plumes.drawn_m3_s.shape[0]):
            plumes.withdrawn_m3_s[row, k, member] = 0.0
    for k in range(plumes.drawn_m3_s.shape[0]):
        plumes.drawn_m3_s[k, member] = 0.0
    plumes.row_count[member] = 0
    plumes.boil_m2[member] = 0.0
    plumes.flow_m3_s[member] = 0.0


@fast_kernel
def _solve_diffuser(
    rising: Rising, parameters: Array, air: Air, basin: Basin, pressure_pa: Array, plumes: Plumes, wanted_count: Ints,
    index: int, count: int,
) -> None:  # fmt: skip
    """Let the plumes over one diffuser rise in all members that are wanted, and add `count` what they move."""
    faces = basin.interface_depth_m
    mol_s = air.air_mol_s[index]
    begin_all(rising, faces, parameters, pressure_pa, wanted_count, air.depth_m[index], mol_s)
    while rise_together(rising, parameters, faces[1] - faces[0]) > 0:
        for j in range(ix.LANES):
            if rising.counters[ACTIVE, j] == 0:
                continue
            outcome = settle_step(rising, faces, j)
            if outcome == 0:
                continue
            lands = -1
            # a plume that ends where it began has lifted nothing
            if outcome == 2 or rising.place[DEPTH, j] < rising.place[START_DEPTH, j]:
                lands, gained = end_plume(rising, faces, parameters[ix.REENTRAINMENT, j], j, outcome == 2)
                _add_plume(plumes, j, rising.one_drawn_m3_s, lands, gained, float(count))
            if outcome == 2:
                rising.counters[ACTIVE, j] = 0
            else:
                go_on(rising, faces, parameters, j, mol_s)
            if rising.counters[ACTIVE, j] == 0 and lands == 0:
                _add_boil(plumes, parameters, basin, j, air.depth_m[index], count)


@fast_kernel
def _add_boil(
    plumes: Plumes, parameters: Array, basin: Basin, member: int, diffuser_depth_m: float, count: int
) -> None:
    """Add the boils of `count` diffusers whose last plume brings its water to the surface layer."""
    radius = parameters[ix.BOIL_RADIUS, member] * diffuser_depth_m
    boils = plumes.boil_m2[member] + count * np.pi * radius * radius
    plumes.boil_m2[member] = min(boils, basin.area_m2[0])


@fast_kernel
def solve_plumes(
    state: Array, parameters: Array, running: Flags, air: Air, basin: Basin, pressure_pa: Array, plumes: Plumes,
    rising: Rising,
) -> int:  # fmt: skip
    """Solve every running diffuser in the members whose stratification moved; return how many were solved.

    Diffusers of the same depth and air are solved once.
    """
    members = 0
    for m in range(ix.LANES):
        plumes.wanted_count[m] = 1 if _moved(state, plumes.solved_for_degc, m) else 0
        members += plumes.wanted_count[m]
        if plumes.wanted_count[m] > 0:
            _forget(plumes, m)
    if members == 0:
        return 0
    fill_ambient(state, pressure_pa, rising.ambient)
    kinds = 0
    for d in range(running.shape[0]):
        times = _alike(running, air, d)
        if times > 0:
            kinds += 1
            _solve_diffuser(
                rising, parameters, air, basin, pressure_pa, plumes, plumes.wanted_count, d, times
            )
    for m in range(ix.LANES):
        if plumes.wanted_count[m] > 0:
            plumes.solve_count[m] += kinds
            _close_column(plumes, basin.volume_m3, m)
    return members * kinds


@fast_kernel
def _alike(running: Flags, air: Air, index: int) -> int:
    """Return how many running diffusers are like this one, this one the first of them; 0 if it is not."""
    if running[index] == 0:
        return 0
    count = 0
    for other in range(running.shape[0]):
        same = air.depth_m[other] == air.depth_m[index] and air.air_mol_s[other] == air.air_mol_s[index]
        if running[other] > 0 and same:
            if other < index:
                return 0
            count += 1
    return count


@fast_kernel
def _close_column(plumes: Plumes, volume_m3: Array, member: int) -> None:
    """Fill the flow between layers that closes every layer's volume, and how fast it renews the fastest layer."""
    layers = volume_m3.shape[0]
    worst = 0.0
    plumes.sinking_m3_s[0, member] = 0.0
    for k in range(layers):
        gain = -plumes.drawn_m3_s[k, member]
        for row in range(plumes.row_count[member]):
            if plumes.target_index[row, member] == k:
                for other in range(layers):
                    gain += plumes.withdrawn_m3_s[row, other, member]
        above = plumes.sinking_m3_s[k, member]
        plumes.sinking_m3_s[k + 1, member] = above + gain
        leaving = max(above + gain, 0.0) + max(-above, 0.0) + plumes.drawn_m3_s[k, member]
        worst = max(worst, leaving / volume_m3[k])
    plumes.sinking_m3_s[layers, member] = 0.0
    plumes.renewal_1_s[member] = worst


@fast_kernel
def fill_swept(
    swept_fraction: Array, running: Flags, diffuser_depth_m: Array, interface_depth_m: Array, bed_m2: Array
) -> None:
    """Fill the part of each layer's bed that the running plumes sweep.

    A plume's inflow fades with the distance, so it sweeps the bed within three times its depth (judgement);
    that area is shared over the layers from half a metre above the shallowest running diffuser down.
    """
    foot_m2 = 0.0
    shallowest = 1e9
    for d in range(running.shape[0]):
        if running[d] > 0:
            foot_m2 += np.pi * (3.0 * diffuser_depth_m[d]) ** 2
            shallowest = min(shallowest, diffuser_depth_m[d])
    below_m2 = 0.0
    for k in range(bed_m2.shape[0]):
        middle = 0.5 * (interface_depth_m[k] + interface_depth_m[k + 1])
        swept_fraction[k] = 1.0 if middle >= shallowest - SWEPT_ABOVE_M else 0.0
        below_m2 += swept_fraction[k] * bed_m2[k]
    if below_m2 > 0.0:
        for k in range(bed_m2.shape[0]):
            swept_fraction[k] *= min(1.0, foot_m2 / below_m2)


@fast_kernel
def stir_mud(
    state: Array, parameters: Array, diffuser_depth_m: Array, swept_fraction: Array, bed_m2: Array,
    volume_m3: Array, books: Array,
) -> None:  # fmt: skip
    """Add the pulse of the bed's slow debt that the first start stirs up around each diffuser.

    The bed within one depth of a diffuser is stirred (judgement), shared over the layers that are swept.
    """
    swept_m2 = 0.0
    for k in range(bed_m2.shape[0]):
        swept_m2 += swept_fraction[k] * bed_m2[k]
    if swept_m2 <= 0.0:
        return
    foot_m2 = 0.0
    for d in range(diffuser_depth_m.shape[0]):
        foot_m2 += np.pi * diffuser_depth_m[d] * diffuser_depth_m[d]
    stirred_m2 = min(foot_m2, swept_m2)
    for k in range(volume_m3.shape[0]):
        for m in range(state.shape[2]):
            amount = parameters[ix.STIRRED_MUD, m] * swept_fraction[k] * bed_m2[k] * stirred_m2 / swept_m2
            state[ix.DEBT_C, k, m] += amount / volume_m3[k]
            books[ix.DEBT_C_BED, m] += amount
