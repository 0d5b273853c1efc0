"""The point at which valves give each outlet of an air network its share: one unknown, by a bracketed search.

With the shares wanted, every flow follows from one of them, and so does the pressure that the neediest way asks of the
compressor; that rises with the flow while the compressor's own flow falls with the pressure.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels.jit import fast_kernel
from plumeline.kernels.network import Network, compressor_line
from plumeline.kernels.network_newton import ALL_DEAD, SOLVED, bubbling_pressure, needed_pressures

_STEPS = 200


@fast_kernel
def _balanced_excess(
    network: Network,
    scale_kg_s: float,
    weight: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
) -> float:
    """Return the wanted total over what the compressor gives at the pressure that total needs [kg/s]."""
    needed_pressures(network, flow_kg_s, scale_kg_s * weight, pressure_pa)
    if scale_kg_s == 0.0:
        for k in range(len(weight)):
            if weight[k] > 0.0:
                pressure_pa[0] = max(pressure_pa[0], bubbling_pressure(network, k))
    if not math.isfinite(pressure_pa[0]):
        return math.inf
    return float(flow_kg_s[0] - compressor_line(network, pressure_pa[0] - network.ambient_pressure_pa)[0])


@fast_kernel
def solve_balanced(
    network: Network,
    weight: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
) -> tuple[int, float]:
    """Find the point at which valves give each outlet its share, the neediest way having all of them open.

    Args:
        network: the network with its valves open.
        weight: share wanted by each outlet, shape (outlets,); 0 shuts it.
        flow_kg_s: filled with the flow of each piece [kg/s], shape (nodes,).
        pressure_pa: filled with the absolute pressure that each node then must have [Pa], shape (nodes,); what
            a piece leaves over between its two nodes is for its valve to burn.

    Returns:
        SOLVED or ALL_DEAD, and the flow of an outlet of weight 1 [kg/s].
    """
    low = 0.0
    f_low = _balanced_excess(network, low, weight, flow_kg_s, pressure_pa)
    if not f_low < 0.0:
        return ALL_DEAD, 0.0
    high = network.curve_mass_flow_kg_s[0] / weight.sum()
    f_high = _balanced_excess(network, high, weight, flow_kg_s, pressure_pa)
    side = 0
    x = high
    if f_high > 0.0:
        for step in range(_STEPS):
            if high - low <= 1e-14 * high:
                break
            x = 0.5 * (low + high)
            if step % 4 != 3 and math.isfinite(f_high):
                secant = high - f_high * (high - low) / (f_high - f_low)
                x = secant if low < secant < high else x
            f_x = _balanced_excess(network, x, weight, flow_kg_s, pressure_pa)
            if f_x == 0.0:
                break
            # an end left in place twice loses half its weight (Illinois)
            if f_x > 0.0:
                f_low = 0.5 * f_low if side > 0 else f_low
                high, f_high, side = x, f_x, 1
            else:
                f_high = 0.5 * f_high if side < 0 else f_high
                low, f_low, side = x, f_x, -1
    _balanced_excess(network, x, weight, flow_kg_s, pressure_pa)
    return SOLVED, x
