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
    state: Array, ammonia_share: Array, h2s_share: Array, limits: Array, volume: Array, thickness_m: float,
    m: int, lifted: int,
) -> float:  # fmt: skip
    """Return the largest contiguous usable volume of one member [m³]; the limit `lifted` is not asked for."""
    best = 0.0
    body = 0.0
    thick = 0.0
    for k in range(volume.shape[0]):
        usable = lifted == 0 or state[ix.OXYGEN, k, m] >= limits[ix.LIMIT_OXYGEN]
        usable = usable and (lifted == 1 or state[ix.TEMPERATURE, k, m] <= limits[ix.LIMIT_TEMPERATURE])
        nh3 = state[ix.AMMONIA, k, m] * ammonia_share[k, m]
        usable = usable and (lifted == 2 or nh3 <= limits[ix.LIMIT_AMMONIA])
        h2s = state[ix.SULPHIDE, k, m] * h2s_share[k, m] * H2S_PER_SULPHUR
        usable = usable and (lifted == 3 or h2s <= limits[ix.LIMIT_H2S])
        if usable:
            body += volume[k]
            thick += thickness_m
            if thick >= limits[ix.LIMIT_THICKNESS] - 1e-9 and body > best:
                best = body
        else:
            body = 0.0
            thick = 0.0
    return best


@kernel
def refuge_step(
    state: Array, ammonia_share: Array, h2s_share: Array, limits: Array, volume: Array, thickness_m: float,
    usable_fraction: Array, cause: Ints,
) -> None:  # fmt: skip
    """Fill each member's largest contiguous usable part of the volume, and the limit that binds it.

    A layer is usable while oxygen, temperature, un-ionised ammonia and undissociated sulphide all keep their
    limits; a usable body thinner than the least thickness is none. The limit that binds is the one that,
    lifted alone, would give the most usable water.
    """
    whole = volume.sum()
    for m in range(state.shape[2]):
        usable = _usable(state, ammonia_share, h2s_share, limits, volume, thickness_m, m, -1) / whole
        usable_fraction[m] = usable
        if usable < limits[ix.LIMIT_VOLUME]:
            most = -1.0
            for lifted in range(4):
                without = _usable(
                    state, ammonia_share, h2s_share, limits, volume, thickness_m, m, lifted
                )
                if without > most:
                    most = without
                    cause[m] = lifted


@kernel
def stir_mud(
    state: Array, parameters: Array, diffuser_depth_m: Array, swept: Array, bed_area: Array, volume: Array,
    books: Array,
) -> None:  # fmt: skip
    """Add the pulse of the bed's slow debt that the first start stirs up around each diffuser.

    The bed within one depth of a diffuser is stirred (judgement), shared over the layers that are swept.
    """
    swept_m2 = (swept * bed_area).sum()
    if swept_m2 <= 0.0:
        return
    stirred_m2 = min(np.pi * (diffuser_depth_m * diffuser_depth_m).sum(), swept_m2)
    for k in range(volume.shape[0]):
        for m in range(state.shape[2]):
            amount = parameters[ix.STIRRED_MUD, m] * swept[k] * bed_area[k] * stirred_m2 / swept_m2
            state[ix.DEBT_C, k, m] += amount / volume[k]
            books[ix.DEBT_C_BED, m] += amount


@kernel
def _note_hour(
    state: Array, records: Array, hour: int, near_surface: int, bottom: int, least_refuge: Array,
    least_oxygen: Array, flow: Array,
) -> None:  # fmt: skip
    """Write the records of one hour."""
    layers, members = state.shape[1], state.shape[2]
    for m in range(members):
        records[ix.REFUGE, hour, m] = least_refuge[m]
        records[ix.NEAR_SURFACE_O2, hour, m] = state[ix.OXYGEN, near_surface, m]
        records[ix.BOTTOM_O2, hour, m] = state[ix.OXYGEN, bottom, m]
        records[ix.DIFFERENCE, hour, m] = state[ix.TEMPERATURE, 0, m] - state[ix.TEMPERATURE, bottom, m]
        records[ix.LEAST_O2, hour, m] = least_oxygen[m]
        records[ix.PLUME_FLOW, hour, m] = flow[m]
    _ = layers


@kernel
def advance(
    state: Array,
    bed_temperature: Array,
    parameters: Array,
    weather: Array,
    air_on: Flags,
    diffuser_depth_m: Array,
    air_mol_s: Array,
    interface_depth_m: Array,
    area: Array,
    volume: Array,
    centre: Array,
    limits: Array,
    under_steps: Ints,
    failed_step: Ints,
    cause: Ints,
    stirred: Ints,
    books: Array,
    records: Array,
    snapshots: Array,
    near_surface: int,
    first_hour: int,
    last_hour: int,
) -> None:
    """Carry the state from the start of `first_hour` to the start of `last_hour`, in place.

    Args:
        state: (STATES, layers, members).
        bed_temperature: temperature of the mud under each layer (layers, members) [°C].
        parameters: (PARAMETERS, members).
        weather: (WEATHER, hours, members), constant within its hour.
        air_on: which diffusers run in each step (steps, diffusers), 1 or 0.
        diffuser_depth_m: depths of the membranes (diffusers) [m].
        air_mol_s: dry air of each diffuser while it runs (diffusers) [mol/s].
        interface_depth_m: equally spaced faces, from 0 to the bottom (layers + 1) [m].
        area: area at the faces (layers + 1) [m²].
        volume: volume of the layers [m³].
        centre: depth of the layers' centres of volume [m].
        limits: limits of the refuge (LIMITS).
        under_steps: steps in a row that a member has been without refuge (members).
        failed_step: step at which a member had been without refuge for more than an hour, or -1 (members).
        cause: which limit took most of the volume at that step (members).
        stirred: 1 once the mud was stirred (1).
        books: what was gained and lost, added to (FLUXES, members).
        records: (RECORDS, hours, members), filled by the hour.
        snapshots: (2, hours, layers, members) for temperature and oxygen, or (2, 0, layers, members) for none.
        near_surface: layer at 0.6 m.
        first_hour: hour at which to start.
        last_hour: hour before which to end.
    """
    layers, members = volume.shape[0], state.shape[2]
    diffusers = diffuser_depth_m.shape[0]
    plumes = diffusers * ix.PLUMES_EACH
    thickness_m = interface_depth_m[1] - interface_depth_m[0]
    heating = np.empty((layers, members))
    growth = np.empty((layers, members))
    respiration = np.empty((layers, members))
    sediment = np.empty((layers, members))
    reduced = np.empty((layers, members))
    warm = np.empty((layers, members))
    ammonia_share = np.empty((layers, members))
    h2s_share = np.empty((layers, members))
    most_oxygen = np.empty((layers, members))
    heat_factors = np.empty((3, layers, members))
    mass_factors = np.empty((3, layers, members))
    withdrawn = np.zeros((plumes, layers, members))
    target = np.zeros((plumes, members), dtype=np.int64)
    bubble_oxygen = np.zeros((plumes, members))
    sinking = np.zeros((layers + 1, members))
    boil_m2 = np.zeros(members)
    quiet_m2 = np.zeros(members)
    flow = np.zeros(members)
    solved_for = np.zeros((layers, members))
    no_flow = np.zeros(members)
    usable = np.empty(members)
    bound = np.zeros(members, dtype=np.int64)
    least_refuge = np.empty(members)
    least_oxygen = np.empty(members)
    start = np.empty(layers, dtype=np.int64)
    work = np.empty((3, layers))
    swept = np.zeros(layers)
    bed_area = np.empty(layers)
    for k in range(layers):
        bed_area[k] = area[k] - (area[k + 1] if k < layers - 1 else 0.0)
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
        light_rates(state, parameters, now[ix.SHORTWAVE], area, volume, thickness_m, heating, growth)
        water_shares(state, parameters, now[ix.PRESSURE], ammonia_share, h2s_share, most_oxygen)
        diffusion_factors(
            state, parameters, area, volume, thickness_m, ix.STEP_S, MOLECULAR_HEAT_M2_S,
            heat_factors[0], heat_factors[1], heat_factors[2],
        )  # fmt: skip
        diffusion_factors(
            state, parameters, area, volume, thickness_m, ix.STEP_S, MOLECULAR_SOLUTE_M2_S,
            mass_factors[0], mass_factors[1], mass_factors[2],
        )  # fmt: skip
        # a plume stands for an hour; then each member's is solved again if its stratification has moved
        fresh = True
        rates_running = False
        swept[:] = 0.0
        demand_rates(
            state, parameters, swept, area, volume, False, respiration, sediment, reduced, warm
        )  # fmt: skip
        least_refuge[:] = 1.0
        least_oxygen[:] = 1e9
        for step in range(first_step, first_step + ix.STEPS_EACH_HOUR):
            running = any_on and air_on[step].max() > 0
            if running:
                same = True
                for d in range(diffusers):
                    if air_on[step, d] != solved[d]:
                        same = False
                if not same:
                    solved_for[:] = -1e9
                if fresh or not same:
                    fresh = False
                    solved[:] = air_on[step]
                    solve_plumes(
                        state, parameters, solved, diffuser_depth_m, air_mol_s, interface_depth_m, volume,
                        now[ix.PRESSURE], withdrawn, target, bubble_oxygen, sinking, boil_m2, flow, area[0],
                        solved_for, substeps,
                    )  # fmt: skip
                    for k in range(layers):
                        swept[k] = 0.0
                        middle = 0.5 * (interface_depth_m[k] + interface_depth_m[k + 1])
                        for d in range(diffusers):
                            if solved[d] > 0 and diffuser_depth_m[d] - SWEPT_ABOVE_M <= middle:
                                swept[k] = 1.0
                    if stirred[0] == 0:
                        stirred[0] = 1
                        stir_mud(state, parameters, diffuser_depth_m, swept, bed_area, volume, books)
                if not rates_running or not same:
                    demand_rates(
                        state, parameters, swept, area, volume, True, respiration, sediment, reduced, warm
                    )
                    rates_running = True
                transport_step(
                    state, withdrawn, target, bubble_oxygen, sinking, volume, substeps, ix.STEP_S, books
                )
            elif rates_running:
                demand_rates(
                    state, parameters, swept, area, volume, False, respiration, sediment, reduced, warm
                )
                rates_running = False
            surface_step(
                state, parameters, now, area[0], volume[0], boil_m2 if running else quiet_m2, ix.STEP_S, books
            )
            reaction_step(
                state, parameters, heating, growth, respiration, sediment, reduced, warm, most_oxygen, bed_temperature,
                bed_area, volume, running, ix.STEP_S, books,
            )  # fmt: skip
            diffusion_step(state, heat_factors[0], heat_factors[1], heat_factors[2], 0, 1)
            diffusion_step(state, mass_factors[0], mass_factors[1], mass_factors[2], 1, ix.STATES)
            convection_step(state, volume, start, work[0], work[1], work[2])
            wind_step(state, parameters, now, area[0], volume, centre, ix.STEP_S)
            refuge_step(state, ammonia_share, h2s_share, limits, volume, thickness_m, usable, bound)
            for m in range(members):
                least_refuge[m] = min(least_refuge[m], usable[m])
                least_oxygen[m] = min(least_oxygen[m], state[ix.OXYGEN, near_surface, m])
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
            near_surface,
            bottom,
            least_refuge,
            least_oxygen,
            flow if any_on else no_flow,
        )
        if snapshots.shape[1] > 0:
            snapshots[0, hour] = state[ix.TEMPERATURE]
            snapshots[1, hour] = state[ix.OXYGEN]
