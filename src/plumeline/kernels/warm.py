"""Compile every kernel that the program calls, once, so that later starts find it in the cache.

Run by set-up as ``python -m plumeline.kernels.warm``; quick when all is cached already. Each kernel is called
with the types that the stages use: a kernel calls the others, so the ones called from outside are enough.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from plumeline.kernels import column_index as ix
from plumeline.kernels import network, plume
from plumeline.kernels.column import advance
from plumeline.kernels.column_block import Air, Basin, Conditions, Members, Told
from plumeline.kernels.column_rates import fill_carbon
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


def warm() -> None:
    """Call each kernel once on a tiny input."""
    warm_plume()
    warm_network()
    warm_column()


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
    """Call the kernels of the air network: valves open, valves set, the pressure of one chain."""
    net = network.Network(
        length_m=np.array([100.0, 30.0]),
        bore_m=np.array([0.02, 0.0127]),
        roughness_m=np.array([1.5e-6, 1.5e-6]),
        minor_loss_number=np.zeros(2),
        temperature_k=np.full(2, 293.15),
        viscosity_pa_s=np.full(2, 1.8e-5),
        chain_start=np.array([0, 1, 2]),
        outlet_pressure_pa=np.array([PRESSURE_PA + 2e4]),
        curve_pressure_pa=np.array([0.0, 1e5]),
        curve_mass_flow_kg_s=np.array([2e-3, 1e-3]),
        ambient_pressure_pa=PRESSURE_PA,
        gas_constant_j_kg_k=287.05,
        friction_law=network.CHURCHILL,
    )
    flow_kg_s, port_pa = np.zeros(1), np.zeros(1)
    network.solve_network(net, flow_kg_s)
    network.solve_balanced(net, np.ones(1), port_pa)
    network.port_pressures(net, 1e-3, np.ones(1), port_pa)
    network.chain_inlet_pressure(net, 1, 1e-3, PRESSURE_PA)


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
    warm()
