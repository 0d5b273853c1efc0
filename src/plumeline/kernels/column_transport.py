"""What the plumes carry from layer to layer, and the flow that closes the column behind them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.column_block import Plumes
from plumeline.kernels.jit import vector_kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_OF_A_LAYER = 0.8


@vector_kernel
def transport_step(
    state: Array, plumes: Plumes, volume_m3: Array, step_s: float, books: Array, amount: Array, part_s: Array,
    gain: Array, lead_m3_s: Array, flux: Array, parts: Ints,
) -> None:  # fmt: skip
    """Draw water from the layers, deliver its mixture where it comes to rest, and let the column close.

    The flow between layers carries a limited slope (monotonised central), second order where the profile is
    smooth: plain upwind would melt the thermocline. Each state is conserved to round-off. The last six arguments
    are room to work in: two rows (LANES), a layer array, two face arrays, a row of whole numbers.
    """
    layers = volume_m3.shape[0]
    most = 1
    rows = 0
    for j in range(ix.LANES):
        # no layer gives away more than four fifths of itself in one part of the step
        parts[j] = max(1, int(np.ceil(plumes.renewal_1_s[j] * step_s / MOST_OF_A_LAYER)))
        most = max(most, parts[j])
        rows = max(rows, plumes.row_count[j])
    for j in range(ix.LANES):
        flux[0, j] = 0.0
        flux[layers, j] = 0.0
    for part in range(most):
        # each member keeps its own step, so that its result does not depend on the others beside it
        for j in range(ix.LANES):
            part_s[j] = step_s / parts[j] if part < parts[j] else 0.0
        for k in range(1, layers):
            for j in range(ix.LANES):
                w = plumes.sinking_m3_s[k, j]
                courant = abs(w) * part_s[j] / (volume_m3[k - 1] if w > 0.0 else volume_m3[k])
                lead_m3_s[k, j] = 0.5 * abs(w) * (1.0 - courant)
        for s in range(state.shape[0]):
            for k in range(layers):
                for j in range(ix.LANES):
                    gain[k, j] = 0.0
            for p in range(rows):
                for j in range(ix.LANES):
                    amount[j] = 0.0
                for k in range(layers):
                    for j in range(ix.LANES):
                        amount[j] += plumes.withdrawn_m3_s[p, k, j] * state[s, k, j]
                for j in range(ix.LANES):
                    gain[plumes.target_index[p, j], j] += amount[j]
            for k in range(1, layers):
                above = max(k - 2, 0)
                under = min(k + 1, layers - 1)
                for j in range(ix.LANES):
                    w = plumes.sinking_m3_s[k, j]
                    # from the layer above where the water sinks, from the one below where it rises
                    upper = state[s, k - 1, j]
                    lower = state[s, k, j]
                    step = lower - upper
                    here = upper if w > 0.0 else lower
                    other = upper - state[s, above, j] if w > 0.0 else state[s, under, j] - lower
                    # monotonised central slope: minmod spreads a thermocline several times faster
                    least = min(2.0 * abs(step), 2.0 * abs(other), 0.5 * abs(step + other))
                    slope = least if step > 0.0 else -least
                    slope = slope if step * other > 0.0 else 0.0
                    flux[k, j] = w * here + lead_m3_s[k, j] * slope
            for k in range(layers):
                inverse = 1.0 / volume_m3[k]
                for j in range(ix.LANES):
                    net = gain[k, j] - plumes.drawn_m3_s[k, j] * state[s, k, j]
                    net += flux[k, j] - flux[k + 1, j]
                    state[s, k, j] += part_s[j] * net * inverse
        for p in range(rows):
            for j in range(ix.LANES):
                k = plumes.target_index[p, j]
                given = plumes.bubble_oxygen_g_s[p, j] * part_s[j]
                state[ix.OXYGEN, k, j] += given / volume_m3[k]
                books[ix.O2_BUBBLES, j] += given
