"""One bubble plume of Wüest, Brooks & Imboden 1992 on its way up.

A plume carries eight fluxes upward, all per second: volume Q, momentum M = πb²w², heat Q T, salt Q S,
dissolved oxygen and nitrogen Q C, and the oxygen and nitrogen in its bubbles. The water around it is given
in segments from the surface down, each linear in depth; a layer of one temperature is a segment of slope
zero. Nothing here allocates: whoever calls brings the arrays.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from plumeline.kernels.jit import fast_kernel, lane_function
from plumeline.kernels.lane_math import cbrt, sqrt
from plumeline.kernels.lane_relations import (
    density_chen_millero_1986,
    mass_transfer_wuest_1992,
    slip_velocity_wuest_1992,
)
from plumeline.kernels.relations import initial_velocity_wuest_1992
from plumeline.kernels.solubility import solubilities

Array = npt.NDArray[np.float64]
State = tuple[float, float, float, float, float, float, float, float]

GAS_CONSTANT = 8.314462618
GRAVITY_M_S2 = 9.80665
PRESSURE_PER_METRE_PA = 1000.0 * GRAVITY_M_S2
STALL_VELOCITY_M_S = 0.002
STEP_SHARE = 0.5  # of the length over which flow or momentum would double or vanish

# Columns of the water around: value at the top of the segment, then its slope with depth.
TEMPERATURE, SALINITY, OXYGEN, NITROGEN, DENSITY = 0, 2, 4, 6, 8
AMBIENT_COLUMNS = 10

# Places in the array of what is constant along the rise.
ALPHA, FROUDE, LAMBDA, SOURCE_RADIUS, BUBBLE_RATE, TRANSFER, SURFACE_PRESSURE = 0, 1, 2, 3, 4, 5, 6
REFERENCE_PRESSURE, SLIP, EXPANSION, STRATIFICATION, LAW, ORDER = 7, 8, 9, 10, 11, 12
SETTING_COUNT = 13


@fast_kernel
def gas_pressure(depth_m: float, setting: Array) -> float:
    """Return the pressure in a bubble, or the diffuser's where expansion is switched off [Pa]."""
    here = setting[SURFACE_PRESSURE] + PRESSURE_PER_METRE_PA * depth_m
    reference = setting[REFERENCE_PRESSURE]
    return float(reference + setting[EXPANSION] * (here - reference))


@lane_function
def slopes_of(
    y: State,
    around: tuple[float, float, float, float, float],
    pressure_pa: float,
    setting: tuple[float, float, float, float, float, float],
    solubility: tuple[float, float, float],
) -> State:
    """Return the derivatives of the eight fluxes with height, d/dz [per m].

    Args:
        y: the fluxes.
        around: temperature, salinity, oxygen, nitrogen [mol/m³] and density of the water around.
        pressure_pa: pressure in the bubbles [Pa].
        setting: α, λ, bubbles per second, factor on K_L, and 1 or 0 for slip and for stratification.
        solubility: Henry coefficients of oxygen and nitrogen, and vapour pressure.
    """
    Q, M, QT, QS, QO, QN, GO, GN = y
    alpha, lam, bubbles, transfer, slip, stratification = setting
    M = max(M, 1e-12)
    lam2 = lam * lam
    # few divisions, each a fifth of the whole: by Q, by the gas, by the velocity of the bubbles
    per_flow = 1.0 / Q
    w = M * per_flow
    pi_b2 = Q * Q / M  # πb², for Q = πb²w
    T, S = QT * per_flow, QS * per_flow
    n = max(GO + GN, 1e-30)
    per_gas = 1.0 / n
    V = n * GAS_CONSTANT * (T + 273.15) / pressure_pa
    r = cbrt(V / (4.0 / 3.0 * math.pi * bubbles))
    per_velocity = 1.0 / (w + slip * slip_velocity_wuest_1992(r))
    void = V * per_velocity / (lam2 * pi_b2)
    rho_w = density_chen_millero_1986(T, S)
    rho_p = (1.0 - void) * rho_w
    K_O, K_N, e_s = solubility
    dry_pa = (pressure_pa - e_s) * per_gas
    per_metre = 4.0 * math.pi * r * r * bubbles * per_velocity * transfer * mass_transfer_wuest_1992(r)
    A_O = per_metre * (K_O * GO * dry_pa - QO * per_flow)
    A_N = per_metre * (K_N * GN * dry_pa - QN * per_flow)
    lighter = stratification * (around[4] - rho_w)
    E = 2.0 * alpha * sqrt(math.pi * M)  # 2παbw
    return (
        E,
        pi_b2 * GRAVITY_M_S2 * (lighter + lam2 * void * rho_w) / rho_p,
        E * around[0],
        E * around[1],
        E * around[2] + A_O,
        E * around[3] + A_N,
        -A_O,
        -A_N,
    )


@fast_kernel
def _rates(
    depth_m: float,
    y: State,
    below_top_m: float,
    around: Array,
    setting: Array,
    solubility: tuple[float, float, float],
) -> State:
    """Return the derivatives of the eight fluxes with height, in a segment of water that is linear in depth."""
    return slopes_of(
        y,
        (
            around[TEMPERATURE] + around[TEMPERATURE + 1] * below_top_m,
            around[SALINITY] + around[SALINITY + 1] * below_top_m,
            around[OXYGEN] + around[OXYGEN + 1] * below_top_m,
            around[NITROGEN] + around[NITROGEN + 1] * below_top_m,
            around[DENSITY] + around[DENSITY + 1] * below_top_m,
        ),
        gas_pressure(depth_m, setting),
        (
            setting[ALPHA], setting[LAMBDA], setting[BUBBLE_RATE], setting[TRANSFER], setting[SLIP],
            setting[STRATIFICATION],
        ),
        solubility,
    )  # fmt: skip


@fast_kernel
def _along(y: State, h: float, k: State) -> State:
    """Return y + h k."""
    return (
        y[0] + h * k[0],
        y[1] + h * k[1],
        y[2] + h * k[2],
        y[3] + h * k[3],
        y[4] + h * k[4],
        y[5] + h * k[5],
        y[6] + h * k[6],
        y[7] + h * k[7],
    )


@fast_kernel
def _step(
    depth_m: float,
    top_depth_m: float,
    h: float,
    y: State,
    k1: State,
    around: Array,
    setting: Array,
    solubility: tuple[float, float, float],
) -> State:
    """Return the fluxes h higher, by one Runge–Kutta step whose first slope is k1.

    The classical one, of fourth order, or where the setting asks for no more the midpoint rule, of second.
    """
    d, x = depth_m, depth_m - top_depth_m
    half = 0.5 * h
    k2 = _rates(d - half, _along(y, half, k1), x - half, around, setting, solubility)
    if setting[ORDER] < 3.0:
        return _along(y, h, k2)
    k3 = _rates(d - half, _along(y, half, k2), x - half, around, setting, solubility)
    k4 = _rates(d - h, _along(y, h, k3), x - h, around, setting, solubility)
    y = _along(y, h / 6.0, k1)
    y = _along(y, h / 3.0, k2)
    y = _along(y, h / 3.0, k3)
    return _along(y, h / 6.0, k4)


@fast_kernel
def cross(
    depth_m: float, top_depth_m: float, longest_m: float, y: State, around: Array, setting: Array
) -> tuple[float, State, bool]:
    """Carry a plume up to the top of one segment, or to where it stalls: (depth, fluxes, stalled)."""
    stop2 = STALL_VELOCITY_M_S * STALL_VELOCITY_M_S
    while depth_m > top_depth_m:
        Q, M = y[0], y[1]
        w2 = (M / Q) * (M / Q)
        if w2 <= 1.1 * stop2:
            return depth_m, y, True
        solubility = solubilities(y[2] / Q, y[3] / Q, setting[LAW])
        k1 = _rates(depth_m, y, depth_m - top_depth_m, around, setting, solubility)
        left = depth_m - top_depth_m
        h = min(longest_m, STEP_SHARE * Q / max(k1[0], 1e-30), STEP_SHARE * M / max(abs(k1[1]), 1e-30))
        # one step at least: a diffuser a rounding error under an interface has almost nothing left to cross
        h = left / max(1, math.ceil(left / h - 1e-9))
        for _ in range(40):
            ahead = _step(depth_m, top_depth_m, h, y, k1, around, setting, solubility)
            ahead2 = (ahead[1] / ahead[0]) * (ahead[1] / ahead[0])
            if ahead[1] > 0.0 and ahead2 >= 0.9 * stop2:
                break
            # w² falls nearly straight with height here, so a secant on it finds the stall
            share = (w2 - stop2) / (w2 - ahead2) if ahead[1] > 0.0 else 0.5
            h *= min(max(share, 0.05), 0.95)
        y = ahead
        depth_m = top_depth_m if h >= left else depth_m - h
    return depth_m, y, False


@fast_kernel
def start(
    depth_m: float,
    oxygen_mol_s: float,
    nitrogen_mol_s: float,
    top_depth_m: float,
    around: Array,
    setting: Array,
) -> State:
    """Return the fluxes of a plume that starts at a depth with the water that lies there."""
    x = depth_m - top_depth_m
    T = around[TEMPERATURE] + around[TEMPERATURE + 1] * x
    S = around[SALINITY] + around[SALINITY + 1] * x
    V = (oxygen_mol_s + nitrogen_mol_s) * GAS_CONSTANT * (T + 273.15) / gas_pressure(depth_m, setting)
    r = float(cbrt(V / (4.0 / 3.0 * math.pi * setting[BUBBLE_RATE])))
    slip = setting[SLIP] * slip_velocity_wuest_1992(r)
    w = initial_velocity_wuest_1992(setting[FROUDE], setting[SOURCE_RADIUS], V, slip)
    b = setting[SOURCE_RADIUS] / setting[LAMBDA]
    Q = math.pi * b * b * w
    C_O = around[OXYGEN] + around[OXYGEN + 1] * x
    C_N = around[NITROGEN] + around[NITROGEN + 1] * x
    return (Q, Q * w, Q * T, Q * S, Q * C_O, Q * C_N, oxygen_mol_s, nitrogen_mol_s)
