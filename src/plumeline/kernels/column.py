"""March an ensemble of water columns through hours of weather and a schedule of air.

Everything a run needs is an argument and everything it leaves is in the arrays it was given, so that a run
can be stopped at any hour, copied, and carried on along another schedule.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.column_block import (
    CAUSE,
    FAILED,
    UNDER,
    Air,
    Basin,
    Block,
    Conditions,
    Members,
    Plumes,
    Told,
    fill_block,
    keep_block,
    make_block,
    make_plumes,
)
from plumeline.kernels.column_mixing import (
    count_unstable,
    grow_mixed_layer,
    mix_from_the_top,
    overturn,
    wind_work,
)
from plumeline.kernels.column_plumes import fill_swept, solve_plumes, stir_mud
from plumeline.kernels.column_rates import (
    demand_rates,
    diffusion_factors,
    fill_density,
    fill_diffusivity,
    light_rates,
    water_shares,
)
from plumeline.kernels.column_refuge import refuge_step, watch_refuge
from plumeline.kernels.column_step import (
    diffusion_step,
    gas_step,
    matter_step,
    oxygen_step,
    surface_step,
    warming_step,
    wind_transfer,
)
from plumeline.kernels.column_transport import transport_step
from plumeline.kernels.jit import fast_kernel, merged_kernel
from plumeline.kernels.plume_lanes import Rising, make_rising

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

MOLECULAR_HEAT_M2_S = 1.45e-7
MOLECULAR_SOLUTE_M2_S = 2.0e-9


@merged_kernel
def fill_hour(
    block: Block, plumes: Plumes, basin: Basin, conditions: Conditions, hour: int, first: int, step_s: float
) -> None:
    """Copy the weather of the hour into the block and work out all that stands for the hour."""
    last = conditions.weather.shape[2] - 1
    for i in range(ix.WEATHER):
        for j in range(ix.LANES):
            block.weather[i, j] = conditions.weather[i, hour, min(first + j, last)]
    state, parameters, rates, row, layer = block.state, block.parameters, block.rates, block.row, block.layer
    area, volume = basin.area_m2, basin.volume_m3
    thickness_m = basin.interface_depth_m[1] - basin.interface_depth_m[0]
    water_shares(state, parameters, block.weather[ix.PRESSURE], rates)
    light_rates(state, parameters, block.weather[ix.SHORTWAVE], area, thickness_m, rates, row[0], row[1])
    wind_transfer(parameters, block.weather, block.k600_m_s)
    fill_density(state, layer[0])
    fill_diffusivity(layer[0], parameters, area[0], thickness_m, layer[1])
    for factors, molecular in (
        (block.heat_factors, MOLECULAR_HEAT_M2_S), (block.mass_factors, MOLECULAR_SOLUTE_M2_S)
    ):  # fmt: skip
        diffusion_factors(layer[1], molecular, area, volume, thickness_m, step_s, factors, row[0], row[1])
    for j in range(ix.LANES):
        block.records[ix.REFUGE, j] = 1.0
        block.records[ix.LEAST_O2, j] = 1e9
        block.records[ix.PLUME_FLOW, j] = 0.0
        plumes.solve_count[j] = 0


@merged_kernel
def mix(block: Block, basin: Basin, step_s: float, start: Ints, pool: Array) -> None:
    """Let the surface layer deepen, and what is still heavy over light overturn."""
    state, row, whole, density = block.state, block.row, block.whole, block.layer[0]
    fill_density(state, density)
    wind_work(block.parameters, block.weather, basin.area_m2[0], step_s, row[0])
    deepest_layer = grow_mixed_layer(
        density, state, basin.volume_m3, basin.centre_m, row[0], row[1], row[2], row[3], row[4], whole[0],
        whole[1],
    )  # fmt: skip
    if deepest_layer > 0:
        mix_from_the_top(
            state, basin.volume_m3, deepest_layer, whole[0], row[3], row[4], row[5], row[6], row[7]
        )
    if count_unstable(density, whole[0], whole[1]) > 0:
        for j in range(ix.LANES):
            if whole[1, j] > 0:
                overturn(state, j, basin.volume_m3, start, pool[0], pool[1], pool[2])


@merged_kernel
def note_step(
    block: Block, basin: Basin, limits: Array, near_surface_layer: int, step: int, stride_steps: int
) -> None:
    """See what of the water the fish can use, and keep the least of the hour."""
    thickness_m = basin.interface_depth_m[1] - basin.interface_depth_m[0]
    state, rates, row, records, kept = block.state, block.rates, block.row, block.records, block.refuge_steps
    refuge_step(state, rates, limits, basin.volume_m3, thickness_m, row[0], row[1], row[2])
    watch_refuge(
        state, rates, limits, basin.volume_m3, thickness_m, row[2], step, stride_steps, kept[UNDER],
        kept[FAILED], kept[CAUSE],
    )  # fmt: skip
    whole = 0.0
    for k in range(basin.volume_m3.shape[0]):
        whole += basin.volume_m3[k]
    for j in range(ix.LANES):
        records[ix.REFUGE, j] = min(records[ix.REFUGE, j], row[2, j] / whole)
        records[ix.LEAST_O2, j] = min(records[ix.LEAST_O2, j], state[ix.OXYGEN, near_surface_layer, j])


@merged_kernel
def note_hour(
    block: Block, plumes: Plumes, told: Told, hour: int, first: int, near_surface_layer: int, bottom: int
) -> None:
    """Write the records of one hour."""
    state = block.state
    for j in range(min(ix.LANES, told.records.shape[2] - first)):
        m = first + j
        for i in (ix.REFUGE, ix.LEAST_O2, ix.PLUME_FLOW):
            told.records[i, hour, m] = block.records[i, j]
        told.records[ix.PLUME_SOLVES, hour, m] = plumes.solve_count[j]
        told.records[ix.NEAR_SURFACE_O2, hour, m] = state[ix.OXYGEN, near_surface_layer, j]
        told.records[ix.BOTTOM_O2, hour, m] = state[ix.OXYGEN, bottom, j]
        told.records[ix.DIFFERENCE, hour, m] = state[ix.TEMPERATURE, 0, j] - state[ix.TEMPERATURE, bottom, j]
        told.records[ix.SALT_DIFFERENCE, hour, m] = state[ix.SALT, bottom, j] - state[ix.SALT, 0, j]
        if told.snapshots.shape[1] > 0:
            for k in range(state.shape[1]):
                told.snapshots[0, hour, k, m] = state[ix.TEMPERATURE, k, j]
                told.snapshots[1, hour, k, m] = state[ix.OXYGEN, k, j]


@fast_kernel
def first_unphysical(state: Array) -> tuple[int, int]:
    """Return the layer and the lane of a state that is not finite or can't be water, or (-1, -1).

    A still skin of a hot day's air may pass 50 °C in the odd member: too hot for any fish, and no fault.
    """
    for k in range(state.shape[1]):
        for j in range(ix.LANES):
            total = 0.0
            for s in range(state.shape[0]):
                total += abs(state[s, k, j])
            t = state[ix.TEMPERATURE, k, j]
            o = state[ix.OXYGEN, k, j]
            # written so that a NaN fails it
            if not (total < 1e9 and t >= -2.0 and t <= 60.0 and o >= -0.01 and o <= 60.0):
                return k, j
    return -1, -1


@fast_kernel
def forget_plumes(plumes: Plumes) -> None:
    """Let all plumes be solved when next they run: no water is like that for which they would stand."""
    for k in range(plumes.solved_for_degc.shape[0]):
        for j in range(ix.LANES):
            plumes.solved_for_degc[k, j] = -1e9


@fast_kernel
def any_runs(on: Flags, first_step: int, end_step: int) -> bool:
    """Tell whether any diffuser runs in the steps from the first to before the last."""
    for step in range(first_step, end_step):
        for d in range(on.shape[1]):
            if on[step, d] > 0:
                return True
    return False


@fast_kernel
def all_alike(on: Flags, first_step: int, end_step: int) -> bool:
    """Tell whether the same diffusers run in all steps from the first to before the last."""
    for step in range(first_step + 1, end_step):
        for d in range(on.shape[1]):
            if on[step, d] != on[first_step, d]:
                return False
    return True


@fast_kernel
def layer_of_deepest(diffuser_depth_m: Array, interface_depth_m: Array) -> int:
    """Return the layer of the deepest_m diffuser, the last one where there is none."""
    bottom = int(interface_depth_m.shape[0]) - 2
    deepest_m = 0.0
    for d in range(diffuser_depth_m.shape[0]):
        deepest_m = max(deepest_m, diffuser_depth_m[d])
    for k in range(interface_depth_m.shape[0] - 1):
        if interface_depth_m[k] < deepest_m <= interface_depth_m[k + 1]:
            bottom = k
    return bottom


@merged_kernel
def ready_plumes(
    block: Block,
    plumes: Plumes,
    rising: Rising,
    basin: Basin,
    air: Air,
    step: int,
    solved: Flags,
    fresh: bool,
) -> bool:
    """Solve the plumes of the step where they must be; return whether others ran in the step before.

    A plume stands for an hour; then, and when other diffusers run, each member's is solved again if its
    stratification has moved.
    """
    same = True
    for d in range(solved.shape[0]):
        if air.on[step, d] != solved[d]:
            same = False
    if not same:
        forget_plumes(plumes)
    if fresh or not same:
        for d in range(solved.shape[0]):
            solved[d] = air.on[step, d]
        solve_plumes(
            block.state, block.parameters, solved, air, basin, block.weather[ix.PRESSURE], plumes, rising
        )
    return not same


@merged_kernel
def one_step(
    block: Block, plumes: Plumes, basin: Basin, bed_m2: Array, running: bool, step_s: float, start: Ints,
    pool: Array, quiet_m2: Array,
) -> None:  # fmt: skip
    """Take one step of a block: transport, surface, reactions, diffusion, mixing."""
    state, parameters, rates, books, row = block.state, block.parameters, block.rates, block.books, block.row
    volume = basin.volume_m3
    if running:
        transport_step(
            state,
            plumes,
            volume,
            step_s,
            books,
            row[0],
            row[1],
            block.layer[0],
            block.face[0],
            block.face[1],
            block.whole[0],
        )
    boil_m2 = plumes.boil_m2 if running else quiet_m2
    surface_step(state, parameters, block.weather, basin.area_m2[0], volume[0], step_s, books, row[0])
    gas_step(
        state, parameters, block.weather, rates, block.k600_m_s, row[0], basin.area_m2[0], volume[0], boil_m2,
        step_s, books,
    )  # fmt: skip
    warming_step(state, block.bed_degc, rates, bed_m2, volume, step_s, books)
    oxygen_step(state, parameters, rates, volume, step_s, books, block.fluxes)
    matter_step(state, parameters, rates, volume, 1.0 if running else 0.0, step_s, books, block.fluxes)
    diffusion_step(state, block.heat_factors, 0, 1, row[0])
    diffusion_step(state, block.mass_factors, 1, ix.STATES, row[0])
    mix(block, basin, step_s, start, pool)


@merged_kernel
def run_hour(
    block: Block, plumes: Plumes, rising: Rising, basin: Basin, conditions: Conditions, air: Air, hour: int, first: int,
    steady_stride_steps: int, stirred_count: int, near_surface_layer: int, bed_m2: Array, swept_fraction: Array,
    solved: Flags, start: Ints, pool: Array, quiet_m2: Array,
) -> int:  # fmt: skip
    """Take a block through one hour, and return 1 once the mud was stirred."""
    begin = hour * ix.STEPS_EACH_HOUR
    any_on = any_runs(air.on, begin, begin + ix.STEPS_EACH_HOUR)
    stride = steady_stride_steps if all_alike(air.on, begin, begin + ix.STEPS_EACH_HOUR) else 1
    fill_hour(block, plumes, basin, conditions, hour, first, stride * ix.STEP_S)
    fresh = True
    # 0 or 1: what the demands were worked out for; 2 asks for them anew
    rates_for = 2
    for step in range(begin, begin + ix.STEPS_EACH_HOUR, stride):
        running = any_on and any_runs(air.on, step, step + 1)
        if running:
            if ready_plumes(block, plumes, rising, basin, air, step, solved, fresh):
                rates_for = 2
            fresh = False
            fill_swept(swept_fraction, solved, air.depth_m, basin.interface_depth_m, bed_m2)
            if stirred_count == 0:
                stirred_count = 1
                stir_mud(
                    block.state, block.parameters, air.depth_m, swept_fraction, bed_m2, basin.volume_m3,
                    block.books,
                )  # fmt: skip
            for j in range(ix.LANES):
                block.records[ix.PLUME_FLOW, j] = plumes.flow_m3_s[j]
        else:
            for k in range(swept_fraction.shape[0]):
                swept_fraction[k] = 0.0
        if rates_for != (1 if running else 0):
            rates_for = 1 if running else 0
            demand_rates(block.state, block.parameters, swept_fraction, bed_m2, basin.volume_m3, block.rates)
        one_step(block, plumes, basin, bed_m2, running, stride * ix.STEP_S, start, pool, quiet_m2)
        note_step(block, basin, conditions.limits, near_surface_layer, step, stride)
    return stirred_count


@fast_kernel
def advance(
    members: Members, basin: Basin, conditions: Conditions, air: Air, told: Told, near_surface_layer: int,
    steady_stride_steps: int, first_hour: int, last_hour: int,
) -> tuple[int, int, int]:  # fmt: skip
    """Carry the members from the start of `first_hour` to the start of `last_hour`, in place.

    Args:
        members: what the run changes.
        basin: the layers.
        conditions: parameters, weather and limits.
        air: the diffusers and their schedule.
        told: books, records and snapshots to fill.
        near_surface_layer: layer at 0.6 m.
        steady_stride_steps: short steps (300 s) that one step takes in an hour through which the same diffusers
            run, or none: 1, 2, 3, 4, 6 or 12.
        first_hour: hour at which to start.
        last_hour: hour before which to end.

    Returns:
        Hour at the end of which a state was not finite or could not be water, with the layer and the member; -1 for
        each where all went well. The run stops there.
    """
    layers = basin.volume_m3.shape[0]
    diffusers = air.depth_m.shape[0]
    block = make_block(layers)
    plumes = make_plumes(layers, diffusers)
    rising = make_rising(layers)
    start = np.empty(layers, dtype=np.int64)
    pool = np.empty((3, layers))
    quiet_m2 = np.zeros(ix.LANES)
    swept_fraction = np.zeros(layers)
    solved = np.zeros(diffusers, dtype=np.uint8)
    bed_m2 = np.empty(layers)
    for k in range(layers):
        bed_m2[k] = basin.area_m2[k] - (basin.area_m2[k + 1] if k < layers - 1 else 0.0)
    bottom = layer_of_deepest(air.depth_m, basin.interface_depth_m)
    stirred = members.stirred_count[0]
    for first in range(0, members.state.shape[2], ix.LANES):
        fill_block(block, members, conditions.parameters, first)
        stirred = members.stirred_count[0]
        forget_plumes(plumes)
        for d in range(diffusers):
            solved[d] = 0
        for hour in range(first_hour, last_hour):
            stirred = run_hour(
                block, plumes, rising, basin, conditions, air, hour, first, steady_stride_steps, stirred,
                near_surface_layer, bed_m2, swept_fraction, solved, start, pool, quiet_m2,
            )  # fmt: skip
            note_hour(block, plumes, told, hour, first, near_surface_layer, bottom)
            layer, lane = first_unphysical(block.state)
            if layer >= 0:
                keep_block(block, members, told.books, first)
                return hour + 1, layer, min(first + lane, members.state.shape[2] - 1)
        keep_block(block, members, told.books, first)
    members.stirred_count[0] = stirred
    return -1, -1, -1
