"""What changes by the hour in the water column: light, rates, diffusivities, and the shares that poison."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels import relations
from plumeline.kernels.jit import kernel, vector_kernel
from plumeline.kernels.lane_math import exp
from plumeline.kernels.lane_relations import (
    ammonia_unionized_fraction_bell_2008,
    carbon_limitation_maberly_1983,
    density_chen_millero_1986,
    diffusivity_hondzo_1993,
    do_saturation_benson_krause_1984,
    light_limitation_jassby_1976,
    ph_from_alkalinity_and_carbon,
    photons_mccree_1972,
    sulphide_undissociated_fraction_millero_1988,
    temperature_factor_arrhenius_1889,
)

Array = NDArray[np.float64]

carbon_from_alkalinity_and_ph = relations.carbon_from_alkalinity_and_ph


@vector_kernel
def light_rates(
    state: Array, parameters: Array, shortwave_w_m2: Array, area_m2: Array, thickness_m: float, rates: Array,
    visible_w_m2: Array, infrared_w_m2: Array,
) -> None:  # fmt: skip
    """Fill the shortwave that each layer absorbs [W] and its oxygen production [g/m³/s].

    The pH of the layers stands already: where algae want for carbon they make less. Visible light goes down
    by Beer's law through the water's own extinction and the chlorophyll's; the rest is taken up in the top
    decimetres at twice that extinction, at least 3 per metre. What reaches the bed of
    a layer warms that layer. The last two arguments are room to work in (LANES).
    """
    layers = rates.shape[1]
    for j in range(ix.LANES):
        entering = 0.92 * shortwave_w_m2[j]
        visible_w_m2[j] = entering * parameters[ix.PAR, j]
        infrared_w_m2[j] = entering - visible_w_m2[j]
    for k in range(layers):
        # nothing passes the bed of the last layer
        leaving_m2 = area_m2[k + 1] if k < layers - 1 else 0.0
        for j in range(ix.LANES):
            visible = visible_w_m2[j]
            infrared = infrared_w_m2[j]
            chlorophyll = state[ix.CHLOROPHYLL, k, j]
            extinction = parameters[ix.EXTINCTION, j] + ix.CHLOROPHYLL_EXTINCTION_M2_MG * chlorophyll
            tau = extinction * thickness_m
            below = visible * exp(-tau)
            below_infrared = infrared * exp(-max(2.0 * extinction, 3.0) * thickness_m)
            rates[ix.HEATING, k, j] = (visible + infrared) * area_m2[k] - (
                below + below_infrared
            ) * leaving_m2
            mean = (visible - below) / tau
            limitation = light_limitation_jassby_1976(photons_mccree_1972(mean), parameters[ix.I_K, j])
            warmth_number = temperature_factor_arrhenius_1889(
                state[ix.TEMPERATURE, k, j], parameters[ix.RESPIRATION_THETA, j]
            )
            limitation *= carbon_limitation_maberly_1983(rates[ix.PH, k, j])
            rates[ix.GROWTH, k, j] = parameters[ix.P_MAX, j] * chlorophyll * 1e-3 * limitation * warmth_number
            visible_w_m2[j] = below
            infrared_w_m2[j] = below_infrared


@vector_kernel
def demand_rates(
    state: Array, parameters: Array, swept_fraction: Array, bed_m2: Array, volume_m3: Array, rates: Array
) -> None:
    """Fill the oxygen demands of water and bed [g/m³/s], the bed's reduced flux [g/m³/s] and the θ factor.

    The respiration is that of bacteria on old matter; what the bloom respires follows what it fixed (`FRESH`).
    `swept_fraction` of each layer's bed is swept by running plumes.
    """
    for k in range(volume_m3.shape[0]):
        bed = bed_m2[k] / volume_m3[k]
        swept = swept_fraction[k]
        for j in range(ix.LANES):
            t = state[ix.TEMPERATURE, k, j]
            warm = temperature_factor_arrhenius_1889(t, parameters[ix.RESPIRATION_THETA, j])
            rates[ix.WARM, k, j] = warm
            rates[ix.BREATHING, k, j] = parameters[ix.RESPIRATION, j] * warm
            muddy = 1.0 + (parameters[ix.SWEEP, j] - 1.0) * swept
            bed_warm = temperature_factor_arrhenius_1889(t, parameters[ix.SEDIMENT_THETA, j])
            rates[ix.BED_DEMAND, k, j] = parameters[ix.SEDIMENT, j] * muddy * bed_warm * bed
            rates[ix.BED_REDUCED, k, j] = parameters[ix.REDUCED_FLUX, j] * bed_warm * bed


@vector_kernel
def water_shares(state: Array, parameters: Array, pressure_pa: Array, rates: Array) -> None:
    """Fill the un-ionised share of ammonia and of sulphide, from the pH of each layer's own water.

    Also the oxygen over which a layer gives off bubbles of its own [mg/L].
    """
    for k in range(rates.shape[1]):
        for j in range(ix.LANES):
            t, salt = state[ix.TEMPERATURE, k, j], state[ix.SALT, k, j]
            ph = ph_from_alkalinity_and_carbon(state[ix.ALKALINITY, k, j], state[ix.CARBON, k, j], t)
            rates[ix.PH, k, j] = ph
            rates[ix.AMMONIA_SHARE, k, j] = ammonia_unionized_fraction_bell_2008(t, salt, ph)
            rates[ix.H2S_SHARE, k, j] = parameters[
                ix.SULPHIDE_SHARE, j
            ] * sulphide_undissociated_fraction_millero_1988(t, salt, ph)
    for k in range(rates.shape[1]):
        for j in range(ix.LANES):
            rates[ix.MOST_O2, k, j] = ix.SUPERSATURATION * do_saturation_benson_krause_1984(
                state[ix.TEMPERATURE, k, j], state[ix.SALT, k, j], pressure_pa[j]
            )


@vector_kernel
def fill_density(state: Array, density_kg_m3: Array) -> None:
    """Fill the density of each layer (layers, LANES) [kg/m³]."""
    for k in range(density_kg_m3.shape[0]):
        for j in range(ix.LANES):
            density_kg_m3[k, j] = density_chen_millero_1986(state[ix.TEMPERATURE, k, j], state[ix.SALT, k, j])


@vector_kernel
def fill_diffusivity(
    density_kg_m3: Array, parameters: Array, surface_m2: float, thickness_m: float, k_m2_s: Array
) -> None:
    """Fill the background diffusivity of the face under each layer, the molecular part not included."""
    layers = density_kg_m3.shape[0]
    for k in range(layers - 1):
        for j in range(ix.LANES):
            n2 = 9.81 / 998.0 * (density_kg_m3[k + 1, j] - density_kg_m3[k, j]) / thickness_m
            k_m2_s[k, j] = parameters[ix.DIFFUSIVITY, j] * diffusivity_hondzo_1993(surface_m2, n2)


@vector_kernel
def diffusion_factors(
    k_m2_s: Array, molecular_m2_s: float, area_m2: Array, volume_m3: Array, thickness_m: float, step_s: float,
    factors: Array, above: Array, previous: Array,
) -> None:  # fmt: skip
    """Fill the elimination factors of the implicit diffusion for one hour; `molecular_m2_s` is added.

    The exchange between two layers is K A / Δz, A the area of the face between them, so heat and mass are
    conserved whatever the layers' volumes. The last two arguments are room to work in (LANES).
    """
    layers = volume_m3.shape[0]
    for j in range(ix.LANES):
        above[j] = 0.0
        previous[j] = 0.0
    for k in range(layers):
        conductance = area_m2[k + 1] / thickness_m * step_s if k < layers - 1 else 0.0
        inverse = 1.0 / volume_m3[k]
        for j in range(ix.LANES):
            exchange = (molecular_m2_s + k_m2_s[k, j]) * conductance
            low = above[j] * inverse
            high = exchange * inverse
            turn = 1.0 / (1.0 + low + high - low * previous[j])
            factors[ix.LOWER, k, j] = low
            factors[ix.PIVOT, k, j] = turn
            factors[ix.UPPER, k, j] = high * turn
            previous[j] = high * turn
            above[j] = exchange


@kernel
def fill_carbon(alkalinity_mol_m3: Array, ph: Array, state: Array) -> None:
    """Fill the inorganic carbon of the state from alkalinity by layer [mol/m³] and pH (layers, members)."""
    _, layers, members = state.shape
    for k in range(layers):
        for m in range(members):
            state[ix.CARBON, k, m] = carbon_from_alkalinity_and_ph(
                alkalinity_mol_m3[k], ph[k, m], state[ix.TEMPERATURE, k, m]
            )
