"""March an ensemble of water columns through hours of weather and a schedule of air.

Everything a run needs is an argument and everything it leaves is in the arrays it was given, so that a run
can be stopped at any hour, copied, and carried on along another schedule.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.column_plumes import solve_plumes, transport_step
from plumeline.kernels.column_rates import demand_rates, diffusion_factors, light_rates, water_shares
from plumeline.kernels.column_step import (
    convection_step,
    diffusion_step,
    reaction_step,
    surface_step,
    wind_step,
)
from plumeline.kernels.jit import kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

MOLECULAR_HEAT_M2_S = 1.45e-7
MOLECULAR_SOLUTE_M2_S = 2.0e-9
SWEPT_ABOVE_M = 0.5  # bed from this far above the shallowest running diffuser down is swept
H2S_PER_SULPHUR = 34.08 / 32.06  # a limit in mg/L of H₂S against sulphide in mg/L of S


@kernel
def _usable(
    state: Array, ammonia_share: Array, h2s_share: Array, limits: Array, volume_m3: Array, thickness_m: float,
    member: int, lifted_index: int,
) -> float:  # fmt: skip
    """Return the largest contiguous usable volume of one member [m³], not asking for one limit."""
    best = 0.0
    body = 0.0
    thick = 0.0
    for k in range(volume_m3.shape[0]):
        usable = lifted_index == 0 or state[ix.OXYGEN, k, member] >= limits[ix.LIMIT_OXYGEN]
        usable = usable and (
            lifted_index == 1 or state[ix.TEMPERATURE, k, member] <= limits[ix.LIMIT_TEMPERATURE]
        )
        nh3 = state[ix.AMMONIA, k, member] * ammonia_share[k, member]
        usable = usable and (lifted_index == 2 or nh3 <= limits[ix.LIMIT_AMMONIA])
        h2s = state[ix.SULPHIDE, k, member] * h2s_share[k, member] * H2S_PER_SULPHUR
        usable = usable and (lifted_index == 3 or h2s <= limits[ix.LIMIT_H2S])
        if usable:
            body += volume_m3[k]
            thick += thickness_m
            if thick >= limits[ix.LIMIT_THICKNESS] - 1e-9 and body > best:
                best = body
        else:
            body = 0.0
            thick = 0.0
    return best


@kernel
def refuge_step(
    state: Array, ammonia_share: Array, h2s_share: Array, limits: Array, volume_m3: Array, thickness_m: float,
    usable_fraction: Array, cause: Ints,
) -> None:  # fmt: skip
    """Fill each member's largest contiguous usable part of the volume, and the limit that binds it.

    A layer is usable while oxygen, temperature, un-ionised ammonia and undissociated sulphide all keep their
    limits; a usable body thinner than the least thickness is none. The limit that binds is the one that,
    lifted alone, would give the most usable water.
    """
    whole = volume_m3.sum()
    for m in range(state.shape[2]):
        usable = _usable(state, ammonia_share, h2s_share, limits, volume_m3, thickness_m, m, -1) / whole
        usable_fraction[m] = usable
        if usable < limits[ix.LIMIT_VOLUME]:
            most = -1.0
            for lifted in range(4):
                without = _usable(state, ammonia_share, h2s_share, limits, volume_m3, thickness_m, m, lifted)
                if without > most:
                    most = without
                    cause[m] = lifted


@kernel
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


@kernel
def stir_mud(
    state: Array, parameters: Array, diffuser_depth_m: Array, swept_fraction: Array, bed_m2: Array,
    volume_m3: Array,
    books: Array,
) -> None:  # fmt: skip
    """Add the pulse of the bed's slow debt that the first start stirs up around each diffuser.

    The bed within one depth of a diffuser is stirred (judgement), shared over the layers that are swept.
    """
    swept_m2 = (swept_fraction * bed_m2).sum()
    if swept_m2 <= 0.0:
        return
    stirred_m2 = min(np.pi * (diffuser_depth_m * diffuser_depth_m).sum(), swept_m2)
    for k in range(volume_m3.shape[0]):
        for m in range(state.shape[2]):
            amount = parameters[ix.STIRRED_MUD, m] * swept_fraction[k] * bed_m2[k] * stirred_m2 / swept_m2
            state[ix.DEBT_C, k, m] += amount / volume_m3[k]
            books[ix.DEBT_C_BED, m] += amount


@kernel
def _note_hour(
    state: Array, records: Array, hour: int, near_surface_layer: int, bottom: int, least_refuge_fraction: Array,
    least_do_mg_l: Array, flow_m3_s: Array,
) -> None:  # fmt: skip
    """Write the records of one hour."""
    for m in range(state.shape[2]):
        records[ix.REFUGE, hour, m] = least_refuge_fraction[m]
        records[ix.NEAR_SURFACE_O2, hour, m] = state[ix.OXYGEN, near_surface_layer, m]
        records[ix.BOTTOM_O2, hour, m] = state[ix.OXYGEN, bottom, m]
        records[ix.DIFFERENCE, hour, m] = state[ix.TEMPERATURE, 0, m] - state[ix.TEMPERATURE, bottom, m]
        records[ix.LEAST_O2, hour, m] = least_do_mg_l[m]
        records[ix.PLUME_FLOW, hour, m] = flow_m3_s[m]


@kernel
def advance(
    state: Array,
    bed_degc: Array,
    parameters: Array,
    weather: Array,
    air_on: Flags,
    diffuser_depth_m: Array,
    air_mol_s: Array,
    interface_depth_m: Array,
    area_m2: Array,
    volume_m3: Array,
    centre_m: Array,
    limits: Array,
    under_steps: Ints,
    failed_step: Ints,
    cause: Ints,
    stirred: Ints,
    books: Array,
    records: Array,
    snapshots: Array,
    near_surface_layer: int,
    first_hour: int,
    last_hour: int,
) -> None:
    """Carry the state from the start of `first_hour` to the start of `last_hour`, in place.

    Args:
        state: (STATES, layers, members).
        bed_degc: temperature of the mud under each layer (layers, members) [°C].
        parameters: (PARAMETERS, members).
        weather: (WEATHER, hours, members), constant within its hour.
        air_on: which diffusers run in each step (steps, diffusers), 1 or 0.
        diffuser_depth_m: depths of the membranes (diffusers) [m].
        air_mol_s: dry air of each diffuser while it runs (diffusers) [mol/s].
        interface_depth_m: equally spaced faces, from 0 to the bottom (layers + 1) [m].
        area_m2: area at the faces (layers + 1) [m²].
        volume_m3: volume of the layers [m³].
        centre_m: depth of the layers' centres of volume [m].
        limits: limits of the refuge (LIMITS).
        under_steps: steps in a row that a member has been without refuge (members).
        failed_step: step at which a member had been without refuge for more than an hour, or -1 (members).
        cause: which limit took most of the volume at that step (members).
        stirred: 1 once the mud was stirred (1).
        books: what was gained and lost, added to (FLUXES, members).
        records: (RECORDS, hours, members), filled by the hour.
        snapshots: (2, hours, layers, members) for temperature and oxygen, or (2, 0, layers, members) for none.
        near_surface_layer: layer at 0.6 m.
        first_hour: hour at which to start.
        last_hour: hour before which to end.
    """
    layers, members = volume_m3.shape[0], state.shape[2]
    diffusers = diffuser_depth_m.shape[0]
    plumes = diffusers * ix.PLUMES_EACH
    thickness_m = interface_depth_m[1] - interface_depth_m[0]
    heating_w = np.empty((layers, members))
    growth_g_m3_s = np.empty((layers, members))
    respiration_g_m3_s = np.empty((layers, members))
    sediment_g_m3_s = np.empty((layers, members))
    reduced_g_m3_s = np.empty((layers, members))
    warm_number = np.empty((layers, members))
    ammonia_share = np.empty((layers, members))
    h2s_share = np.empty((layers, members))
    most_do_mg_l = np.empty((layers, members))
    heat_factors = np.empty((3, layers, members))
    mass_factors = np.empty((3, layers, members))
    withdrawn = np.zeros((plumes, layers, members))
    target_index = np.zeros((plumes, members), dtype=np.int64)
    bubble_oxygen_g_s = np.zeros((plumes, members))
    sinking_m3_s = np.zeros((layers + 1, members))
    boil_m2 = np.zeros(members)
    quiet_m2 = np.zeros(members)
    flow_m3_s = np.zeros(members)
    solved_for_degc = np.zeros((layers, members))
    no_flow = np.zeros(members)
    usable = np.empty(members)
    bound = np.zeros(members, dtype=np.int64)
    least_refuge_fraction = np.empty(members)
    least_do_mg_l = np.empty(members)
    start = np.empty(layers, dtype=np.int64)
    work = np.empty((3, layers))
    swept_fraction = np.zeros(layers)
    bed_m2 = np.empty(layers)
    for k in range(layers):
        bed_m2[k] = area_m2[k] - (area_m2[k + 1] if k < layers - 1 else 0.0)
    solved = np.zeros(diffusers, dtype=np.uint8)
    bottom = layers - 1
    deepest = diffuser_depth_m.max() if diffusers > 0 else interface_depth_m[layers]
    for k in range(layers):
        if interface_depth_m[k] < deepest <= interface_depth_m[k + 1]:
            bottom = k
    substeps = np.ones(members, dtype=np.int64)
    for hour in range(first_hour, last_hour):
        first_step = hour * ix.STEPS_EACH_HOUR
        any_on = air_on[first_step : first_step + ix.STEPS_EACH_HOUR].max() > 0 if diffusers > 0 else False
        now = weather[:, hour, :]
        light_rates(
            state, parameters, now[ix.SHORTWAVE], area_m2, volume_m3, thickness_m, heating_w, growth_g_m3_s
        )
        water_shares(state, parameters, now[ix.PRESSURE], ammonia_share, h2s_share, most_do_mg_l)
        diffusion_factors(
            state, parameters, area_m2, volume_m3, thickness_m, ix.STEP_S, MOLECULAR_HEAT_M2_S,
            heat_factors[0], heat_factors[1], heat_factors[2],
        )  # fmt: skip
        diffusion_factors(
            state, parameters, area_m2, volume_m3, thickness_m, ix.STEP_S, MOLECULAR_SOLUTE_M2_S,
            mass_factors[0], mass_factors[1], mass_factors[2],
        )  # fmt: skip
        # a plume stands for an hour; then each member's is solved again if its stratification has moved
        fresh = True
        rates_running = False
        swept_fraction[:] = 0.0
        demand_rates(
            state, parameters, swept_fraction, area_m2, volume_m3, False, respiration_g_m3_s,
            sediment_g_m3_s, reduced_g_m3_s, warm_number,
        )  # fmt: skip
        least_refuge_fraction[:] = 1.0
        least_do_mg_l[:] = 1e9
        for step in range(first_step, first_step + ix.STEPS_EACH_HOUR):
            running = any_on and air_on[step].max() > 0
            if running:
                same = True
                for d in range(diffusers):
                    if air_on[step, d] != solved[d]:
                        same = False
                if not same:
                    solved_for_degc[:] = -1e9
                if fresh or not same:
                    fresh = False
                    solved[:] = air_on[step]
                    solve_plumes(
                        state, parameters, solved, diffuser_depth_m, air_mol_s, interface_depth_m, volume_m3,
                        now[ix.PRESSURE], withdrawn, target_index, bubble_oxygen_g_s, sinking_m3_s, boil_m2,
                        flow_m3_s, area_m2[0],
                        solved_for_degc, substeps,
                    )  # fmt: skip
                    fill_swept(swept_fraction, solved, diffuser_depth_m, interface_depth_m, bed_m2)
                    if stirred[0] == 0:
                        stirred[0] = 1
                        stir_mud(
                            state, parameters, diffuser_depth_m, swept_fraction, bed_m2, volume_m3, books
                        )
                if not rates_running or not same:
                    demand_rates(
                        state,
                        parameters,
                        swept_fraction,
                        area_m2,
                        volume_m3,
                        True,
                        respiration_g_m3_s,
                        sediment_g_m3_s,
                        reduced_g_m3_s,
                        warm_number,
                    )
                    rates_running = True
                transport_step(
                    state,
                    withdrawn,
                    target_index,
                    bubble_oxygen_g_s,
                    sinking_m3_s,
                    volume_m3,
                    substeps,
                    ix.STEP_S,
                    books,
                )
            elif rates_running:
                demand_rates(
                    state,
                    parameters,
                    swept_fraction,
                    area_m2,
                    volume_m3,
                    False,
                    respiration_g_m3_s,
                    sediment_g_m3_s,
                    reduced_g_m3_s,
                    warm_number,
                )
                rates_running = False
            surface_step(
                state,
                parameters,
                now,
                area_m2[0],
                volume_m3[0],
                boil_m2 if running else quiet_m2,
                ix.STEP_S,
                books,
            )
            reaction_step(
                state, parameters, heating_w, growth_g_m3_s, respiration_g_m3_s, sediment_g_m3_s,
                reduced_g_m3_s, warm_number, most_do_mg_l, bed_degc,
                bed_m2, volume_m3, running, ix.STEP_S, books,
            )  # fmt: skip
            diffusion_step(state, heat_factors[0], heat_factors[1], heat_factors[2], 0, 1)
            diffusion_step(state, mass_factors[0], mass_factors[1], mass_factors[2], 1, ix.STATES)
            convection_step(state, volume_m3, start, work[0], work[1], work[2])
            wind_step(state, parameters, now, area_m2[0], volume_m3, centre_m, ix.STEP_S)
            refuge_step(state, ammonia_share, h2s_share, limits, volume_m3, thickness_m, usable, bound)
            for m in range(members):
                least_refuge_fraction[m] = min(least_refuge_fraction[m], usable[m])
                least_do_mg_l[m] = min(least_do_mg_l[m], state[ix.OXYGEN, near_surface_layer, m])
                if usable[m] < limits[ix.LIMIT_VOLUME]:
                    under_steps[m] += 1
                    if under_steps[m] > ix.STEPS_EACH_HOUR and failed_step[m] < 0:
                        failed_step[m] = step
                        cause[m] = bound[m]
                else:
                    under_steps[m] = 0
        _note_hour(
            state,
            records,
            hour,
            near_surface_layer,
            bottom,
            least_refuge_fraction,
            least_do_mg_l,
            flow_m3_s if any_on else no_flow,
        )
        if snapshots.shape[1] > 0:
            snapshots[0, hour] = state[ix.TEMPERATURE]
            snapshots[1, hour] = state[ix.OXYGEN]
