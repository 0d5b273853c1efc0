"""What happens in each cell of the foreign pond: light, oxygen, iron, sulphide, methane, carbon, algae, bed."""

from __future__ import annotations

import math

import numpy as np
from tests.truth import names as n
from tests.truth.jit import loop
from tests.truth.laws import HEAT_CAPACITY, acidity, saturation

DT = n.STEP_S
IRON_O2 = 0.143  # g O₂ per g Fe
METHANE_O2 = 3.99
NITRIFY_O2 = 4.57
ALGAE_O2 = 0.133  # g O₂ of labile carbon per mg chlorophyll: carbon to chlorophyll 50
CARBON_OF_O2 = 1.0 / 32.0  # mol per g, one to one
MOL_OF_NITROGEN = 1.0 / 14.0


@loop
def pay(cell, amount, rate, demand, half):
    """Oxidise part of a substance in one step, as far as the oxygen reaches.

    Monod in oxygen; returns oxygen used and substance lost.
    """
    if amount <= 0.0:
        return 0.0, 0.0
    oxygen = max(cell[n.O2], 0.0)
    lost = amount * (1.0 - math.exp(-rate * DT * oxygen / (oxygen + half)))
    used = lost * demand
    if used > 0.9 * oxygen:
        used = 0.9 * oxygen
        lost = used / demand
    cell[n.O2] -= used
    return used, lost


@loop
def iron_rate(cell, p):
    """Return the rate of iron oxidation at air saturation [1/s]: pure water's law, or the catalysed one if faster.

    d[Fe]/dt = −8e13 [OH]² pO₂ [Fe] a minute (Stumm & Lee 1961), 0.21 atm.
    """
    hydroxide = 10.0 ** (acidity(cell[n.T], cell[n.ALK], cell[n.DIC]) - 14.0 + 0.035 * (cell[n.T] - 25.0))
    pure = 8e13 * hydroxide * hydroxide * 0.21 / 60.0
    return min(max(pure, p[n.P_IRON_RATE]), 0.02)


@loop
def react(cell, light, hour, p, books, volume):
    """Let one cell live for a step.

    cell: states; light: mean PAR in it [µmol/m²/s]; hour: of the run; books: oxygen by cause [g].
    """
    warm = math.exp(math.log(p[n.P_THETA]) * (cell[n.T] - 20.0))
    full = saturation(cell[n.T], p[n.P_PRESSURE])
    # algae: tanh of light (Jassby & Platt 1976)
    algae = cell[n.CHL]
    lit = math.tanh(light / p[n.P_IK])
    crashing = hour >= p[n.P_CRASH_HOUR] and hour < p[n.P_CRASH_HOUR] + 96.0
    # without carbon dioxide and bicarbonate algae make no oxygen: half of it at pH 9.6 (judgement)
    fed = 1.0 / (1.0 + 10.0 ** (1.5 * (acidity(cell[n.T], cell[n.ALK], cell[n.DIC]) - 9.6)))
    made = 0.0 if crashing else p[n.P_MAKE] * lit * fed * algae * warm * DT / 1000.0
    cell[n.O2] += made
    cell[n.DIC] = max(cell[n.DIC] - made * CARBON_OF_O2 / 1.2, 0.02)
    # algae take up ammonia as they grow, 16 N to 106 C (Redfield), as far as there is any
    cell[n.NH4] -= min(0.05 * made, 0.05 * cell[n.NH4])
    books[n.B_MADE] += made * volume
    need = p[n.P_CHL_RESPIRE] * algae * warm * DT / 1000.0
    used = min(need, 0.5 * max(cell[n.O2], 0.0))
    cell[n.O2] -= used
    cell[n.DIC] += used * CARBON_OF_O2
    books[n.B_ALGAE] += used * volume
    if crashing:
        dying = algae * (1.0 - math.exp(-1.0 / 86400.0 * DT))
        growing = 0.0
    else:
        dying = algae * p[n.P_DIE] * warm * DT
        growing = algae * p[n.P_GROW] * lit * fed * warm * max(1.0 - algae / p[n.P_CARRY], 0.0) * DT
    cell[n.CHL] = max(algae + growing - dying, 0.05)
    cell[n.LABILE] += ALGAE_O2 * dying
    # the water's own breath, then what was owed, the fastest first
    oxygen = max(cell[n.O2], 0.0)
    used = min(p[n.P_RESPIRE] * warm * DT, oxygen) * oxygen / (oxygen + 0.5)
    cell[n.O2] -= used
    cell[n.DIC] += used * CARBON_OF_O2
    books[n.B_WATER] += used * volume
    part = min(max(cell[n.O2], 0.0) / full, 1.5)
    used, lost = pay(cell, cell[n.FE], iron_rate(cell, p) * part, IRON_O2, 0.01)
    cell[n.FE] -= lost
    cell[n.ALK] = max(cell[n.ALK] - 2.0 * lost / 55.85, 0.1)
    books[n.B_IRON] += used * volume
    used, lost = pay(cell, cell[n.HS], p[n.P_SULPHIDE_RATE] * warm, p[n.P_SULPHIDE_O2], 0.8)
    cell[n.HS] -= lost
    books[n.B_SULPHIDE] += used * volume
    used, lost = pay(cell, cell[n.CH4], p[n.P_METHANE_RATE] * warm, METHANE_O2, 0.4)
    cell[n.CH4] -= lost
    cell[n.DIC] += lost / 16.0
    books[n.B_METHANE] += used * volume
    used, lost = pay(cell, cell[n.LABILE], p[n.P_LABILE_RATE] * warm, 1.0, 0.5)
    cell[n.LABILE] -= lost
    cell[n.DIC] += lost * CARBON_OF_O2
    cell[n.NH4] += 0.05 * lost
    books[n.B_LABILE] += used * volume
    used, lost = pay(cell, cell[n.NH4], p[n.P_NITRIFY] * warm, NITRIFY_O2, 2.0)
    cell[n.NH4] -= lost
    cell[n.ALK] = max(cell[n.ALK] - 2.0 * lost * MOL_OF_NITROGEN, 0.1)
    books[n.B_NITRIFIED] += used * volume
    # oxygen far over saturation leaves as bubbles
    if cell[n.O2] > 2.0 * full:
        over = (cell[n.O2] - 2.0 * full) * 0.1
        cell[n.O2] -= over
        books[n.B_GAS] -= over * volume


@loop
def breathe_bed(cell, bed_area, volume, patch, swept, p, books):
    """Let the bed under one cell take oxygen, by its root (Bouldin 1968), and give off what it makes without it."""
    warm = math.exp(math.log(p[n.P_SOD_THETA]) * (cell[n.T] - 20.0))
    per = bed_area * DT / volume
    oxygen = max(cell[n.O2], 0.0)
    used = p[n.P_SOD] * patch * swept * warm * math.sqrt(oxygen / 8.0) * per
    used = min(used, 0.5 * oxygen)
    cell[n.O2] -= used
    cell[n.DIC] += used * CARBON_OF_O2
    books[n.B_SOD] += used * volume
    flux = p[n.P_FLUX] * patch * warm * math.exp(-oxygen / 0.8) * per
    iron, sulphide, methane = p[n.P_FLUX_IRON], p[n.P_FLUX_SULPHIDE], p[n.P_FLUX_METHANE]
    cell[n.FE] += flux * iron / IRON_O2
    cell[n.HS] += flux * sulphide / p[n.P_SULPHIDE_O2]
    cell[n.CH4] += flux * methane / METHANE_O2
    cell[n.NH4] += flux * (1.0 - iron - sulphide - methane) / NITRIFY_O2
    cell[n.ALK] += flux * (iron + sulphide) / 32.0
    cell[n.DIC] += flux / 32.0


@loop
def shine(state, area, layers, thick, sun, p, light, books):
    """Let the sun into one box: heat by layer, light by layer, the rest into the bed.

    Three bands: 0.35 ends in centimetres (20 1/m), 0.20 at 3 1/m, 0.45 (PAR) by water and algae. Albedo 0.07.
    area: at the upper faces, and of the bottom face last.
    """
    enters = 0.93 * sun
    share = np.array([0.35, 0.20, 0.45])
    left = enters * share
    books[n.B_SUN] += enters * area[0] * DT
    for k in range(layers):
        clear = p[n.P_WATER_LIGHT] + p[n.P_CHL_LIGHT] * state[k, n.CHL]
        rates = np.array([20.0, 3.0, clear])
        volume = 0.5 * (area[k] + area[k + 1]) * thick
        light[k] = 4.57 * left[2] * (1.0 - math.exp(-clear * thick)) / (clear * thick)
        for band in range(3):
            after = left[band] * math.exp(-rates[band] * thick)
            # the ring of bed beside the layer is warmed by what reaches it and gives it to the water
            state[k, n.T] += (left[band] * area[k] - after * area[k + 1]) * DT / (HEAT_CAPACITY * volume)
            left[band] = after
    rest = (left[0] + left[1] + left[2]) * area[layers] * DT
    state[layers - 1, n.T] += rest / (HEAT_CAPACITY * 0.5 * (area[layers - 1] + area[layers]) * thick)


@loop
def warm_bed(state, bed, area, layers, thick, books):
    """Exchange heat with the mud: one slab of 0.4 m, 3 W/m²/K, 1.2e6 J/m²/K."""
    for k in range(layers):
        ring = area[k] - area[k + 1] if k < layers - 1 else area[k]
        volume = 0.5 * (area[k] + area[k + 1]) * thick
        flux = 3.0 * (bed[k] - state[k, n.T]) * DT
        state[k, n.T] += flux * ring / (HEAT_CAPACITY * volume)
        bed[k] -= flux / 1.2e6
        books[n.B_BED] += flux * ring
