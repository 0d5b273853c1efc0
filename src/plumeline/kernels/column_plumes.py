"""The plumes of all diffusers in every member's water, and what they carry from layer to layer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import kernel
from plumeline.kernels.plume import RECORD_COLUMNS
from plumeline.kernels.plume_layers import plumes_over_layers
from plumeline.kernels.rise import AMBIENT_COLUMNS, SETTING_COUNT

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

PLUME_STEPS = 2  # least steps of the plume in one layer


@kernel
def solve_plumes(
    state: Array, parameters: Array, running: Flags, diffuser_depth_m: Array, air_mol_s: Array,
    interface_depth_m: Array, volume: Array, pressure: Array, withdrawn: Array, target: Ints,
    bubble_oxygen: Array, sinking: Array, boil_m2: Array, flow: Array, surface_m2: float,
) -> tuple[int, int]:  # fmt: skip
    """Solve every running diffuser in every member and fill what each plume draws and where it delivers.

    Returns how many plume rows are in use and how many substeps the fastest flow needs.
    """
    plumes, layers, members = withdrawn.shape
    temperature = np.empty(layers)
    salt = np.empty(layers)
    oxygen = np.empty(layers)
    drawn = np.zeros((ix.PLUMES_EACH, layers))
    lands = np.zeros(ix.PLUMES_EACH, dtype=np.int64)
    gained = np.zeros(ix.PLUMES_EACH)
    withdrawn[:] = 0.0
    target[:] = 0
    bubble_oxygen[:] = 0.0
    boil_m2[:] = 0.0
    flow[:] = 0.0
    work = (
        np.zeros((layers, AMBIENT_COLUMNS)),
        np.zeros(SETTING_COUNT),
        np.zeros((ix.PLUMES_EACH, RECORD_COLUMNS)),
        np.zeros((ix.PLUMES_EACH, 0, 3)),
    )
    used = 0
    worst = 0.0
    turnover = np.zeros(layers)
    for d in range(running.shape[0]):
        if running[d] == 0:
            continue
        most = 0
        for m in range(members):
            for k in range(layers):
                temperature[k] = state[ix.TEMPERATURE, k, m]
                salt[k] = state[ix.SALT, k, m]
                oxygen[k] = state[ix.OXYGEN, k, m]
            count, _, _, _, _ = plumes_over_layers(
                interface_depth_m, temperature, salt, oxygen, diffuser_depth_m[d], air_mol_s[d],
                parameters[ix.ALPHA, m], parameters[ix.FROUDE, m], parameters[ix.LAMBDA, m],
                parameters[ix.SOURCE_RADIUS, m], parameters[ix.BUBBLE_RADIUS, m],
                parameters[ix.TRANSFER, m], pressure[m], parameters[ix.REENTRAINMENT, m],
                PLUME_STEPS, work, drawn, lands, gained,
            )  # fmt: skip
            most = max(most, count)
            for p in range(count):
                for k in range(layers):
                    withdrawn[used + p, k, m] = drawn[p, k]
                    flow[m] += drawn[p, k]
                target[used + p, m] = lands[p]
                bubble_oxygen[used + p, m] = gained[p]
            if count > 0 and lands[count - 1] == 0:
                radius = parameters[ix.BOIL_RADIUS, m] * diffuser_depth_m[d]
                boil_m2[m] = min(boil_m2[m] + np.pi * radius * radius, surface_m2)
        used += most
    for m in range(members):
        sinking[0, m] = 0.0
        turnover[:] = 0.0
        for p in range(used):
            for k in range(layers):
                turnover[k] -= withdrawn[p, k, m]
                turnover[target[p, m]] += withdrawn[p, k, m]
        for k in range(layers):
            sinking[k + 1, m] = sinking[k, m] + turnover[k]
            leaving = max(sinking[k + 1, m], 0.0) + max(-sinking[k, m], 0.0)
            for p in range(used):
                leaving += withdrawn[p, k, m]
            worst = max(worst, leaving / volume[k])
        sinking[layers, m] = 0.0
    return used, max(1, int(np.ceil(worst * ix.STEP_S / 0.8)))


@kernel
def _limited(back: float, ahead: float) -> float:
    """Return the smaller of two slopes of one sign, or none."""
    if back * ahead <= 0.0:
        return 0.0
    return back if abs(back) < abs(ahead) else ahead


@kernel
def transport_step(
    state: Array, withdrawn: Array, target: Ints, bubble_oxygen: Array, sinking: Array, volume: Array,
    used: int, substeps: int, step_s: float, books: Array,
) -> None:  # fmt: skip
    """Draw water from the layers, deliver its mixture where it comes to rest, and let the column close.

    The flow between layers carries a limited slope (minmod), second order where the profile is smooth: plain
    upwind would melt the thermocline. Each state is conserved to round-off.
    """
    layers, members = volume.shape[0], state.shape[2]
    dt = step_s / substeps
    change = np.empty((layers, members))
    total = np.zeros((max(used, 1), members))
    for p in range(used):
        for k in range(layers):
            for m in range(members):
                total[p, m] += withdrawn[p, k, m]
    for _ in range(substeps):
        for s in range(ix.STATES):
            change[:] = 0.0
            for p in range(used):
                for m in range(members):
                    if total[p, m] <= 0.0:
                        continue
                    amount = 0.0
                    for k in range(layers):
                        taken = withdrawn[p, k, m] * state[s, k, m]
                        change[k, m] -= taken
                        amount += taken
                    change[target[p, m], m] += amount
            for k in range(1, layers):
                for m in range(members):
                    w = sinking[k, m]
                    # from the layer above where the water sinks, from the one below where it rises
                    u = k - 1 if w > 0.0 else k
                    here = state[s, u, m]
                    before = state[s, max(u - 1, 0), m]
                    behind = state[s, min(u + 1, layers - 1), m]
                    slope = _limited(here - before, behind - here)
                    courant = abs(w) * dt / volume[u]
                    side = 0.5 if w > 0.0 else -0.5
                    carried = w * (here + side * (1.0 - courant) * slope)
                    change[k - 1, m] -= carried
                    change[k, m] += carried
            for k in range(layers):
                for m in range(members):
                    state[s, k, m] += dt * change[k, m] / volume[k]
        for p in range(used):
            for m in range(members):
                k = target[p, m]
                state[ix.OXYGEN, k, m] += bubble_oxygen[p, m] * dt / volume[k]
                books[ix.O2_BUBBLES, m] += bubble_oxygen[p, m] * dt
