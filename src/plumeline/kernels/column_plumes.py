"""The plumes of all diffusers in every member's water, and what they carry from layer to layer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import fast_kernel, kernel
from plumeline.kernels.plume import RECORD_COLUMNS
from plumeline.kernels.plume_layers import plumes_over_layers
from plumeline.kernels.rise import AMBIENT_COLUMNS, SETTING_COUNT

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

PLUME_STEPS = 1  # least steps of the plume in one layer: 0.1 % of the transfer against 16


@kernel
def _moved(state: Array, solved_for_degc: Array, member: int) -> bool:
    """Tell whether a member's stratification has moved since its plumes were solved, and remember it anew."""
    layers = state.shape[1]
    mean = 0.0
    for k in range(layers):
        mean += state[ix.TEMPERATURE, k, member]
    mean /= layers
    most = 0.0
    for k in range(layers):
        most = max(most, abs(state[ix.TEMPERATURE, k, member] - mean - solved_for_degc[k, member]))
    if most < ix.MOVED_K:
        return False
    for k in range(layers):
        solved_for_degc[k, member] = state[ix.TEMPERATURE, k, member] - mean
    return True


@kernel
def solve_plumes(
    state: Array, parameters: Array, running: Flags, diffuser_depth_m: Array, air_mol_s: Array,
    interface_depth_m: Array, volume_m3: Array, pressure_pa: Array, withdrawn: Array, target_index: Ints,
    bubble_oxygen_g_s: Array, sinking_m3_s: Array, boil_m2: Array, flow_m3_s: Array, surface_m2: float,
    solved_for_degc: Array,
    substeps: Ints,
) -> None:  # fmt: skip
    """Solve every running diffuser in the members whose stratification moved; fill what each plume carries.

    Each diffuser has `PLUMES_EACH` rows of `withdrawn` and `target`. `substeps` is how many each member's
    fastest flow needs.
    """
    plumes, layers, members = withdrawn.shape
    temperature = np.empty(layers)
    salt_g_kg = np.empty(layers)
    oxygen = np.empty(layers)
    drawn = np.zeros((ix.PLUMES_EACH, layers))
    lands = np.zeros(ix.PLUMES_EACH, dtype=np.int64)
    gained = np.zeros(ix.PLUMES_EACH)
    work = (
        np.zeros((layers, AMBIENT_COLUMNS)),
        np.zeros(SETTING_COUNT),
        np.zeros((ix.PLUMES_EACH, RECORD_COLUMNS)),
        np.zeros((ix.PLUMES_EACH, 0, 3)),
    )
    for m in range(members):
        if not _moved(state, solved_for_degc, m):
            continue
        for p in range(plumes):
            target_index[p, m] = 0
            bubble_oxygen_g_s[p, m] = 0.0
            for k in range(layers):
                withdrawn[p, k, m] = 0.0
        boil_m2[m] = 0.0
        flow_m3_s[m] = 0.0
        for k in range(layers):
            temperature[k] = state[ix.TEMPERATURE, k, m]
            salt_g_kg[k] = state[ix.SALT, k, m]
            oxygen[k] = state[ix.OXYGEN, k, m]
        for d in range(running.shape[0]):
            if running[d] == 0:
                continue
            count, _, _, _, _ = plumes_over_layers(
                interface_depth_m, temperature, salt_g_kg, oxygen, diffuser_depth_m[d], air_mol_s[d],
                parameters[ix.ALPHA, m], parameters[ix.FROUDE, m], parameters[ix.LAMBDA, m],
                parameters[ix.SOURCE_RADIUS, m], parameters[ix.BUBBLE_RADIUS, m],
                parameters[ix.TRANSFER, m], pressure_pa[m], parameters[ix.REENTRAINMENT, m],
                PLUME_STEPS, work, drawn, lands, gained,
            )  # fmt: skip
            first = d * ix.PLUMES_EACH
            for p in range(count):
                for k in range(layers):
                    withdrawn[first + p, k, m] = drawn[p, k]
                    flow_m3_s[m] += drawn[p, k]
                target_index[first + p, m] = lands[p]
                bubble_oxygen_g_s[first + p, m] = gained[p]
            if count > 0 and lands[count - 1] == 0:
                radius = parameters[ix.BOIL_RADIUS, m] * diffuser_depth_m[d]
                boil_m2[m] = min(boil_m2[m] + np.pi * radius * radius, surface_m2)
    _close_column(withdrawn, target_index, sinking_m3_s, volume_m3, substeps)


@kernel
def _close_column(
    withdrawn: Array, target_index: Ints, sinking_m3_s: Array, volume_m3: Array, substeps: Ints
) -> None:
    """Fill the flow between layers that closes every layer's volume, and the substeps that it needs."""
    plumes, layers, members = withdrawn.shape
    gain = np.zeros(layers)
    for m in range(members):
        worst = 0.0
        gain[:] = 0.0
        for p in range(plumes):
            for k in range(layers):
                gain[k] -= withdrawn[p, k, m]
                gain[target_index[p, m]] += withdrawn[p, k, m]
        sinking_m3_s[0, m] = 0.0
        for k in range(layers):
            sinking_m3_s[k + 1, m] = sinking_m3_s[k, m] + gain[k]
            leaving = max(sinking_m3_s[k + 1, m], 0.0) + max(-sinking_m3_s[k, m], 0.0)
            for p in range(plumes):
                leaving += withdrawn[p, k, m]
            worst = max(worst, leaving / volume_m3[k])
        sinking_m3_s[layers, m] = 0.0
        substeps[m] = max(1, int(np.ceil(worst * ix.STEP_S / 0.8)))


@fast_kernel
def transport_step(
    state: Array, withdrawn: Array, target_index: Ints, bubble_oxygen_g_s: Array, sinking_m3_s: Array,
    volume_m3: Array,
    substeps: Ints, step_s: float, books: Array,
) -> None:  # fmt: skip
    """Draw water from the layers, deliver its mixture where it comes to rest, and let the column close.

    The flow between layers carries a limited slope (monotonised central), second order where the profile is
    smooth: plain upwind would melt the thermocline. Each state is conserved to round-off.
    """
    plumes, layers, members = withdrawn.shape
    change = np.empty((layers, members))
    amount = np.empty(members)
    dt = np.empty(members)
    rows = np.zeros(plumes, dtype=np.int64)
    used = 0
    for p in range(plumes):
        if withdrawn[p].max() > 0.0:
            rows[used] = p
            used += 1
    for part in range(substeps.max()):
        # each member keeps its own step, so that its result does not depend on the others beside it
        for m in range(members):
            dt[m] = step_s / substeps[m] if part < substeps[m] else 0.0
        for s in range(ix.STATES):
            change[:] = 0.0
            for r in range(used):
                p = rows[r]
                amount[:] = 0.0
                for k in range(layers):
                    for m in range(members):
                        taken = withdrawn[p, k, m] * state[s, k, m]
                        change[k, m] -= taken
                        amount[m] += taken
                for m in range(members):
                    change[target_index[p, m], m] += amount[m]
            for k in range(1, layers):
                above = max(k - 2, 0)
                under = min(k + 1, layers - 1)
                for m in range(members):
                    w = sinking_m3_s[k, m]
                    # from the layer above where the water sinks, from the one below where it rises
                    upper = state[s, k - 1, m]
                    lower = state[s, k, m]
                    step = lower - upper
                    here = upper if w > 0.0 else lower
                    other = upper - state[s, above, m] if w > 0.0 else state[s, under, m] - lower
                    # monotonised central slope: minmod spreads a thermocline several times faster
                    least = min(2.0 * abs(step), 2.0 * abs(other), 0.5 * abs(step + other))
                    slope = least if step > 0.0 else -least
                    slope = slope if step * other > 0.0 else 0.0
                    courant = abs(w) * dt[m] / (volume_m3[k - 1] if w > 0.0 else volume_m3[k])
                    side = 0.5 if w > 0.0 else -0.5
                    carried = w * (here + side * (1.0 - courant) * slope)
                    change[k - 1, m] -= carried
                    change[k, m] += carried
            for k in range(layers):
                for m in range(members):
                    state[s, k, m] += dt[m] * change[k, m] / volume_m3[k]
        for r in range(used):
            p = rows[r]
            for m in range(members):
                k = target_index[p, m]
                state[ix.OXYGEN, k, m] += bubble_oxygen_g_s[p, m] * dt[m] / volume_m3[k]
                books[ix.O2_BUBBLES, m] += bubble_oxygen_g_s[p, m] * dt[m]
