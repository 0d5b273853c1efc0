"""One step of the water column: transport by the plumes, reactions, surface, diffusion and mixing.

Every function changes the state in place and writes what crossed a boundary into the books; none knows the
sums that the budget tests make of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel
from plumeline.kernels.relations import (
    density_chen_millero_1986,
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
Ints = NDArray[np.int64]


@kernel
def surface_step(
    state: Array, parameters: Array, weather: Array, area_m2: float, volume_m3: float, boil_m2: Array,
    step_s: float, books: Array,
) -> None:  # fmt: skip
    """Exchange heat and oxygen between the top layer and the air; `weather` is (weather, members)."""
    for m in range(state.shape[2]):
        t = state[ix.TEMPERATURE, 0, m]
        air = weather[ix.AIR_TEMPERATURE, m]
        pressure_pa = weather[ix.PRESSURE, m]
        wind = weather[ix.WIND_SPEED, m] * parameters[ix.WIND, m]
        e_s = vapour_pressure_bolton_1980(t)
        e_a = weather[ix.VAPOUR, m]
        moist = specific_humidity_bulk_hipsey_2019(e_s, pressure_pa) - specific_humidity_bulk_hipsey_2019(
            e_a, pressure_pa
        )
        rho_air = moist_air_density_bulk_hipsey_2019(air, e_a, pressure_pa)
        rho_surface = moist_air_density_bulk_hipsey_2019(t, e_s, pressure_pa)
        bulk = parameters[ix.BULK, m]
        latent = latent_heat_bulk_hipsey_2019(wind, t, moist, rho_air, bulk)
        sensible = sensible_heat_bulk_hipsey_2019(wind, t, air, rho_air, bulk)
        # still air over warmer water: forced and free exchange add as squares (Adams et al. 1990), for the
        # larger of the two alone leaves a sheltered pond some two degrees too warm
        free = free_convection_tva_1972(air, rho_air, rho_surface)
        free *= parameters[ix.FREE_CONVECTION, m]
        if free > 0.0:
            forced = rho_air * 1005.0 * bulk * wind
            both = np.hypot(forced, free)
            sensible = both * (t - air)
            latent = both / 1005.0 * (2.501e6 - 2370.0 * t) * moist
        net = 0.97 * parameters[ix.LONGWAVE, m] * weather[ix.SKY, m]
        net -= longwave_emitted_stefan_1879(t) + latent + sensible
        heat = net * area_m2 * step_s
        state[ix.TEMPERATURE, 0, m] = t + heat / (ix.HEAT_CAPACITY_J_M3_K * volume_m3)
        books[ix.HEAT_SURFACE, m] += heat
        oxygen = state[ix.OXYGEN, 0, m]
        saturation = do_saturation_benson_krause_1984(t, state[ix.SALT, 0, m], pressure_pa)
        exponent = 2.0 / 3.0 if wind < 3.7 else 0.5
        k600 = parameters[ix.K600_CALM, m]
        if wind > 0.0:
            k600 += parameters[ix.K600_WIND, m] * 0.215 * wind**1.7 / 3.6e5
        k = gas_velocity_jahne_1987(k600, schmidt_number_oxygen_wanninkhof_2014(t), exponent)
        quiet = k * (area_m2 - boil_m2[m]) * step_s / volume_m3
        boil = parameters[ix.BOIL_TRANSFER, m] * boil_m2[m] * step_s / volume_m3
        # implicit, so that a fast exchange ends at saturation and never beyond it
        after = (oxygen + (quiet + boil) * saturation) / (1.0 + quiet + boil)
        state[ix.OXYGEN, 0, m] = after
        books[ix.O2_GAS, m] += quiet * (saturation - after) * volume_m3
        books[ix.O2_BOIL, m] += boil * (saturation - after) * volume_m3


@kernel
def reaction_step(
    state: Array, parameters: Array, heating_w: Array, growth_g_m3_s: Array, respiration_g_m3_s: Array,
    sediment_g_m3_s: Array,
    reduced_g_m3_s: Array, warm_number: Array, most_do_mg_l: Array, bed_degc: Array, bed_m2: Array,
    volume_m3: Array, running: bool,
    step_s: float, books: Array,
) -> None:  # fmt: skip
    """Warm each layer, make and use oxygen, oxidise the debts, and let the bed give and take."""
    layers, members = volume_m3.shape[0], state.shape[2]
    for k in range(layers):
        v = volume_m3[k]
        for m in range(members):
            t = state[ix.TEMPERATURE, k, m]
            to_bed = ix.BED_CONDUCTANCE_W_M2_K * (t - bed_degc[k, m]) * bed_m2[k] * step_s
            light = heating_w[k, m] * step_s
            state[ix.TEMPERATURE, k, m] = t + (light - to_bed) / (ix.HEAT_CAPACITY_J_M3_K * v)
            if bed_m2[k] > 0.0:
                bed_degc[k, m] += to_bed / (ix.BED_HEAT_J_M2_K * bed_m2[k])
            books[ix.HEAT_SHORTWAVE, m] += light
            books[ix.HEAT_BED, m] -= to_bed

            oxygen = state[ix.OXYGEN, k, m]
            made = growth_g_m3_s[k, m] * step_s
            half = parameters[ix.SEDIMENT_HALF, m]
            breathing = respiration_g_m3_s[k, m] * step_s / (oxygen + 0.5)
            bed = sediment_g_m3_s[k, m] * step_s / (oxygen + half)
            decay = parameters[ix.RATE_C, m] * warm_number[k, m] * step_s
            debt_c = state[ix.DEBT_C, k, m]
            # labile carbon: first order, limited by oxygen; less than half of it in a step at any rate drawn
            slow = debt_c * decay / (1.0 + decay) / (oxygen + 0.5)
            after = (oxygen + made) / (1.0 + breathing + bed + slow)
            books[ix.O2_MADE, m] += made * v
            books[ix.O2_RESPIRED, m] -= breathing * after * v
            books[ix.O2_SEDIMENT, m] -= bed * after * v
            books[ix.O2_DEBT_C, m] -= slow * after * v
            debt_c -= slow * after
            excess = after - most_do_mg_l[k, m]
            if excess > 0.0:
                share = step_s / (3600.0 + step_s)
                after -= share * excess
                books[ix.O2_OUTGASSED, m] -= share * excess * v

            x = reacted_second_order(
                state[ix.DEBT_A, k, m], after, 1.0, parameters[ix.RATE_A, m] * warm_number[k, m] * step_s
            )
            state[ix.DEBT_A, k, m] -= x
            after -= x
            books[ix.O2_DEBT_A, m] -= x * v
            x = reacted_second_order(
                state[ix.SULPHIDE, k, m],
                after,
                ix.SULPHIDE_DEMAND,
                parameters[ix.RATE_S, m] * warm_number[k, m] * step_s,
            )
            state[ix.SULPHIDE, k, m] -= x
            after -= ix.SULPHIDE_DEMAND * x
            books[ix.O2_SULPHIDE, m] -= ix.SULPHIDE_DEMAND * x * v

            # a bed without oxygen over it gives reduced substances: a little sulphide, the rest slow
            skin = after / ix.SKIN_MG_L
            anoxic = reduced_g_m3_s[k, m] / (1.0 + skin * skin) * step_s
            sulphide = ix.SULPHIDE_OF_FLUX * anoxic / ix.SULPHIDE_DEMAND
            state[ix.SULPHIDE, k, m] += sulphide
            debt_c += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic
            books[ix.SULPHIDE_BED, m] += sulphide * v
            books[ix.DEBT_C_BED, m] += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic * v
            if running:
                bloom = state[ix.CHLOROPHYLL, k, m] - ix.BLOOM_FLOOR * parameters[ix.CHLOROPHYLL_0, m]
                lost = max(bloom, 0.0) * parameters[ix.BLOOM_LOSS, m] * step_s
                state[ix.CHLOROPHYLL, k, m] -= lost
                debt_c += lost * 1e-3 * ix.BLOOM_DEMAND
                books[ix.CHLOROPHYLL_LOST, m] += lost * v
                books[ix.DEBT_C_BLOOM, m] += lost * 1e-3 * ix.BLOOM_DEMAND * v
            state[ix.DEBT_C, k, m] = debt_c
            state[ix.OXYGEN, k, m] = after


@kernel
def diffusion_step(state: Array, lower: Array, upper: Array, pivot: Array, first: int, last: int) -> None:
    """Diffuse the states `first` to `last` - 1 with the elimination factors of the hour."""
    layers, members = pivot.shape
    for s in range(first, last):
        for m in range(members):
            state[s, 0, m] *= pivot[0, m]
        for k in range(1, layers):
            for m in range(members):
                state[s, k, m] = (state[s, k, m] + lower[k, m] * state[s, k - 1, m]) * pivot[k, m]
        for k in range(layers - 2, -1, -1):
            for m in range(members):
                state[s, k, m] += upper[k, m] * state[s, k + 1, m]


@kernel
def mix_blocks(state: Array, member: int, top: int, bottom: int, volume_m3: Array) -> None:
    """Mix the layers `top` to `bottom` (both included) of one member wholly, conserving every state."""
    whole = 0.0
    for k in range(top, bottom + 1):
        whole += volume_m3[k]
    for s in range(ix.STATES):
        total = 0.0
        for k in range(top, bottom + 1):
            total += state[s, k, member] * volume_m3[k]
        mean = total / whole
        for k in range(top, bottom + 1):
            state[s, k, member] = mean


@kernel
def convection_step(
    state: Array, volume_m3: Array, start: Ints, weight: Array, warmth_degc: Array, salt_g_kg: Array
) -> None:
    """Mix layers that lie heavy over light, until each member is stable.

    Blocks are pooled from the top down; a block that has grown is compared with the one above it again. The
    four last arguments are work arrays, one entry a layer.
    """
    layers, members = volume_m3.shape[0], state.shape[2]
    for m in range(members):
        count = 0
        merged = False
        for k in range(layers):
            start[count] = k
            weight[count] = volume_m3[k]
            warmth_degc[count] = state[ix.TEMPERATURE, k, m]
            salt_g_kg[count] = state[ix.SALT, k, m]
            count += 1
            while count > 1:
                upper = density_chen_millero_1986(warmth_degc[count - 2], salt_g_kg[count - 2])
                lower = density_chen_millero_1986(warmth_degc[count - 1], salt_g_kg[count - 1])
                if upper <= lower + 1e-9:
                    break
                merged = True
                both = weight[count - 2] + weight[count - 1]
                share = weight[count - 1] / both
                warmth_degc[count - 2] += share * (warmth_degc[count - 1] - warmth_degc[count - 2])
                salt_g_kg[count - 2] += share * (salt_g_kg[count - 1] - salt_g_kg[count - 2])
                weight[count - 2] = both
                count -= 1
        if merged:
            for b in range(count):
                last = start[b + 1] - 1 if b < count - 1 else layers - 1
                if last > start[b]:
                    mix_blocks(state, m, start[b], last, volume_m3)


@kernel
def wind_step(
    state: Array,
    parameters: Array,
    weather: Array,
    area_m2: float,
    volume_m3: Array,
    centre_m: Array,
    step_s: float,
) -> None:
    """Deepen the mixed layer by the wind's work, spent against the rise of the water's centre of mass.

    The work is 0.23 ρ u*³ over the part of the surface that the wind reaches (Kraus-Turner form, stirring
    efficiency of Hipsey et al. 2019). The last layer that the work does not wholly pay for is mixed in part.
    """
    layers, members = volume_m3.shape[0], state.shape[2]
    for m in range(members):
        wind = weather[ix.WIND_SPEED, m] * parameters[ix.WIND, m]
        friction = np.sqrt(1.2 * 1.0e-3 / 998.0) * wind
        work = 0.23 * 998.0 * friction**3 * area_m2 * parameters[ix.OPEN_WIND, m] * step_s
        if work <= 0.0:
            continue
        # the mixture grows layer by layer in three numbers alone; the states are mixed once, at the end
        whole = volume_m3[0]
        middle = centre_m[0]
        warmth_degc = state[ix.TEMPERATURE, 0, m]
        salt_g_kg = state[ix.SALT, 0, m]
        last = 0
        share = 0.0
        for k in range(1, layers):
            rho = density_chen_millero_1986(warmth_degc, salt_g_kg)
            below = density_chen_millero_1986(state[ix.TEMPERATURE, k, m], state[ix.SALT, k, m])
            both = whole + volume_m3[k]
            need = 9.81 * max(below - rho, 0.0) * whole * volume_m3[k] / both * (centre_m[k] - middle)
            if need > work:
                share = work / need
                break
            work -= need
            part = volume_m3[k] / both
            middle += part * (centre_m[k] - middle)
            warmth_degc += part * (state[ix.TEMPERATURE, k, m] - warmth_degc)
            salt_g_kg += part * (state[ix.SALT, k, m] - salt_g_kg)
            whole = both
            last = k
        if last > 0:
            mix_blocks(state, m, 0, last, volume_m3)
        if share > 0.0:
            # in part: each side moves the same share of the way to the mean
            k = last + 1
            both = whole + volume_m3[k]
            for s in range(ix.STATES):
                mean = (state[s, 0, m] * whole + state[s, k, m] * volume_m3[k]) / both
                rise = share * (mean - state[s, 0, m])
                for j in range(k):
                    state[s, j, m] += rise
                state[s, k, m] += share * (mean - state[s, k, m])
