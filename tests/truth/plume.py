"""The bubble plume of the foreign pond: an integral plume that loses water on its way.

dQ/dz = 2π α b u − δ Q max(0, g'_w)/u²,   dM/dz = g G/(u + u_s) − g'_w Q/u − (detrained momentum),
with α = α₀ (G₀/0.5 L/s)^p growing with the air flow (as measured by Milgram 1983 and, for planes, Beelen & Krug
2024), g'_w the weight of the plume's water in the pond's, δ the detrainment number in the manner of double-plume
models (Asaeda & Imberger 1993; Crounse 2000): water too heavy for its speed falls out all along the way and goes
to its own level, not only where the plume stops. A slip of one speed for all bubbles. Where the plume stops, all
its water falls out and the bubbles begin anew. The planner's plume has one α, bubble sizes, and peels only where
it stops.
"""

from __future__ import annotations

import math

import numpy as np
from tests.truth import names as n
from tests.truth.jit import loop
from tests.truth.laws import GRAVITY, density

MOL_VOLUME = 8.314462618 * 293.15 / 101325.0  # m³ at one atmosphere, 20 °C


@loop
def level_of(rho, layers, heavy):
    """Return the layer at which water of a density is at home: the first from the surface not lighter."""
    for k in range(layers):
        if rho[k] >= heavy:
            return k
    return layers - 1


@loop
def rise(temp, rho, layers, thick, depth, gas, p, moved):
    """Let one plume rise and write where its water goes; return the flow and temperature that surface.

    temp, rho: of the box's layers; depth: of the diffuser [m]; gas: [mol/s]; moved (layers, layers): flow from
    the first to the second [m³/s], added to; returns (flow [m³/s], temperature [°C], peels).
    """
    content = np.zeros(layers)
    standard = gas * MOL_VOLUME
    alpha = p[n.P_ALPHA] * (standard / 5e-4) ** p[n.P_ALPHA_POWER]
    z = min(depth, layers * thick - 1e-6)
    radius = 0.115
    peels = 0
    k = min(int(z / thick), layers - 1)
    free = standard / (p[n.P_PRESSURE] + z / 10.33)
    speed = (GRAVITY * free / radius) ** (1.0 / 3.0)
    flow = math.pi * radius * radius * speed
    content[k] = flow
    heat = flow * temp[k]
    momentum = flow * speed
    dz = 0.04
    while z > 0.02:
        k = min(int(z / thick), layers - 1)
        free = standard / (p[n.P_PRESSURE] + z / 10.33)
        speed = momentum / flow
        radius = math.sqrt(flow / (math.pi * speed))
        heavy = density(heat / flow)
        weight = GRAVITY * (heavy - rho[k]) / 1000.0
        taken = 2.0 * math.pi * alpha * radius * speed * dz
        gain = (GRAVITY * free / (speed + p[n.P_SLIP]) - weight * flow / speed) * dz
        lost = 1.0 - math.exp(-p[n.P_PEEL] * max(weight, 0.0) / (speed * speed) * dz)
        if lost > 1e-4:
            home = level_of(rho, layers, heavy)
            for j in range(layers):
                moved[j, home] += lost * content[j]
                content[j] *= 1.0 - lost
            flow *= 1.0 - lost
            heat *= 1.0 - lost
            momentum *= 1.0 - lost
        content[k] += taken
        flow += taken
        heat += taken * temp[k]
        momentum += gain
        z -= dz
        if momentum / flow < 0.03:
            home = level_of(rho, layers, density(heat / flow))
            for j in range(layers):
                moved[j, home] += content[j]
                content[j] = 0.0
            peels += 1
            k = min(int(max(z, 0.0) / thick), layers - 1)
            radius = min(max(0.5 * radius, 0.1), 0.5)
            speed = (GRAVITY * free / radius) ** (1.0 / 3.0)
            flow = math.pi * radius * radius * speed
            content[k] = flow
            heat = flow * temp[k]
            momentum = flow * speed
    # what surfaces plunges again with some of the surface's water
    warm = (heat / flow + p[n.P_PLUNGE] * temp[0]) / (1.0 + p[n.P_PLUNGE])
    home = level_of(rho, layers, density(warm))
    for j in range(layers):
        moved[j, home] += content[j]
    moved[0, home] += p[n.P_PLUNGE] * flow
    return flow, heat / flow, peels
