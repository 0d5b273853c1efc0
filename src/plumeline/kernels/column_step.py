"""Each step of a block: the surface, reactions in the water and over the bed, diffusion.

Every function changes the state in place and writes what crossed a boundary into the books (FLUXES, LANES); none
knows the sums that the budget tests make of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import vector_kernel
from plumeline.kernels.lane_math import sqrt
from plumeline.kernels.lane_relations import (
    carbonic_acid_fraction_plummer_1982,
    density_chen_millero_1986,
    do_saturation_benson_krause_1984,
    enhancement_co2_hoover_1969,
    free_convection_tva_1972,
    gas_velocity_ammonia_whitman_1923,
    gas_velocity_jahne_1987,
    growth_limitation_verhulst_1838,
    k600_cole_caraco_1998,
    k600_convective_zappa_2007,
    k600_crusius_wanninkhof_2003,
    latent_heat_bulk_hipsey_2019,
    longwave_emitted_stefan_1879,
    moist_air_density_bulk_hipsey_2019,
    ph_from_alkalinity_and_carbon,
    reacted_second_order,
    schmidt_number_co2_wanninkhof_2014,
    schmidt_number_oxygen_wanninkhof_2014,
    sensible_heat_bulk_hipsey_2019,
    solubility_co2_weiss_1974,
    specific_humidity_bulk_hipsey_2019,
    vapour_pressure_benson_krause_1980,
    vapour_pressure_bolton_1980,
)

Array = NDArray[np.float64]

AIR_HEAT_J_KG_K = 1005.0
# what one step leaves for the next: carbon fixed and respired [mol/m³], the part of ammonia oxidised, ammonia made
# [g/m³], what the bed gave without oxygen [g/m³]
FIXED, RESPIRED, NITRIFIED, MINERALISED, ANOXIC = range(5)
STEP_FLUXES = 5
# mol of inorganic carbon for a gram of oxygen
FIXED_MOL_G = ix.CARBON_PER_OXYGEN / ix.OXYGEN_G_MOL
SLOW_MOL_G = ix.CARBON_OF_SLOW_DEBT / ix.OXYGEN_G_MOL
BED_MOL_G = ix.CARBON_OF_BED_FLUX / ix.OXYGEN_G_MOL
LEAST_WIND_M_S = 1e-6  # a power of nothing is nothing; of this it is as good as nothing


@vector_kernel
def surface_step(
    state: Array, parameters: Array, weather: Array, area_m2: float, volume_m3: float, step_s: float, books: Array,
    cooling_w_m2: Array,
) -> None:  # fmt: skip
    """Exchange heat between the top layer and the air of the hour; fill what the surface loses (LANES) [W/m²]."""
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
        cooling_w_m2[j] = -net
        state[ix.TEMPERATURE, 0, j] = t + heat / (ix.HEAT_CAPACITY_J_M3_K * volume_m3)
        books[ix.HEAT_SURFACE, j] += heat


@vector_kernel
def wind_transfer(parameters: Array, weather: Array, k600_m_s: Array) -> None:
    """Fill the gas transfer velocity of the hour's wind by each member's law (LANES).

    One law is the calm value drawn with Cole & Caraco's wind term; its calm value stands for convection too. The
    other is Crusius & Wanninkhof's, almost nothing when calm, to which the night's convection is added by the step.
    In both the wind term has a factor of the pond.
    """
    for j in range(ix.LANES):
        wind = max(weather[ix.WIND_SPEED, j] * parameters[ix.WIND, j], LEAST_WIND_M_S)
        factor = parameters[ix.K600_WIND, j]
        cole = k600_cole_caraco_1998(wind) - k600_cole_caraco_1998(LEAST_WIND_M_S)
        still = k600_crusius_wanninkhof_2003(LEAST_WIND_M_S)
        crusius = k600_crusius_wanninkhof_2003(wind) - still
        first = parameters[ix.K600_CALM, j] + factor * cole
        k600_m_s[j] = still + factor * crusius if parameters[ix.K600_LAW, j] > 0.5 else first


@vector_kernel
def gas_step(
    state: Array, parameters: Array, weather: Array, rates: Array, k600_of_wind_m_s: Array, cooling_w_m2: Array,
    area_m2: float, volume_m3: float, boil_m2: Array, step_s: float, books: Array,
) -> None:  # fmt: skip
    """Exchange oxygen, carbon dioxide, hydrogen sulphide and ammonia between the top layer and the air.

    Each gas crosses at its own velocity, by its Schmidt number; sulphide at carbon dioxide's, for the two diffuse
    alike. The air holds no sulphide and no ammonia. Steps are implicit, so that a fast exchange ends at equilibrium
    and never beyond it.
    """
    for j in range(ix.LANES):
        t = state[ix.TEMPERATURE, 0, j]
        pressure_pa = weather[ix.PRESSURE, j]
        wind = weather[ix.WIND_SPEED, j] * parameters[ix.WIND, j]
        exponent = 2.0 / 3.0 if wind < 3.7 else 0.5
        lighter = density_chen_millero_1986(t - 0.5, 0.0) - density_chen_millero_1986(t + 0.5, 0.0)
        cooling = cooling_w_m2[j] - rates[ix.HEATING, 0, j] / area_m2
        buoyancy_m2_s3 = 9.81 * lighter / 998.0 * cooling / ix.HEAT_CAPACITY_J_M3_K
        convective = k600_convective_zappa_2007(buoyancy_m2_s3, ix.VISCOSITY_M2_S)
        windy = k600_of_wind_m_s[j]
        # the dissipation of the two adds, and k goes with its fourth root
        both = sqrt(sqrt(windy * windy * windy * windy + convective * convective * convective * convective))
        k600 = both if parameters[ix.K600_LAW, j] > 0.5 else windy
        sc_o2 = schmidt_number_oxygen_wanninkhof_2014(t)
        sc_co2 = schmidt_number_co2_wanninkhof_2014(t)
        quiet_m2 = area_m2 - boil_m2[j]
        each = step_s / volume_m3

        quiet = gas_velocity_jahne_1987(k600, sc_o2, exponent) * quiet_m2 * each
        boil = parameters[ix.BOIL_TRANSFER, j] * boil_m2[j] * each
        saturation = do_saturation_benson_krause_1984(t, state[ix.SALT, 0, j], pressure_pa)
        after = (state[ix.OXYGEN, 0, j] + (quiet + boil) * saturation) / (1.0 + quiet + boil)
        state[ix.OXYGEN, 0, j] = after
        books[ix.O2_GAS, j] += quiet * (saturation - after) * volume_m3
        books[ix.O2_BOIL, j] += boil * (saturation - after) * volume_m3

        velocity = gas_velocity_jahne_1987(k600, sc_co2, exponent)
        stirred = boil * sqrt(sc_o2 / sc_co2)
        carbon = state[ix.CARBON, 0, j]
        ph = ph_from_alkalinity_and_carbon(state[ix.ALKALINITY, 0, j], carbon, t)
        free = carbonic_acid_fraction_plummer_1982(ph, t)
        # where a bloom has used the gas up, it reacts on its way in and comes in faster
        faster = enhancement_co2_hoover_1969(velocity, ix.VISCOSITY_M2_S / sc_co2, free, ph, t)
        exchanged = velocity * faster * quiet_m2 * each + stirred
        dry_pa = pressure_pa - vapour_pressure_benson_krause_1980(t)
        rest = solubility_co2_weiss_1974(t) * ix.PCO2_FRACTION * dry_pa
        balanced = (carbon + exchanged * rest) / (1.0 + exchanged * free)
        state[ix.CARBON, 0, j] = balanced
        books[ix.CARBON_GAS, j] += (balanced - carbon) * volume_m3
        sulphide = state[ix.SULPHIDE, 0, j]
        kept = sulphide / (1.0 + (velocity * quiet_m2 * each + stirred) * rates[ix.H2S_SHARE, 0, j])
        state[ix.SULPHIDE, 0, j] = kept
        books[ix.SULPHIDE_GAS, j] += (kept - sulphide) * volume_m3
        ammonia = state[ix.AMMONIA, 0, j]
        slower = gas_velocity_ammonia_whitman_1923(velocity, wind, t)
        rest = ammonia / (1.0 + slower * quiet_m2 * each * rates[ix.AMMONIA_SHARE, 0, j])
        state[ix.AMMONIA, 0, j] = rest
        books[ix.AMMONIA_GAS, j] += (rest - ammonia) * volume_m3


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
def oxygen_step(
    state: Array,
    parameters: Array,
    rates: Array,
    volume_m3: Array,
    step_s: float,
    books: Array,
    fluxes: Array,
) -> None:
    """Make and use oxygen in each layer, oxidise the debts, and let the bed give what it gives.

    What other substances hang on is left in `fluxes` (STEP_FLUXES, layers, LANES) for `matter_step`.
    """
    share = step_s / (3600.0 + step_s)
    for k in range(volume_m3.shape[0]):
        v = volume_m3[k]
        for j in range(ix.LANES):
            oxygen = state[ix.OXYGEN, k, j]
            warm = rates[ix.WARM, k, j] * step_s
            # no more is fixed in a step than half of the carbon that algae can have
            room = max(
                state[ix.CARBON, k, j] - ix.LEAST_CARBON_OF_ALKALINITY * state[ix.ALKALINITY, k, j], 0.0
            )
            fixed = min(rates[ix.GROWTH, k, j] * step_s * FIXED_MOL_G, 0.5 * room)
            made = fixed / FIXED_MOL_G
            water_half = 1.0 / (oxygen + 0.5)
            breathing = rates[ix.BREATHING, k, j] * step_s * water_half
            bed = rates[ix.BED_DEMAND, k, j] * step_s / (oxygen + parameters[ix.SEDIMENT_HALF, j])
            decay = parameters[ix.RATE_C, j] * warm
            debt_c = state[ix.DEBT_C, k, j]
            # labile carbon: first order, limited by oxygen; less than half of it in a step at any rate drawn
            eaten = decay / (1.0 + decay) * water_half
            slow = debt_c * eaten
            # what the bloom left: the same, and quicker
            digestion = parameters[ix.FRESH_DECAY, j] * warm
            fresh = state[ix.FRESH, k, j]
            used = fresh * digestion / (1.0 + digestion) * water_half
            after = (oxygen + made) / (1.0 + breathing + bed + slow + used)
            books[ix.O2_MADE, j] += made * v
            books[ix.O2_RESPIRED, j] -= breathing * after * v
            books[ix.O2_SEDIMENT, j] -= bed * after * v
            books[ix.O2_DEBT_C, j] -= slow * after * v
            books[ix.O2_FRESH, j] -= used * after * v
            debt_c -= slow * after
            state[ix.FRESH, k, j] = fresh - used * after
            fluxes[FIXED, k, j] = fixed
            fluxes[RESPIRED, k, j] = (breathing + bed + used) * after * FIXED_MOL_G
            fluxes[RESPIRED, k, j] += slow * after * SLOW_MOL_G
            fluxes[NITRIFIED, k, j] = eaten * after
            fluxes[MINERALISED, k, j] = ix.NITROGEN_PER_OXYGEN * breathing * after
            excess = max(after - rates[ix.MOST_O2, k, j], 0.0)
            after -= share * excess
            books[ix.O2_OUTGASSED, j] -= share * excess * v

            x = reacted_second_order(state[ix.DEBT_A, k, j], after, 1.0, parameters[ix.RATE_A, j] * warm)
            state[ix.DEBT_A, k, j] -= x
            after -= x
            books[ix.O2_DEBT_A, j] -= x * v
            sulphide = state[ix.SULPHIDE, k, j]
            x = reacted_second_order(sulphide, after, ix.SULPHIDE_DEMAND, parameters[ix.RATE_S, j] * warm)
            sulphide -= x
            after -= ix.SULPHIDE_DEMAND * x
            books[ix.O2_SULPHIDE, j] -= ix.SULPHIDE_DEMAND * x * v
            state[ix.OXYGEN, k, j] = after

            # a bed without oxygen over it gives reduced substances: a little sulphide, the rest slow
            skin = after / ix.SKIN_MG_L
            anoxic = rates[ix.BED_REDUCED, k, j] / (1.0 + skin * skin) * step_s
            given = ix.SULPHIDE_OF_FLUX * anoxic / ix.SULPHIDE_DEMAND
            state[ix.SULPHIDE, k, j] = sulphide + given
            state[ix.DEBT_C, k, j] = debt_c + (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic
            fluxes[ANOXIC, k, j] = anoxic
            books[ix.SULPHIDE_BED, j] += given * v
            books[ix.DEBT_C_BED, j] += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic * v


@vector_kernel
def matter_step(
    state: Array, parameters: Array, rates: Array, volume_m3: Array, running_number: float, step_s: float,
    books: Array, fluxes: Array,
) -> None:  # fmt: skip
    """Let carbon, ammonia and the bloom follow what oxygen did; `running_number` is 1 under air."""
    for k in range(volume_m3.shape[0]):
        v = volume_m3[k]
        for j in range(ix.LANES):
            fixed = fluxes[FIXED, k, j]
            respired = fluxes[RESPIRED, k, j]
            anoxic = fluxes[ANOXIC, k, j]
            state[ix.CARBON, k, j] += respired - fixed + anoxic * BED_MOL_G
            books[ix.CARBON_FIXED, j] -= fixed * v
            books[ix.CARBON_RESPIRED, j] += respired * v
            books[ix.CARBON_BED, j] += anoxic * BED_MOL_G * v

            # ammonia: bacteria on old matter and the bed make it, growth takes it up, and it is oxidised with the slow
            # debt, of whose demand it is a part; what is made adds to that debt, what is taken up is not owed any
            # more. The nitrogen of the bloom's own leavings goes back to the bloom and never stands free
            ammonia = state[ix.AMMONIA, k, j]
            made = fixed / FIXED_MOL_G
            mineralised = fluxes[MINERALISED, k, j]
            nitrified = fluxes[NITRIFIED, k, j]
            from_bed = ix.NITROGEN_PER_OXYGEN * anoxic
            wanted = ix.NITROGEN_PER_OXYGEN * made / (ammonia + ix.AMMONIA_HALF_MG_L)
            left = (ammonia + mineralised + from_bed) / (1.0 + wanted + nitrified)
            state[ix.AMMONIA, k, j] = left
            books[ix.AMMONIA_MADE, j] += mineralised * v
            books[ix.AMMONIA_BED, j] += from_bed * v
            books[ix.AMMONIA_TAKEN, j] -= wanted * left * v
            books[ix.AMMONIA_OXIDISED, j] -= nitrified * left * v
            debt_c = state[ix.DEBT_C, k, j]
            owed = ix.NITRIFICATION_DEMAND * mineralised
            owed -= min(ix.NITRIFICATION_DEMAND * wanted * left, debt_c)
            books[ix.DEBT_C_AMMONIA, j] += owed * v

            # the bloom grows by what it fixes as far as the nutrients allow; the rest of that, and what dies or is
            # eaten, is used up by bacteria in the days after or settles; what air kills beyond that becomes slow debt
            chlorophyll = state[ix.CHLOROPHYLL, k, j]
            most = parameters[ix.BLOOM_MOST, j] * parameters[ix.CHLOROPHYLL_0, j]
            kept = growth_limitation_verhulst_1838(chlorophyll, most)
            grown = made * 1e3 / ix.BLOOM_DEMAND * kept
            turned = parameters[ix.BLOOM_TURNOVER, j] * rates[ix.WARM, k, j] * step_s
            chlorophyll = (chlorophyll + grown) / (1.0 + turned)
            books[ix.CHLOROPHYLL_GROWN, j] += grown * v
            books[ix.CHLOROPHYLL_TURNED, j] -= turned * chlorophyll * v
            left_over = made * (1.0 - kept) + turned * chlorophyll * 1e-3 * ix.BLOOM_DEMAND
            sinking = parameters[ix.FRESH_SETTLING, j] * step_s
            fresh = (state[ix.FRESH, k, j] + left_over) / (1.0 + sinking)
            state[ix.FRESH, k, j] = fresh
            books[ix.FRESH_MADE, j] += left_over * v
            books[ix.FRESH_SETTLED, j] -= sinking * fresh * v
            bloom = max(chlorophyll - ix.BLOOM_FLOOR * parameters[ix.CHLOROPHYLL_0, j], 0.0)
            lost = bloom * parameters[ix.BLOOM_LOSS, j] * step_s * running_number
            state[ix.CHLOROPHYLL, k, j] = chlorophyll - lost
            state[ix.DEBT_C, k, j] = debt_c + owed + lost * 1e-3 * ix.BLOOM_DEMAND
            books[ix.CHLOROPHYLL_LOST, j] += lost * v
            books[ix.DEBT_C_BLOOM, j] += lost * 1e-3 * ix.BLOOM_DEMAND * v


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
