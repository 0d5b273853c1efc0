"""A foreign air line: compressor, trunk, manifold and branches, solved by two nested brackets.

It shares nothing with the program. The unknown of a branch is its outlet's air (or, of a dead one that leaks, the
pressure before the outlet): going up the pipe it gives the pressure that the manifold must have. The unknown of the
line is the manifold's pressure. Both are monotone, so each is closed in between two ends (false position with
Illinois's halving). Friction by Colebrook with a few steps of Newton, laminar (64/Re) where that is the greater; no
term for the air's own speed-up; holes by Saint-Venant and Wantzel with a coefficient of 0.62; a membrane opens at a
pressure and then takes c m^e; a compressor gives m0 (1 − (p/p_max)^e). The laws are of handbooks (from memory).

Columns of the arrays are named below; pressures are absolute inside, gauge outside. SI.
"""

from __future__ import annotations

import math

import numpy as np
from tests.truth.jit import loop

GRAVITY = 9.81
ROUGHNESS = 1.5e-6
DISCHARGE = 0.62
RATIO = 1.4
STEPS = 60

# source: air at no pressure [kg/s], pressure at no air [Pa], exponent, outside air [Pa], water [kg/m³],
# pressure at which the relief begins to weep [Pa], what it then lets go [kg/s/Pa], R T of the air [J/kg], viscosity
AIR0, SHUT_OFF, SAG, OUTSIDE, WATER, WEEP_AT, WEEP, GAS, VISCOUS = range(9)
# a segment of the trunk: m, m, velocity heads at its head, water at its end [Pa], hole [m] and where in it (0 to 1)
LENGTH, BORE, HEADS, PLUG, HOLE, WHERE = range(6)
# a branch: valve, whether it is shut, tubing (velocity heads at its head), membrane (opens at [Pa], c, e), depth, hole
# at the port, hole in the tubing with its place (0 to 1), share of the head that stays behind a shut valve
VALVE, VALVE_BORE, SHUT, B_LENGTH, B_BORE, B_HEADS, B_PLUG, OPENS = range(8)
STIFF, BEND, DEPTH, PORT_HOLE, B_HOLE, B_WHERE, HELD = range(8, 15)


@loop
def friction(mass, bore, roughness, viscosity):
    """Return the Darcy friction factor: Colebrook, or laminar where that is the greater."""
    reynolds = 4.0 * mass / (math.pi * bore * viscosity)
    laminar = 64.0 / reynolds
    if reynolds < 1000.0:
        return laminar
    x = 2.0 * math.log10(reynolds) - 1.0  # 1/sqrt(f)
    for _ in range(4):
        inner = roughness / (3.7 * bore) + 2.51 * x / reynolds
        off = x + 2.0 * math.log10(inner)
        x -= off / (1.0 + 2.0 * 2.51 / (reynolds * inner * math.log(10.0)))
    return max(laminar, 1.0 / (x * x))


@loop
def up_pipe(mass, end, length, bore, heads, source):
    """Return the pressure at the head of a pipe that carries a flow to a pressure at its end."""
    if mass <= 0.0:
        return end
    flux = mass / (math.pi * bore * bore / 4.0)
    lost = heads
    if length > 0.0:
        lost += friction(mass, bore, ROUGHNESS, source[VISCOUS]) * length / bore
    return math.sqrt(end * end + flux * flux * source[GAS] * lost)


@loop
def through_hole(diameter, inside, outside, gas):
    """Return the air through a hole (Saint-Venant and Wantzel 1839)."""
    if diameter <= 0.0 or inside <= outside:
        return 0.0
    ratio = max(outside / inside, (2.0 / (RATIO + 1.0)) ** (RATIO / (RATIO - 1.0)))
    head = 2.0 * RATIO / (RATIO - 1.0) * (ratio ** (2.0 / RATIO) - ratio ** ((RATIO + 1.0) / RATIO))
    return DISCHARGE * math.pi * diameter**2 / 4.0 * inside * math.sqrt(head / gas)


@loop
def up_branch(out, x, branch, source, found):
    """Return the pressure at the manifold for air at the outlet and a pressure before it.

    found: air at the outlet, all the branch's air, pressure at the port.
    """
    outside = source[OUTSIDE]
    mass, pressure = out, x + branch[B_PLUG]
    length, bore = branch[B_LENGTH], branch[B_BORE]
    if branch[B_HOLE] > 0.0:
        where = branch[B_WHERE]
        pressure = up_pipe(mass, pressure, length * (1.0 - where), bore, 0.0, source)
        sea = outside + source[WATER] * GRAVITY * branch[DEPTH] * where
        mass += through_hole(branch[B_HOLE], pressure, sea, source[GAS])
        pressure = up_pipe(mass, pressure, length * where, bore, branch[B_HEADS], source)
    else:
        pressure = up_pipe(mass, pressure, length, bore, branch[B_HEADS], source)
    found[0], found[2] = out, pressure
    mass += through_hole(branch[PORT_HOLE], pressure, outside, source[GAS])
    found[1] = mass
    return up_pipe(mass, pressure, 0.0, branch[VALVE_BORE], branch[VALVE], source)


@loop
def at_air(out, branch, source, found):
    """Return the pressure at the manifold for air at the outlet."""
    x = source[OUTSIDE] + source[WATER] * GRAVITY * branch[DEPTH] + branch[OPENS]
    if out > 0.0:
        x += branch[STIFF] * out ** branch[BEND]
    return up_branch(out, x, branch, source, found)


@loop
def branch_at(manifold, branch, source, found):
    """Fill in a branch's air and port for a pressure at the manifold."""
    bubbles = source[OUTSIDE] + source[WATER] * GRAVITY * branch[DEPTH] + branch[OPENS]
    found[0] = found[1] = 0.0
    found[2] = source[OUTSIDE] + branch[HELD] * (bubbles - source[OUTSIDE])
    if branch[SHUT] > 0.5:
        return
    dead = at_air(0.0, branch, source, found) >= manifold
    if dead and branch[PORT_HOLE] <= 0.0 and branch[B_HOLE] <= 0.0:
        found[0] = found[1] = 0.0
        found[2] = manifold
        return
    # the unknown: the pressure before an outlet that gives nothing, or else its air
    low = min(source[OUTSIDE], manifold) - branch[B_PLUG] - 1.0 if dead else 0.0
    high = min(bubbles, manifold + 1.0) if dead else 1.2 * source[AIR0]
    f_low = f_high = 0.0
    for end in range(2):
        x = high if end else low
        f = (
            up_branch(0.0, x, branch, source, found) if dead else at_air(x, branch, source, found)
        ) - manifold
        if end:
            f_high = f
        else:
            f_low = f
    if f_high <= 0.0:
        return  # more than the machine has, and that is told by the sum
    side = 0
    for step in range(STEPS):
        x = 0.5 * (low + high) if step % 5 == 4 else (low * f_high - high * f_low) / (f_high - f_low)
        f = (
            up_branch(0.0, x, branch, source, found) if dead else at_air(x, branch, source, found)
        ) - manifold
        if abs(f) < 0.5:
            break
        if f > 0.0:
            high, f_high = x, f
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = x, f
            if side == -1:
                f_high *= 0.5
            side = -1


@loop
def up_line(manifold, source, trunk, branches, found):
    """Return the air that the line takes less what the compressor gives; found's last row: the compressor's gauge."""
    mass = 0.0
    count = len(branches)
    for k in range(count):
        branch_at(manifold, branches[k], source, found[k])
        mass += found[k, 1]
    pressure = manifold
    for s in range(len(trunk) - 1, -1, -1):
        part = trunk[s]
        pressure += part[PLUG]
        if part[HOLE] > 0.0:
            pressure = up_pipe(mass, pressure, part[LENGTH] * (1.0 - part[WHERE]), part[BORE], 0.0, source)
            mass += through_hole(part[HOLE], pressure, source[OUTSIDE], source[GAS])
            pressure = up_pipe(mass, pressure, part[LENGTH] * part[WHERE], part[BORE], part[HEADS], source)
        else:
            pressure = up_pipe(mass, pressure, part[LENGTH], part[BORE], part[HEADS], source)
    gauge = pressure - source[OUTSIDE]
    found[count, 0] = gauge
    mass += max(gauge - source[WEEP_AT], 0.0) * source[WEEP]
    share = max(gauge, 0.0) / source[SHUT_OFF]
    given = source[AIR0] * (1.0 - share ** source[SAG]) if share < 1.0 else -source[AIR0] * (share - 1.0)
    return mass - given


@loop
def solve(source, trunk, branches, gauges, air):
    """Fill in the gauges (compressor, manifold, ports) and the air at each outlet."""
    count = len(branches)
    found = np.zeros((count + 1, 3))
    low = source[OUTSIDE] - 1.0
    for s in range(len(trunk)):
        low -= trunk[s, PLUG]
    high = source[OUTSIDE] + 1.05 * source[SHUT_OFF]
    f_low = up_line(low, source, trunk, branches, found)
    f_high = up_line(high, source, trunk, branches, found)
    side = 0
    middle = low
    for step in range(2 * STEPS):
        middle = (low * f_high - high * f_low) / (f_high - f_low)
        if step % 4 == 3:
            middle = 0.5 * (low + high)  # where the two ends bend very differently
        f = up_line(middle, source, trunk, branches, found)
        if abs(f) < 1e-8 or high - low < 0.5:
            break
        if f > 0.0:
            high, f_high = middle, f
            if side == 1:
                f_low *= 0.5
            side = 1
        else:
            low, f_low = middle, f
            if side == -1:
                f_high *= 0.5
            side = -1
    gauges[0] = found[count, 0]
    gauges[1] = middle - source[OUTSIDE]
    for k in range(count):
        gauges[2 + k] = found[k, 2] - source[OUTSIDE]
        air[k] = found[k, 0]
