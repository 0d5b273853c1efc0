"""What changes by the hour in the water column: light, rates, diffusivities, and the shares that poison."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel
from plumeline.kernels.relations import (
    ammonia_unionized_fraction_emerson_1975,
    carbon_from_alkalinity_and_ph,
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


@kernel
def light_rates(
    state: Array, parameters: Array, shortwave_w_m2: Array, area_m2: Array, volume_m3: Array, thickness_m: float,
    heating_w: Array, growth_g_m3_s: Array,
) -> None:  # fmt: skip
    """Fill the shortwave that each layer absorbs [W] and its oxygen production [g/m³/s].

    Visible light goes down by Beer's law through the water's own extinction and the chlorophyll's; the rest
    is taken up in the top decimetres at twice that extinction, at least 3 per metre. What reaches the bed of
    a layer warms that layer.
    """
    layers, members = volume_m3.shape[0], shortwave_w_m2.shape[0]
    for m in range(members):
        entering = 0.92 * shortwave_w_m2[m]
        if entering <= 0.0:
            for k in range(layers):
                heating_w[k, m] = 0.0
                growth_g_m3_s[k, m] = 0.0
            continue
        visible = entering * parameters[ix.PAR, m]
        infrared = entering - visible
        for k in range(layers):
            chlorophyll = state[ix.CHLOROPHYLL, k, m]
            extinction = parameters[ix.EXTINCTION, m] + ix.CHLOROPHYLL_EXTINCTION_M2_MG * chlorophyll
            tau = extinction * thickness_m
            below = visible * np.exp(-tau)
            below_infrared = infrared * np.exp(-max(2.0 * extinction, 3.0) * thickness_m)
            heating_w[k, m] = (visible + infrared) * area_m2[k] - (below + below_infrared) * area_m2[k + 1]
            if k == layers - 1:
                heating_w[k, m] = (visible + infrared) * area_m2[k]
            mean = (visible - below) / tau
            limitation = light_limitation_jassby_1976(photons_mccree_1972(mean), parameters[ix.I_K, m])
            warmth_degc = temperature_factor_arrhenius_1889(
                state[ix.TEMPERATURE, k, m], parameters[ix.RESPIRATION_THETA, m]
            )
            growth_g_m3_s[k, m] = parameters[ix.P_MAX, m] * chlorophyll * 1e-3 * limitation * warmth_degc
            visible = below
            infrared = below_infrared


@kernel
def demand_rates(
    state: Array, parameters: Array, swept_fraction: Array, area_m2: Array, volume_m3: Array, running: bool,
    respiration_g_m3_s: Array, sediment_g_m3_s: Array, reduced_g_m3_s: Array, warm_number: Array,
) -> None:  # fmt: skip
    """Fill the oxygen demands of water and bed [g/m³/s], the bed's reduced flux [g/m³/s] and the θ factor.

    The respiration follows the chlorophyll: the 0.4 of it that does not is bacteria and detritus.
    """
    layers, members = volume_m3.shape[0], parameters.shape[1]
    for k in range(layers):
        bed = (area_m2[k] - (area_m2[k + 1] if k < layers - 1 else 0.0)) / volume_m3[k]
        for m in range(members):
            t = state[ix.TEMPERATURE, k, m]
            warm_number[k, m] = temperature_factor_arrhenius_1889(t, parameters[ix.RESPIRATION_THETA, m])
            bloom = state[ix.CHLOROPHYLL, k, m] / parameters[ix.CHLOROPHYLL_0, m]
            respiration_g_m3_s[k, m] = parameters[ix.RESPIRATION, m] * (0.4 + 0.6 * bloom) * warm_number[k, m]
            muddy = 1.0 + (parameters[ix.SWEEP, m] - 1.0) * swept_fraction[k] if running else 1.0
            bed_warm = temperature_factor_arrhenius_1889(t, parameters[ix.SEDIMENT_THETA, m])
            sediment_g_m3_s[k, m] = parameters[ix.SEDIMENT, m] * muddy * bed_warm * bed
            reduced_g_m3_s[k, m] = parameters[ix.REDUCED_FLUX, m] * bed_warm * bed


@kernel
def water_shares(
    state: Array,
    parameters: Array,
    pressure_pa: Array,
    ammonia_share: Array,
    h2s_share: Array,
    most_do_mg_l: Array,
) -> None:
    """Fill the un-ionised share of ammonia and of sulphide, from the pH of each layer's own water.

    Also the oxygen over which a layer gives off bubbles of its own [mg/L].
    """
    _, layers, members = state.shape
    for k in range(layers):
        for m in range(members):
            t = state[ix.TEMPERATURE, k, m]
            ph = ph_from_alkalinity_and_carbon(state[ix.ALKALINITY, k, m], state[ix.CARBON, k, m], t)
            most_do_mg_l[k, m] = ix.SUPERSATURATION * do_saturation_benson_krause_1984(
                t, state[ix.SALT, k, m], pressure_pa[m]
            )
            ammonia_share[k, m] = ammonia_unionized_fraction_emerson_1975(t, ph)
            h2s_share[k, m] = parameters[ix.SULPHIDE_SHARE, m] * sulphide_undissociated_fraction_millero_1988(
                t, ph
            )


@kernel
def diffusion_factors(
    state: Array, parameters: Array, area_m2: Array, volume_m3: Array, thickness_m: float, step_s: float,
    molecular_m2_s: float, lower: Array, upper: Array, pivot: Array,
) -> None:  # fmt: skip
    """Fill the elimination factors of the implicit diffusion for one hour; `molecular_m2_s` is added.

    The exchange between two layers is K A / Δz, A the area of the face between them, so heat and mass are
    conserved whatever the layers' volumes.
    """
    layers, members = volume_m3.shape[0], parameters.shape[1]
    for m in range(members):
        above = 0.0
        previous = 0.0
        density = density_chen_millero_1986(state[ix.TEMPERATURE, 0, m], state[ix.SALT, 0, m])
        for k in range(layers):
            exchange = 0.0
            if k < layers - 1:
                below = density_chen_millero_1986(state[ix.TEMPERATURE, k + 1, m], state[ix.SALT, k + 1, m])
                n2 = 9.81 / 998.0 * (below - density) / thickness_m
                k_m2_s = molecular_m2_s + parameters[ix.DIFFUSIVITY, m] * diffusivity_hondzo_1993(
                    area_m2[0], n2
                )
                exchange = k_m2_s * area_m2[k + 1] / thickness_m * step_s
                density = below
            lower[k, m] = above / volume_m3[k]
            high = exchange / volume_m3[k]
            pivot[k, m] = 1.0 / (1.0 + lower[k, m] + high - lower[k, m] * previous)
            upper[k, m] = high * pivot[k, m]
            previous = upper[k, m]
            above = exchange


@kernel
def fill_carbon(alkalinity_mol_m3: Array, ph: Array, state: Array) -> None:
    """Fill the inorganic carbon of the state from alkalinity by layer [mol/m³] and pH (layers, members)."""
    _, layers, members = state.shape
    for k in range(layers):
        for m in range(members):
            state[ix.CARBON, k, m] = carbon_from_alkalinity_and_ph(
                alkalinity_mol_m3[k], ph[k, m], state[ix.TEMPERATURE, k, m]
            )
