"""Water that moves in the foreign pond: convection, wind, diffusion, currents between boxes, plumes.

Boxes 0 (deep), 1 (middle), 2 (arm) stand in a row; all have layers of the same thickness from the surface, each
box down to its own bottom. Volumes of cells never change: what currents and plumes bring to a cell or take from
it is made up by water that rises or sinks in its box.
"""

from __future__ import annotations

import math

import numpy as np
from tests.truth import names as n
from tests.truth.jit import loop
from tests.truth.laws import GRAVITY, density


@loop
def blend(state, volume, first, last, part):
    """Mix layers first..last of a box towards their mean, by a part of the way."""
    whole = 0.0
    for k in range(first, last + 1):
        whole += volume[k]
    for s in range(n.STATES):
        mean = 0.0
        for k in range(first, last + 1):
            mean += volume[k] * state[k, s]
        mean /= whole
        for k in range(first, last + 1):
            state[k, s] += part * (mean - state[k, s])


@loop
def overturn(state, volume, rho, layers):
    """Mix whatever is heavier than the water under it, until nothing is."""
    k = 0
    while k < layers - 1:
        if rho[k] > rho[k + 1] + 1e-9:
            first, last = k, k + 1
            while True:
                blend(state, volume, first, last, 1.0)
                mean = density(state[first, n.T])
                for j in range(first, last + 1):
                    rho[j] = mean
                if last < layers - 1 and mean > rho[last + 1] + 1e-9:
                    last += 1
                elif first > 0 and rho[first - 1] > mean + 1e-9:
                    first -= 1
                else:
                    break
            k = last
        else:
            k += 1


@loop
def stir(state, volume, rho, layers, thick, energy):
    """Deepen the surface layer by an energy [J]: mixing whole layers while it lasts, the last one in part.

    To mix an upper body 1 with a layer 2 under it lifts g (ρ₂ − ρ₁) V₁V₂/(V₁ + V₂) (z₂ − z₁).
    """
    upper = volume[0]
    middle = 0.5 * thick
    for k in range(1, layers):
        need = GRAVITY * max(rho[k] - rho[k - 1], 0.0) * upper * volume[k] / (upper + volume[k])
        need *= (k + 0.5) * thick - middle
        part = 1.0 if need <= energy else energy / need
        blend(state, volume, 0, k, part)
        for j in range(k + 1):
            rho[j] = density(state[j, n.T])
        if part < 1.0:
            return
        energy -= need
        middle = (middle * upper + (k + 0.5) * thick * volume[k]) / (upper + volume[k])
        upper += volume[k]


@loop
def diffuse(state, volume, area, rho, layers, thick, power):
    """Diffuse for a step: K = 0.2 ε/N² (Osborn 1980) of the interior's dissipation, and the molecular value.

    area: at the upper face of each layer; power: dissipation ε [m²/s³]. Implicit, by the Thomas algorithm.
    """
    face = np.zeros(layers)  # K at the upper face of each layer
    for k in range(1, layers):
        n2 = GRAVITY * max(rho[k] - rho[k - 1], 0.0) / (1000.0 * thick)
        face[k] = min(0.2 * power / max(n2, 1e-5), 1e-4)
    lower = np.zeros(layers)
    upper = np.zeros(layers)
    diagonal = np.zeros(layers)
    right = np.zeros(layers)
    for s in range(n.STATES):
        molecular = 1.4e-7 if s == n.T else 1.5e-9
        for k in range(layers):
            lower[k] = 0.0
            upper[k] = 0.0
            if k > 0:
                lower[k] = -(face[k] + molecular) * area[k] / thick * n.STEP_S / volume[k]
            if k < layers - 1:
                upper[k] = -(face[k + 1] + molecular) * area[k + 1] / thick * n.STEP_S / volume[k]
            diagonal[k] = 1.0 - lower[k] - upper[k]
            right[k] = state[k, s]
        for k in range(1, layers):
            w = lower[k] / diagonal[k - 1]
            diagonal[k] -= w * upper[k - 1]
            right[k] -= w * right[k - 1]
        state[layers - 1, s] = right[layers - 1] / diagonal[layers - 1]
        for k in range(layers - 2, -1, -1):
            state[k, s] = (right[k] - upper[k] * state[k + 1, s]) / diagonal[k]


@loop
def currents(rho, volume, layers, gap, thick, wind, p, flow, home):
    """Write the flows between neighbouring boxes.

    Between boxes b and b + 1, layer by layer of the shallower one: its water, where it is heavier or lighter than
    its neighbour's, goes to its own level there, at c √(g'h) (gravity currents of differential cooling and
    heating; c near 0.3), and as much comes back at the layer itself. Added to that an even exchange by the wind's
    drift and by dispersion. flow (boxes − 1, layers): [m³/s]; home: the level in the deeper box.
    even (in flow's last rows): the exchange at the same level.
    """
    boxes = len(layers)
    for b in range(boxes - 1):
        shallow = b + 1
        depth = layers[shallow] * thick
        for k in range(layers[shallow]):
            step = rho[shallow, k] - rho[b, k]
            speed = p[n.P_FROUDE] * math.sqrt(GRAVITY * abs(step) / 1000.0 * depth)
            most = 0.15 * min(volume[b, k], volume[shallow, k]) / n.STEP_S
            flow[b, k] = min(speed * gap[b] * thick, most)
            level = k
            if step > 0.0:
                while level < layers[b] - 1 and rho[b, level + 1] <= rho[shallow, k]:
                    level += 1
            else:
                while level > 0 and rho[b, level - 1] >= rho[shallow, k]:
                    level -= 1
            home[b, k] = level
            drift = p[n.P_DISPERSE] + 0.006 * wind * math.exp(-(k + 0.5) * thick / 0.4)
            flow[boxes - 1 + b, k] = min(drift * gap[b] * thick, most)


@loop
def transport(state, volume, layers, flow, home, moved, seconds):
    """Carry all states with currents and plumes for a time, in steps short enough for every cell.

    moved (boxes, layers, layers): flows by plumes. Vertical flow closes each cell's volume and carries the
    upwind value with van Leer's limiter.
    """
    boxes = len(layers)
    net = np.zeros_like(volume)
    out = np.zeros_like(volume)
    for b in range(boxes - 1):
        for k in range(layers[b + 1]):
            net[b, home[b, k]] += flow[b, k]
            net[b, k] -= flow[b, k]
            out[b, k] += flow[b, k] + flow[boxes - 1 + b, k]
            out[b + 1, k] += flow[b, k] + flow[boxes - 1 + b, k]
    most_paths = boxes * layers[0] * layers[0]
    paths = np.zeros((most_paths, 3), dtype=np.int64)
    carried = np.zeros(most_paths)
    path_count = 0
    for b in range(boxes):
        for i in range(layers[b]):
            for j in range(layers[b]):
                if moved[b, i, j] > 0.0 and i != j:
                    paths[path_count, 0] = b
                    paths[path_count, 1] = i
                    paths[path_count, 2] = j
                    carried[path_count] = moved[b, i, j]
                    path_count += 1
                    net[b, j] += moved[b, i, j]
                    net[b, i] -= moved[b, i, j]
                    out[b, i] += moved[b, i, j]
    upward = np.zeros_like(volume)  # through the upper face of each layer
    most = 0.0
    for b in range(boxes):
        above = 0.0
        for k in range(layers[b] - 1, 0, -1):
            above += net[b, k]
            upward[b, k] = above
        for k in range(layers[b]):
            leaving = out[b, k] + max(upward[b, k], 0.0)
            if k < layers[b] - 1:
                leaving += max(-upward[b, k + 1], 0.0)
            most = max(most, leaving / volume[b, k])
    if most <= 0.0:
        return
    count = int(seconds * most / 0.6) + 1
    dt = seconds / count
    gain = np.zeros_like(volume)
    for _ in range(count):
        for s in range(n.STATES):
            gain[:] = 0.0
            for b in range(boxes - 1):
                for k in range(layers[b + 1]):
                    here, there = state[b, k, s], state[b + 1, k, s]
                    even = flow[boxes - 1 + b, k] * (there - here)
                    gain[b, home[b, k]] += flow[b, k] * there
                    gain[b, k] += even - flow[b, k] * here
                    gain[b + 1, k] += flow[b, k] * (here - there) - even
            for path in range(path_count):
                b, i, j = paths[path, 0], paths[path, 1], paths[path, 2]
                amount = carried[path] * state[b, i, s]
                gain[b, j] += amount
                gain[b, i] -= amount
            for b in range(boxes):
                for k in range(1, layers[b]):
                    w = upward[b, k]
                    if w == 0.0:
                        continue
                    up, down = state[b, k - 1, s], state[b, k, s]
                    if w > 0.0:
                        value, ahead, share = down, up, w * dt / volume[b, k]
                        behind = state[b, k + 1, s] if k < layers[b] - 1 else down
                    else:
                        value, ahead, share = up, down, -w * dt / volume[b, k - 1]
                        behind = state[b, k - 2, s] if k > 1 else up
                    rise = ahead - value
                    if abs(rise) > 1e-12:
                        r = (value - behind) / rise
                        value += 0.5 * (r + abs(r)) / (1.0 + abs(r)) * (1.0 - share) * rise
                    gain[b, k - 1] += w * value
                    gain[b, k] -= w * value
            for b in range(boxes):
                for k in range(layers[b]):
                    state[b, k, s] += gain[b, k] * dt / volume[b, k]
