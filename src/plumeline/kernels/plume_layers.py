"""Bubble plumes over one diffuser in a column of layers: what they draw from each and where they bring it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from plumeline.kernels.jit import fast_kernel
from plumeline.kernels.plume import (
    END_DEPTH,
    END_SALINITY,
    END_TEMPERATURE,
    FLOW,
    OXYGEN_LEFT,
    OXYGEN_UPTAKE,
    RECORD_COLUMNS,
    SURFACED,
    fall,
    fill_layers,
    fill_setting,
    rise_all,
)
from plumeline.kernels.rise import AMBIENT_COLUMNS, ORDER, SETTING_COUNT
from plumeline.kernels.solubility import OXYGEN_MOLAR_MASS_G_MOL, PROGRAM_LAW, oxygen_share

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.int64]
Workspace = tuple[Array, Array, Array, Array]

MOST_PLUMES = 6


def workspace(layer_count: int, most_plumes: int = MOST_PLUMES) -> Workspace:
    """Return the arrays that `plumes_over_layers` works in, one set for each thread.

    Args:
        layer_count: K, the number of layers.
        most_plumes: P, the most plumes over one diffuser.
    Returns:
        Ambient (K, AMBIENT_COLUMNS), setting (SETTING_COUNT,), records (P, RECORD_COLUMNS) and an empty
        trace (P, 0, 3).
    """
    return (
        np.zeros((layer_count, AMBIENT_COLUMNS)),
        np.zeros(SETTING_COUNT),
        np.zeros((most_plumes, RECORD_COLUMNS)),
        np.zeros((most_plumes, 0, 3)),
    )


@fast_kernel
def plumes_over_layers(
    interface_depth_m: Array,
    temperature_degc: Array,
    salinity_g_kg: Array,
    do_mg_l: Array,
    diffuser_depth_m: float,
    air_mol_s: float,
    alpha_number: float,
    froude_number: float,
    lambda_number: float,
    source_radius_m: float,
    bubble_radius_m: float,
    transfer_factor_number: float,
    surface_pressure_pa: float,
    reentrain_fraction: float,
    steps_per_layer: int,
    work: Workspace,
    withdrawn_m3_s: Array,
    target_index: Indices,
    oxygen_from_gas_g_s: Array,
) -> tuple[int, float, float, float, float]:
    """Solve all plumes over one diffuser in a column of layers, each plume on its own row.

    Plume p draws `withdrawn_m3_s[p, k]` from layer k and brings the sum, with `oxygen_from_gas_g_s[p]`, to
    layer `target_index[p]`: that of equal density, or the surface layer when it surfaces. Any scalar
    of the water it brings is the mean over layers weighted by what it draws.

    Args:
        interface_depth_m: depths of the interfaces, the first 0, shape (K + 1,) [m].
        temperature_degc: shape (K,) [°C].
        salinity_g_kg: shape (K,) [g/kg].
        do_mg_l: oxygen, shape (K,) [mg/L].
        diffuser_depth_m: depth of the membrane; taken at the last interface when below it [m].
        air_mol_s: dry air [mol/s]; 0 gives no plume.
        alpha_number: top-hat entrainment coefficient [-].
        froude_number: densimetric Froude number of the start [-].
        lambda_number: radius of the bubble core over that of the plume [-].
        source_radius_m: radius of the bubble core at the start [m].
        bubble_radius_m: radius of the bubbles as they leave the membrane [m].
        transfer_factor_number: factor on K_L [-].
        surface_pressure_pa: air pressure [Pa].
        reentrain_fraction: share of its flow that falling water may take up [-].
        steps_per_layer: least number of steps in one layer; 0 for one by the midpoint rule, which is quicker.
        work: from `workspace(K, P)`.
        withdrawn_m3_s: filled, shape (P, K) [m³/s].
        target_index: filled, shape (P,); -1 where there is no plume.
        oxygen_from_gas_g_s: filled, shape (P,) [g/s]; below zero where bubbles strip oxygen.
    Returns:
        (number of plumes, 1.0 when the first plume surfaces else 0.0, flow of the first plume [m³/s],
        depth of the first peel, NaN when it surfaces [m], share of the oxygen taken up on the whole way).
    """
    ambient = work[0]
    fill_layers(temperature_degc, salinity_g_kg, do_mg_l, surface_pressure_pa, PROGRAM_LAW, ambient)
    return plumes_in_ambient(
        interface_depth_m, diffuser_depth_m, air_mol_s, alpha_number, froude_number, lambda_number,
        source_radius_m, bubble_radius_m, transfer_factor_number, surface_pressure_pa, reentrain_fraction,
        steps_per_layer, work, withdrawn_m3_s, target_index, oxygen_from_gas_g_s,
    )  # fmt: skip


@fast_kernel
def plumes_in_ambient(
    interface_depth_m: Array,
    diffuser_depth_m: float,
    air_mol_s: float,
    alpha_number: float,
    froude_number: float,
    lambda_number: float,
    source_radius_m: float,
    bubble_radius_m: float,
    transfer_factor_number: float,
    surface_pressure_pa: float,
    reentrain_fraction: float,
    steps_per_layer: int,
    work: Workspace,
    withdrawn_m3_s: Array,
    target_index: Indices,
    oxygen_from_gas_g_s: Array,
) -> tuple[int, float, float, float, float]:
    """Solve as `plumes_over_layers` in water that `work` holds already (`fill_layers`): for several diffusers in it."""
    ambient, setting, records, trace = work
    withdrawn_m3_s[:, :] = 0.0
    oxygen_from_gas_g_s[:] = 0.0
    target_index[:] = -1
    fill_setting(
        alpha_number, froude_number, lambda_number, source_radius_m, transfer_factor_number,
        surface_pressure_pa, PROGRAM_LAW, setting,
    )  # fmt: skip
    if steps_per_layer == 0:
        setting[ORDER] = 2.0
    depth = min(diffuser_depth_m, float(interface_depth_m[len(ambient)]))
    count = rise_all(
        depth, air_mol_s, bubble_radius_m, interface_depth_m, ambient, setting, max(steps_per_layer, 1),
        withdrawn_m3_s, trace, records,
    )  # fmt: skip
    if count == 0:
        return 0, 0.0, 0.0, np.nan, 0.0
    for p in range(count):
        record = records[p]
        oxygen_from_gas_g_s[p] = record[OXYGEN_UPTAKE] * OXYGEN_MOLAR_MASS_G_MOL
        if record[SURFACED] > 0.0:
            target_index[p] = 0
        else:
            _, target_index[p] = fall(
                record[END_DEPTH], record[FLOW], record[END_TEMPERATURE], record[END_SALINITY],
                reentrain_fraction, interface_depth_m, ambient, withdrawn_m3_s[p],
            )  # fmt: skip
    oxygen = oxygen_share(PROGRAM_LAW) * air_mol_s
    efficiency = 1.0 - records[count - 1, OXYGEN_LEFT] / oxygen
    peel = np.nan if records[0, SURFACED] > 0.0 else records[0, END_DEPTH]
    return count, records[0, SURFACED], records[0, FLOW], peel, efficiency
