"""Compile every kernel that the program calls, once, so that later starts find it in the cache.

Run by set-up as ``python -m plumeline.kernels.warm``; quick when all is cached already. Each kernel is called
with the types that the stages use: a kernel calls the others, so the ones called from outside are enough.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt

from plumeline.kernels import column_index as ix
from plumeline.kernels import network, network_balance, network_newton, plume
from plumeline.kernels.column import advance, forget_plumes
from plumeline.kernels.column_block import (
    Air,
    Basin,
    Conditions,
    Members,
    Told,
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
from plumeline.kernels.column_plumes import solve_plumes
from plumeline.kernels.column_rates import (
    demand_rates,
    diffusion_factors,
    fill_carbon,
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
from plumeline.kernels.plume_lanes import make_rising
from plumeline.kernels.plume_samples import DRAW_COLUMNS, OUT_COLUMNS, plume_samples
from plumeline.kernels.rise import AMBIENT_COLUMNS, SETTING_COUNT
from plumeline.kernels.smell import fill_h2s
from plumeline.kernels.solubility import PROGRAM_LAW, oxygen_share
from plumeline.kernels.weather_shift import shift_weather

Array = npt.NDArray[np.float64]

DEPTH_M = 2.0
AIR_MOL_S = 0.02
PRESSURE_PA = 101325.0
PLUMES = 2
# entrainment, Froude number, λ, source and bubble radius, transfer, re-entrainment: in the order of the parameters
PLUME_OF_ONE = (0.075, 1.6, 0.8, 0.1, 1e-3, 1.0, 0.5)
HELPER = "--steps"


def warm() -> None:
    """Call each kernel once on a tiny input.

    With an empty cache a second process compiles the steps of the column meanwhile; this one then finds them.
    """
    helper = None if _is_warm() else _start_helper()
    warm_plume()
    warm_network()
    warm_rising()
    if helper is not None:
        helper.wait()
    warm_column()


def _is_warm() -> bool:
    """Tell whether the column, which is compiled last, stands in the cache already."""
    return any(Path(os.environ["NUMBA_CACHE_DIR"]).rglob("column.advance-*.nbi"))


def _start_helper() -> subprocess.Popen[bytes] | None:
    """Start a process that compiles the steps of the column, or return None where none can be started."""
    try:
        return subprocess.Popen([sys.executable, "-m", "plumeline.kernels.warm", HELPER])
    except OSError:
        return None


def warm_steps() -> None:
    """Call every step of the column on a block of nothing much."""
    layers = 4
    block, plumes = make_block(layers), make_plumes(layers, 1)
    state, parameters, rates, books, row = block.state, block.parameters, block.rates, block.books, block.row
    state[ix.TEMPERATURE], state[ix.ALKALINITY], state[ix.CARBON] = 20.0, 1.0, 1.0
    parameters[:], block.weather[:] = 1.0, 1.0
    block.weather[ix.PRESSURE] = PRESSURE_PA
    area, volume, centre, bed = (
        np.full(layers + 1, 100.0),
        np.full(layers, 50.0),
        np.ones(layers),
        np.ones(layers),
    )
    layer, face, whole, limits = block.layer, block.face, block.whole, np.zeros(ix.LIMITS)
    step_s = ix.STEP_S
    light_rates(state, parameters, row[0], area, 0.5, rates, row[1], row[2])
    demand_rates(state, parameters, np.zeros(layers), bed, volume, rates)
    water_shares(state, parameters, block.weather[ix.PRESSURE], rates)
    fill_density(state, layer[0])
    fill_diffusivity(layer[0], parameters, 100.0, 0.5, layer[1])
    diffusion_factors(layer[1], 1e-7, area, volume, 0.5, step_s, block.heat_factors, row[0], row[1])
    surface_step(state, parameters, block.weather, 100.0, 50.0, step_s, books, row[0])
    wind_transfer(parameters, block.weather, block.k600_m_s)
    gas_step(
        state, parameters, block.weather, rates, block.k600_m_s, row[0], 100.0, 50.0, row[1], step_s, books
    )
    warming_step(state, block.bed_degc, rates, bed, volume, step_s, books)
    oxygen_step(state, parameters, rates, volume, step_s, books, block.fluxes)
    matter_step(state, parameters, rates, volume, 0.0, step_s, books, block.fluxes)
    diffusion_step(state, block.heat_factors, 0, 1, row[0])
    transport_step(state, plumes, volume, step_s, books, row[0], row[1], layer[0], face[0], face[1], whole[0])
    wind_work(parameters, block.weather, 100.0, step_s, row[0])
    grow_mixed_layer(
        layer[0], state, volume, centre, row[0], row[1], row[2], row[3], row[4], whole[0], whole[1]
    )
    mix_from_the_top(state, volume, 1, whole[0], row[1], row[2], row[3], row[4], row[5])
    count_unstable(layer[0], whole[0], whole[1])
    overturn(state, 0, volume, np.zeros(layers, dtype=np.int64), centre.copy(), centre.copy(), centre.copy())
    refuge_step(state, rates, limits, volume, 0.5, row[0], row[1], row[2])
    watch_refuge(
        state, rates, limits, volume, 0.5, row[2], 0, 1, block.refuge_steps[0], block.refuge_steps[1],
        block.refuge_steps[2],
    )  # fmt: skip


def warm_rising() -> None:
    """Solve the plumes of one diffuser in a block."""
    layers = 4
    block, plumes = make_block(layers), make_plumes(layers, 1)
    block.state[ix.TEMPERATURE] = 20.0
    for i, value in enumerate(PLUME_OF_ONE):
        block.parameters[ix.ALPHA + i] = value
    faces_m = np.linspace(0.0, DEPTH_M, layers + 1)
    basin = Basin(
        faces_m, np.full(layers + 1, 100.0), np.full(layers, 50.0), 0.5 * (faces_m[1:] + faces_m[:-1])
    )
    forget_plumes(plumes)
    solve_plumes(
        block.state, block.parameters, np.ones(1, dtype=np.uint8),
        Air(np.ones((1, 1), dtype=np.uint8), np.array([1.5]), np.array([AIR_MOL_S])), basin,
        np.full(ix.LANES, PRESSURE_PA), plumes, make_rising(layers),
    )  # fmt: skip


def warm_plume() -> None:
    """Call the kernels of the plume: the water around it, one rise, many draws."""
    oxygen_share(PROGRAM_LAW)
    interface_m = np.linspace(0.0, DEPTH_M, 9)
    ambient = np.zeros((len(interface_m) - 1, AMBIENT_COLUMNS))
    rows = np.zeros(len(interface_m))
    plume.fill_segments(interface_m, rows + 20.0, rows, rows + 5.0, PRESSURE_PA, PROGRAM_LAW, ambient)
    draws = np.array([[0.075, 0.1, 1.6, 1e-3, 0.8, 1.0]])
    assert draws.shape[1] == DRAW_COLUMNS, "a draw has the columns that plume_samples reads"
    setting = np.empty(SETTING_COUNT)
    plume.fill_setting(0.075, 1.6, 0.8, 0.1, 1.0, PRESSURE_PA, PROGRAM_LAW, setting)
    plume.rise_all(
        DEPTH_M, AIR_MOL_S, 1e-3, interface_m, ambient, setting, 1, np.zeros((PLUMES, len(ambient))),
        np.full((PLUMES, len(interface_m), 3), np.nan), np.zeros((PLUMES, plume.RECORD_COLUMNS)),
    )  # fmt: skip
    plume_samples(
        interface_m, ambient, DEPTH_M, AIR_MOL_S, PRESSURE_PA, PROGRAM_LAW, 1, PLUMES, draws,
        np.empty((1, OUT_COLUMNS)),
    )  # fmt: skip


def warm_network() -> None:
    """Call the kernels of the air network: valves open, valves set, the pressure of one piece."""
    ones = np.ones(3)
    net = network.Network(
        parent=np.array([-1, 0, 1]),
        length_m=100.0 * ones,
        bore_m=0.02 * ones,
        roughness_m=1.5e-6 * ones,
        loss_number=0.0 * ones,
        temperature_k=293.15 * ones,
        viscosity_pa_s=1.8e-5 * ones,
        threshold_pa=0.0 * ones,
        closed=np.zeros(3, dtype=np.bool_),
        outlet_node=np.array([2]),
        outlet_pressure_pa=np.array([PRESSURE_PA + 2e4]),
        loss_start=np.array([0, 1]),
        loss_flow_kg_s=np.array([0.0]),
        loss_pressure_pa=np.array([3e3]),
        curve_pressure_pa=np.array([0.0, 1e5]),
        curve_mass_flow_kg_s=np.array([2e-3, 1e-3]),
        ambient_pressure_pa=PRESSURE_PA,
        gas_constant_j_kg_k=287.05,
        friction_law=network.CHURCHILL,
    )
    outlet_kg_s, pressure_pa, flow_kg_s = np.zeros(1), np.zeros(3), np.zeros(3)
    network_newton.solve_network(net, outlet_kg_s, pressure_pa, flow_kg_s)
    network_balance.solve_balanced(net, np.ones(1), flow_kg_s, pressure_pa)
    network_newton.find_live(net, np.zeros(3, dtype=np.bool_))
    network_newton.bubbling_pressure(net, 0)
    network.piece_inlet_pressure(net, 1, 1e-3, PRESSURE_PA)
    network.piece_outlet_pressure(net, 1, 1e-3, PRESSURE_PA)
    network.compressor_mass_flow(net, 2e4)


def warm_column() -> None:
    """Call the water column for no time at all: it compiles whole before it asks for how long."""
    layers, members, hours, diffusers = 4, 2, 1, 1
    faces_m = np.linspace(0.0, DEPTH_M, layers + 1)

    def counts() -> npt.NDArray[np.int64]:
        return np.zeros(members, dtype=np.int64)

    shift_weather(np.ones((ix.WEATHER, 1, 1)), np.zeros(1), *(np.ones((1, 1)) for _ in range(3)))
    fill_carbon(np.full(layers, 1.0), np.full((layers, members), 7.5), np.zeros((ix.STATES, layers, members)))
    fill_h2s(np.ones((ix.STATES, layers, members)), np.ones(members), np.zeros((layers, members)))
    advance(
        Members(
            np.zeros((ix.STATES, layers, members)), np.zeros((ix.BED_SLABS * layers, members)),
            counts(), counts(), counts(), np.zeros(1, dtype=np.int64),
        ),
        Basin(
            faces_m, np.full(layers + 1, 100.0), np.full(layers, 50.0), 0.5 * (faces_m[1:] + faces_m[:-1])
        ),
        Conditions(
            np.zeros((ix.PARAMETERS, members)), np.zeros((ix.WEATHER, hours, members)), np.zeros(ix.LIMITS)
        ),
        Air(
            np.zeros((hours * ix.STEPS_EACH_HOUR, diffusers), dtype=np.uint8), np.array([1.5]),
            np.array([AIR_MOL_S]),
        ),
        Told(
            np.zeros((ix.FLUXES, members)), np.zeros((ix.RECORDS, hours, members)),
            np.zeros((2, 0, layers, members)),
        ),
        0, 1, 0, 0,
    )  # fmt: skip


if __name__ == "__main__":
    if HELPER in sys.argv:
        warm_steps()
    else:
        warm()
