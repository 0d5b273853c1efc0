"""Each step of a block: the surface, reactions in the water and over the bed, diffusion.

Every function changes the state in place and writes what crossed a boundary into the books (FLUXES, LANES); none
knows the sums that the budget tests make of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import vector_kernel
from plumeline.kernels.lane_math import pow, sqrt
from plumeline.kernels.lane_relations import (
    do_saturation_benson_krause_1984,
    free_convection_tva_1972,
    gas_velocity_jahne_1987,
    latent_heat_bulk_hipsey_2019,
    longwave_emitted_stefan_1879,
    moist_air_density_bulk_hipsey_2019,
    reacted_second_order,
    schmidt_number_oxygen_wanninkhof_2014,
    sensible_heat_bulk_hipsey_2019,
    specific_humidity_bulk_hipsey_2019,
    vapour_pressure_bolton_1980,
)

Array = NDArray[np.float64]

AIR_HEAT_J_KG_K = 1005.0
LEAST_WIND_M_S = 1e-6  # a power of nothing is nothing; of this it is as good as nothing


@vector_kernel
def surface_step(
    state: Array, parameters: Array, weather: Array, area_m2: float, volume_m3: float, boil_m2: Array,
    step_s: float, books: Array,
) -> None:  # fmt: skip
    """Exchange heat and oxygen between the top layer and the air of the hour."""
    for j in range(ix.LANES):
        t = state[ix.TEMPERATURE, 0, j]
        wind = weather[ix.WIND_SPEED, j] * parameters[ix.WIND, j]
        oxygen = state[ix.OXYGEN, 0, j]
        saturation = do_saturation_benson_krause_1984(t, state[ix.SALT, 0, j], weather[ix.PRESSURE, j])
        exponent = 2.0 / 3.0 if wind < 3.7 else 0.5
        k600 = parameters[ix.K600_CALM, j]
        k600 += parameters[ix.K600_WIND, j] * 0.215 * pow(max(wind, LEAST_WIND_M_S), 1.7) / 3.6e5
        k = gas_velocity_jahne_1987(k600, schmidt_number_oxygen_wanninkhof_2014(t), exponent)
        quiet = k * (area_m2 - boil_m2[j]) * step_s / volume_m3
        boil = parameters[ix.BOIL_TRANSFER, j] * boil_m2[j] * step_s / volume_m3
        # implicit, so that a fast exchange ends at saturation and never beyond it
        after = (oxygen + (quiet + boil) * saturation) / (1.0 + quiet + boil)
        state[ix.OXYGEN, 0, j] = after
        books[ix.O2_GAS, j] += quiet * (saturation - after) * volume_m3
        books[ix.O2_BOIL, j] += boil * (saturation - after) * volume_m3
    for j in range(ix.LANES):
        t = state[ix.TEMPERATURE, 0, j]
        air = weather[ix.AIR_TEMPERATURE, j]
        pressure_pa = weather[ix.PRESSURE, j]
        wind = weather[ix.WIND_SPEED, j] * parameters[ix.WIND, j]
        e_s = vapour_pressure_bolton_1980(t)
        e_a = weather[ix.VAPOUR, j]
        moist = specific_humidity_bulk_hipsey_2019(e_s, pressure_pa) - specific_humidity_bulk_hipsey_2019(
            e_a, pressure_pa
        )
        rho_air = moist_air_density_bulk_hipsey_2019(air, e_a, pressure_pa)
        rho_surface = moist_air_density_bulk_hipsey_2019(t, e_s, pressure_pa)
        # still air over warmer water: forced and free exchange add as squares (Adams et al. 1990), for the
        # larger of the two alone leaves a sheltered pond some two degrees too warm
        forced_m_s = parameters[ix.BULK, j] * wind
        free = parameters[ix.FREE_CONVECTION, j] * free_convection_tva_1972(air, rho_air, rho_surface)
        free_m_s = free / (rho_air * AIR_HEAT_J_KG_K)
        both_m_s = sqrt(forced_m_s * forced_m_s + free_m_s * free_m_s)
        latent = latent_heat_bulk_hipsey_2019(both_m_s, t, moist, rho_air, 1.0)
        sensible = sensible_heat_bulk_hipsey_2019(both_m_s, t, air, rho_air, 1.0)
        net = 0.97 * parameters[ix.LONGWAVE, j] * weather[ix.SKY, j]
        net -= longwave_emitted_stefan_1879(t) + latent + sensible
        heat = net * area_m2 * step_s
        state[ix.TEMPERATURE, 0, j] = t + heat / (ix.HEAT_CAPACITY_J_M3_K * volume_m3)
        books[ix.HEAT_SURFACE, j] += heat


@vector_kernel
def warming_step(
    state: Array, bed_degc: Array, rates: Array, bed_m2: Array, volume_m3: Array, step_s: float,
    books: Array,
) -> None:  # fmt: skip
    """Warm each layer by the sun, and let it exchange heat with the mud under it, and the mud with deeper mud."""
    layers = volume_m3.shape[0]
    for k in range(layers):
        ground_m2 = bed_m2[k]
        warming = 1.0 / (ix.HEAT_CAPACITY_J_M3_K * volume_m3[k])
        for j in range(ix.LANES):
            t = state[ix.TEMPERATURE, k, j]
            skin = bed_degc[k, j]
            middle = bed_degc[layers + k, j]
            deep = bed_degc[2 * layers + k, j]
            to_bed = ix.SKIN_CONDUCTANCE_W_M2_K * (t - skin) * step_s
            down = ix.MIDDLE_CONDUCTANCE_W_M2_K * (skin - middle) * step_s
            further = ix.DEEP_CONDUCTANCE_W_M2_K * (middle - deep) * step_s
            light = rates[ix.HEATING, k, j] * step_s
            state[ix.TEMPERATURE, k, j] = t + (light - to_bed * ground_m2) * warming
            bed_degc[k, j] = skin + (to_bed - down) / ix.SKIN_HEAT_J_M2_K
            bed_degc[layers + k, j] = middle + (down - further) / ix.MIDDLE_HEAT_J_M2_K
            bed_degc[2 * layers + k, j] = deep + further / ix.DEEP_HEAT_J_M2_K
            books[ix.HEAT_SHORTWAVE, j] += light
            books[ix.HEAT_BED, j] -= to_bed * ground_m2


@vector_kernel
def reaction_step(
    state: Array, parameters: Array, rates: Array, volume_m3: Array, running_number: float, step_s: float,
    books: Array,
) -> None:  # fmt: skip
    """Make and use oxygen, oxidise the debts, and let the bed give what it gives; `running_number` is 1 under air."""
    share = step_s / (3600.0 + step_s)
    for k in range(volume_m3.shape[0]):
        v = volume_m3[k]
        for j in range(ix.LANES):
            oxygen = state[ix.OXYGEN, k, j]
            made = rates[ix.GROWTH, k, j] * step_s
            water_half = 1.0 / (oxygen + 0.5)
            breathing = rates[ix.BREATHING, k, j] * step_s * water_half
            bed = rates[ix.BED_DEMAND, k, j] * step_s / (oxygen + parameters[ix.SEDIMENT_HALF, j])
            decay = parameters[ix.RATE_C, j] * rates[ix.WARM, k, j] * step_s
            debt_c = state[ix.DEBT_C, k, j]
            # labile carbon: first order, limited by oxygen; less than half of it in a step at any rate drawn
            slow = debt_c * decay / (1.0 + decay) * water_half
            after = (oxygen + made) / (1.0 + breathing + bed + slow)
            books[ix.O2_MADE, j] += made * v
            books[ix.O2_RESPIRED, j] -= breathing * after * v
            books[ix.O2_SEDIMENT, j] -= bed * after * v
            books[ix.O2_DEBT_C, j] -= slow * after * v
            debt_c -= slow * after
            excess = max(after - rates[ix.MOST_O2, k, j], 0.0)
            after -= share * excess
            books[ix.O2_OUTGASSED, j] -= share * excess * v

            warm = rates[ix.WARM, k, j] * step_s
            x = reacted_second_order(state[ix.DEBT_A, k, j], after, 1.0, parameters[ix.RATE_A, j] * warm)
            state[ix.DEBT_A, k, j] -= x
            after -= x
            books[ix.O2_DEBT_A, j] -= x * v
            sulphide = state[ix.SULPHIDE, k, j]
            x = reacted_second_order(sulphide, after, ix.SULPHIDE_DEMAND, parameters[ix.RATE_S, j] * warm)
            sulphide -= x
            after -= ix.SULPHIDE_DEMAND * x
            books[ix.O2_SULPHIDE, j] -= ix.SULPHIDE_DEMAND * x * v

            # a bed without oxygen over it gives reduced substances: a little sulphide, the rest slow
            skin = after / ix.SKIN_MG_L
            anoxic = rates[ix.BED_REDUCED, k, j] / (1.0 + skin * skin) * step_s
            given = ix.SULPHIDE_OF_FLUX * anoxic / ix.SULPHIDE_DEMAND
            state[ix.SULPHIDE, k, j] = sulphide + given
            debt_c += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic
            books[ix.SULPHIDE_BED, j] += given * v
            books[ix.DEBT_C_BED, j] += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic * v
            chlorophyll = state[ix.CHLOROPHYLL, k, j]
            bloom = max(chlorophyll - ix.BLOOM_FLOOR * parameters[ix.CHLOROPHYLL_0, j], 0.0)
            lost = bloom * parameters[ix.BLOOM_LOSS, j] * step_s * running_number
            state[ix.CHLOROPHYLL, k, j] = chlorophyll - lost
            debt_c += lost * 1e-3 * ix.BLOOM_DEMAND
            books[ix.CHLOROPHYLL_LOST, j] += lost * v
            books[ix.DEBT_C_BLOOM, j] += lost * 1e-3 * ix.BLOOM_DEMAND * v
            state[ix.DEBT_C, k, j] = debt_c
            state[ix.OXYGEN, k, j] = after


@vector_kernel
def diffusion_step(state: Array, factors: Array, first: int, last: int, carried: Array) -> None:
    """Diffuse the states `first` to `last` - 1 with the elimination factors of the hour.

    `carried` (LANES) is room for the row before: read from there, no row of the state is both read and written.
    """
    layers = state.shape[1]
    for s in range(first, last):
        for j in range(ix.LANES):
            carried[j] = state[s, 0, j] * factors[ix.PIVOT, 0, j]
            state[s, 0, j] = carried[j]
        for k in range(1, layers):
            for j in range(ix.LANES):
                carried[j] = (state[s, k, j] + factors[ix.LOWER, k, j] * carried[j]) * factors[ix.PIVOT, k, j]
                state[s, k, j] = carried[j]
        for k in range(layers - 2, -1, -1):
            for j in range(ix.LANES):
                carried[j] = state[s, k, j] + factors[ix.UPPER, k, j] * carried[j]
                state[s, k, j] = carried[j]
