"""One hour of the foreign pond: twelve steps of surface, water, currents and plumes, and whether fish have a refuge."""

from __future__ import annotations

import math

import numpy as np
from tests.truth import names as n
from tests.truth.jit import loop
from tests.truth.laws import (
    HEAT_CAPACITY,
    STEFAN,
    acidity,
    density,
    evaporation,
    renewal,
    renewal_in_boil,
    saturation,
    sky,
    toxic_ammonia,
    toxic_sulphide,
)
from tests.truth.mixing import currents, diffuse, overturn, stir, transport
from tests.truth.plume import MOL_VOLUME, rise
from tests.truth.water import breathe_bed, react, shine, warm_bed

DT = n.STEP_S


@loop
def surface(state, area, volume, wx, p, books):
    """Let one box's top layer exchange heat and gases with the air; return the heat lost [W/m²]."""
    top = state[0]
    wind = wx[n.W_WIND] * p[n.P_SHELTER]
    latent, sensible = evaporation(top[n.T], wx[n.W_AIR], wx[n.W_VAPOUR], 0.8 * wind)
    long = 0.97 * (sky(wx[n.W_AIR], wx[n.W_VAPOUR], wx[n.W_CLOUD]) - STEFAN * (top[n.T] + 273.15) ** 4)
    loss = latent + sensible - long
    friction = math.sqrt(1.2 / 1000.0 * 1.2e-3 * p[n.P_OPEN]) * wind
    k = p[n.P_FILM] * renewal(top[n.T], friction, loss)
    top[n.T] -= loss * area[0] * DT / (HEAT_CAPACITY * volume[0])
    books[n.B_SURFACE] -= loss * area[0] * DT
    share = 1.0 - math.exp(-k * area[0] * DT / volume[0])
    gained = share * (saturation(top[n.T], p[n.P_PRESSURE]) - top[n.O2])
    top[n.O2] += gained
    books[n.B_GAS] += gained * volume[0]
    top[n.CH4] *= 1.0 - share
    # carbon dioxide: towards air, as far as it is free; alkaline water takes it in slowly
    ph = acidity(top[n.T], top[n.ALK], top[n.DIC])
    free = top[n.DIC] / (1.0 + 10.0 ** (ph - 6.38))
    # in high pH carbon dioxide reacts as it enters: twice the speed over pH 9 (Wanninkhof & Knox 1996, from memory)
    top[n.DIC] += (2.0 if ph > 9.0 else 1.0) * share * (0.0145 - free)
    return loss


@loop
def lift(state, rho, layers, thick, boxes_of, depth_of, gas, on, p, moved, books, volume, boils):
    """Solve every running plume, with its bubbles' oxygen and the air's over its boil."""
    moved[:] = 0.0
    for d in range(len(boxes_of)):
        boils[d] = 0.0
        if not on[d]:
            continue
        b = boxes_of[d]
        temps = state[b, : layers[b], n.T].copy()
        flow, _, _ = rise(
            temps,
            rho[b, : layers[b]],
            layers[b],
            thick,
            depth_of[d],
            gas[d],
            p,
            moved[b, : layers[b], : layers[b]],
        )
        boils[d] = flow


@loop
def aerate(state, layers, thick, boxes_of, depth_of, gas, on, p, books, volume, area):
    """Give the water the oxygen of bubbles and boils for a step."""
    for d in range(len(boxes_of)):
        if not on[d]:
            continue
        b = boxes_of[d]
        top = state[b, 0]
        boil = min(math.pi * (0.4 * depth_of[d]) ** 2, 0.5 * area[b, 0])
        k = renewal_in_boil(top[n.T], gas[d] * MOL_VOLUME, depth_of[d], boil)
        gained = (1.0 - math.exp(-k * boil * DT / volume[b, 0])) * (
            saturation(top[n.T], p[n.P_PRESSURE]) - top[n.O2]
        )
        top[n.O2] += gained
        books[n.B_BOIL] += gained * volume[b, 0]
        released = 0.21 * 32.0 * gas[d] * DT
        last = min(int(depth_of[d] / thick), layers[b] - 1)
        for j in range(last + 1):
            lack = max(1.0 - state[b, j, n.O2] / saturation(state[b, j, n.T], 1.0 + j * thick / 10.0), 0.0)
            given = released * p[n.P_BUBBLE] * thick * lack
            state[b, j, n.O2] += given / volume[b, j]
            books[n.B_BUBBLES] += given


@loop
def usable(cell, limits):
    """Return 0 where fish can be, else which limit forbids it, from 1."""
    if cell[n.O2] < limits[n.L_O2]:
        return 1
    if cell[n.T] > limits[n.L_T]:
        return 2
    ph = acidity(cell[n.T], cell[n.ALK], cell[n.DIC])
    if cell[n.NH4] * toxic_ammonia(cell[n.T], ph) > limits[n.L_NH3]:
        return 3
    if cell[n.HS] * toxic_sulphide(cell[n.T], ph) > limits[n.L_H2S]:
        return 4
    return 0


@loop
def refuge(state, volume, layers, thick, limits):
    """Return the largest connected usable body, as a part of the pond, and what took most of the rest.

    In each box the largest run of usable layers; runs of neighbouring boxes count together where they overlap.
    A body is thick enough when one of its runs is, or reaches from the surface to the bottom of its box.
    """
    boxes = len(layers)
    whole = 0.0
    taken = np.zeros(5)
    first = np.zeros(boxes, dtype=np.int64)
    last = np.zeros(boxes, dtype=np.int64)
    body = np.zeros(boxes)
    deep = np.zeros(boxes)
    for b in range(boxes):
        begin = 0
        run = 0.0
        for k in range(layers[b]):
            whole += volume[b, k]
            why = usable(state[b, k], limits)
            taken[why] += volume[b, k]
            if why == 0:
                if run == 0.0:
                    begin = k
                run += volume[b, k]
                if run > body[b]:
                    body[b] = run
                    first[b] = begin
                    last[b] = k
            else:
                run = 0.0
        deep[b] = (last[b] - first[b] + 1) * thick if body[b] > 0.0 else 0.0
    best = 0.0
    joined = 0.0
    fits = False
    for b in range(boxes):
        overlap = (
            b > 0
            and body[b] > 0.0
            and body[b - 1] > 0.0
            and first[b] <= last[b - 1]
            and first[b - 1] <= last[b]
        )
        if not overlap:
            joined = 0.0
            fits = False
        joined += body[b]
        if deep[b] >= limits[n.L_THICKNESS] - 1e-9 or (body[b] > 0.0 and last[b] - first[b] + 1 == layers[b]):
            fits = True
        if fits and joined > best:
            best = joined
    cause = 1
    for why in range(2, 5):
        if taken[why] > taken[cause]:
            cause = why
    return best / whole, cause


@loop
def march_hour(state, bed, area, volume, layers, thick, gap, patch, wx, p, hour, boxes_of, depth_of, gas, on,
               started, limits, tally, books, record):  # fmt: skip
    """Carry the pond through one hour.

    on (steps, diffusers); started (diffusers): whether the mud was stirred; tally: steps in a row without refuge,
    first failed step or −1, its cause; record: least refuge of the hour, water lifted at its end [m³/s].
    """
    boxes = len(layers)
    count = len(boxes_of)
    rho = np.zeros_like(volume)
    light = np.zeros(volume.shape[1])
    flow = np.zeros((2 * (boxes - 1), volume.shape[1]))
    home = np.zeros((boxes - 1, volume.shape[1]), dtype=np.int64)
    moved = np.zeros((boxes, volume.shape[1], volume.shape[1]))
    boils = np.zeros(count)
    total = volume.sum()
    surface_area = area[:, 0].sum()
    record[0] = 1.0
    wind = wx[n.W_WIND] * p[n.P_SHELTER]
    # the power of the wind on the water, and Denman's (1973) part of it that lifts water
    stress = 1.2 * 1.2e-3 * wind * wind * p[n.P_OPEN]
    for step in range(n.STEPS):
        any_on = False
        for d in range(count):
            if on[step, d]:
                any_on = True
                if not started[d]:
                    started[d] = 1
                    stir_mud(state, area, volume, layers, thick, boxes_of[d], depth_of[d], p)
        for b in range(boxes):
            m = layers[b]
            shine(state[b], area[b], m, thick, wx[n.W_SUN], p, light, books)
            surface(state[b], area[b], volume[b], wx, p, books)
            warm_bed(state[b], bed[b], area[b], m, thick, books)
            for k in range(m):
                rho[b, k] = density(state[b, k, n.T])
            overturn(state[b, :m], volume[b], rho[b], m)
            stir(state[b, :m], volume[b], rho[b], m, thick, 0.0012 * stress * wind * area[b, 0] * DT)
            air = 0.0
            for d in range(count):
                if on[step, d]:
                    air += 0.02 * 9.8 * gas[d] * MOL_VOLUME * depth_of[d] / total
            power = p[n.P_INTERIOR] * stress * wind * surface_area / (1000.0 * total) + air
            diffuse(state[b, :m], volume[b], area[b], rho[b], m, thick, power)
            for k in range(m):
                react(state[b, k], light[k], hour, p, books, volume[b, k])
                ring = area[b, k] - area[b, k + 1] if k < m - 1 else area[b, k]
                swept = 1.0
                for d in range(count):
                    near = abs((k + 0.5) * thick - depth_of[d]) < 0.5
                    if on[step, d] and boxes_of[d] == b and near:
                        swept = p[n.P_SWEEP]
                breathe_bed(state[b, k], ring, volume[b, k], patch[b], swept, p, books)
                rho[b, k] = density(state[b, k, n.T])
            overturn(state[b, :m], volume[b], rho[b], m)
        if (any_on and step % 3 == 0) or step == 0:
            lift(state, rho, layers, thick, boxes_of, depth_of, gas, on[step], p, moved, books, volume, boils)
        elif not any_on:
            moved[:] = 0.0
        if any_on:
            aerate(state, layers, thick, boxes_of, depth_of, gas, on[step], p, books, volume, area)
        currents(rho, volume, layers, gap, thick, wind, p, flow, home)
        transport(state, volume, layers, flow, home, moved, DT)
        part, cause = refuge(state, volume, layers, thick, limits)
        record[0] = min(record[0], part)
        if part < limits[n.L_VOLUME]:
            tally[0] += 1
            if tally[0] > n.STEPS and tally[1] < 0:
                tally[1] = hour * n.STEPS + step
                tally[2] = cause
        else:
            tally[0] = 0
    record[1] = boils.sum()


@loop
def stir_mud(state, area, volume, layers, thick, b, depth, p):
    """Bring mud up at a diffuser's first start: labile carbon, iron and sulphide into the layers near it."""
    swept = min(math.pi * (1.5 * depth) ** 2, 0.5 * area[b, min(int(depth / thick), layers[b] - 1)])
    last = min(int(depth / thick), layers[b] - 1)
    first = max(last - 2, 0)
    whole = 0.0
    for k in range(first, last + 1):
        whole += volume[b, k]
    debt = p[n.P_MUD] * swept / whole
    for k in range(first, last + 1):
        state[b, k, n.LABILE] += 0.5 * debt
        state[b, k, n.FE] += 0.25 * debt / 0.143
        state[b, k, n.HS] += 0.25 * debt / p[n.P_SULPHIDE_O2]
