"""The column's steps against general stiff solvers, at the same error: diffusion, light and reactions of one pond.

Run by hand: `python benchmarks/against_bdf.py`. The same equations (eight states in 24 layers, three days of sun that
stands within its hour, as the weather does) are solved

- by the column's own steps (warming, reactions, implicit diffusion), a block of 32 members at once, for the time of
  one member;
- by scipy's `solve_ivp(BDF)`, given a compiled right-hand side and the sparsity of the Jacobian;
- by LSODA, given the same right-hand side and the bandwidths.

The truth is Radau at 1e-10, restarted by the hour. The error is the root mean square over layers, states and the
ends of all hours, each state over its own span. A solver is started anew every hour, for the sun jumps there, or run
straight through; of the two the quicker counts. Its tolerance is set so that its error is that of the column's steps
within 20 %; where it can't be made that bad, its nearest is shown.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import csr_matrix, kron
from scipy.sparse import eye as identity

from plumeline.kernels import column_index as ix
from plumeline.kernels.column_rates import diffusion_factors
from plumeline.kernels.column_step import (
    BED_MOL_G,
    FIXED_MOL_G,
    SLOW_MOL_G,
    STEP_FLUXES,
    diffusion_step,
    matter_step,
    oxygen_step,
)

Array = NDArray[np.float64]

LAYERS, DAY_S, HOUR_S, THICKNESS_M, AREA_M2 = 24, 86400.0, 3600.0, 0.175, 6475.0
HOURS = 72
SUN = np.maximum(0.0, np.sin((np.arange(HOURS) + 0.5) / 24.0 * 2.0 * np.pi - 0.5 * np.pi))  # by the hour
HEAT_M2_S, SOLUTE_M2_S = 1.0e-6, 1.0e-6
ROWS = (
    ix.TEMPERATURE, ix.OXYGEN, ix.DEBT_A, ix.SULPHIDE, ix.DEBT_C, ix.AMMONIA, ix.CARBON, ix.CHLOROPHYLL,
    ix.FRESH,
)  # fmt: skip
SPANS = np.array([10.0, 10.0, 1.0, 2.0, 10.0, 1.0, 0.5, 40.0, 5.0])
CLOSE = 0.2


def pond() -> tuple[Array, Array, Array, Array, Array]:
    """Return area, volume, parameters (PARAMETERS,), rates (RATES, layers) and the first state (9, layers)."""
    faces = np.linspace(0.0, LAYERS * THICKNESS_M, LAYERS + 1)
    area = AREA_M2 * (1.0 - np.arange(LAYERS + 1) / (LAYERS + 2.0)) ** 1.2
    volume = 0.5 * (area[1:] + area[:-1]) * np.diff(faces)
    centre = 0.5 * (faces[1:] + faces[:-1])
    parameters = np.zeros(ix.PARAMETERS)
    for row, value in (
        (ix.SEDIMENT_HALF, 1.4), (ix.RATE_A, 2e-4), (ix.RATE_S, 5e-6), (ix.RATE_C, 0.15 / DAY_S),
        (ix.CHLOROPHYLL_0, 40.0), (ix.BLOOM_MOST, 1.5), (ix.BLOOM_TURNOVER, 0.1 / DAY_S),
        (ix.FRESH_DECAY, 0.7 / DAY_S), (ix.FRESH_SETTLING, 0.2 / DAY_S),
    ):  # fmt: skip
        parameters[row] = value
    rates = np.zeros((ix.RATES, LAYERS))
    light = np.exp(-1.6 * centre)
    warm = 30.0 - 9.0 / (1.0 + np.exp(-(centre - 1.5) / 0.3))
    rates[ix.HEATING] = 150.0 * light * area[:-1] * THICKNESS_M
    rates[ix.WARM] = 1.06 ** (warm - 20.0)
    rates[ix.GROWTH] = 6.0 / DAY_S * light
    rates[ix.BREATHING] = 1.0 / DAY_S * rates[ix.WARM]
    bed = np.append(area[:-2] - area[1:-1], area[-2])
    rates[ix.BED_DEMAND] = 1.5 / DAY_S * rates[ix.WARM] * bed / volume
    rates[ix.BED_REDUCED] = 0.6 / DAY_S * rates[ix.WARM] * bed / volume
    rates[ix.MOST_O2] = 1e3
    fade = 1.0 / (1.0 + np.exp(-(centre - 1.5) / 0.2))
    state = np.empty((len(ROWS), LAYERS))
    ends = (
        (warm, warm),
        (8.0, 0.4),
        (0.0, 1.0),
        (0.0, 2.0),
        (1.0, 8.0),
        (0.1, 1.0),
        (1.5, 1.8),
        (40.0, 10.0),
        (3.0, 1.0),
    )
    for row, (above, below) in enumerate(ends):
        state[row] = above + (np.asarray(below) - above) * fade
    return area, volume, parameters, rates, state


@numba.njit(error_model="numpy")  # type: ignore[untyped-decorator]
def slopes(
    y: Array, parameters: Array, rates: Array, sun: float, area: Array, volume: Array, out: Array
) -> None:
    """Fill dy/dt, y by layers of nine states: the column's equations in continuous time."""
    n = 9
    for i in range(n):
        k_m2_s = HEAT_M2_S if i == 0 else SOLUTE_M2_S
        above = 0.0
        for k in range(LAYERS):
            below = 0.0
            if k < LAYERS - 1:
                below = k_m2_s * area[k + 1] / THICKNESS_M * (y[(k + 1) * n + i] - y[k * n + i])
            out[k * n + i] = (below - above) / volume[k]
            above = below
    for k in range(LAYERS):
        o, a, s, c = y[k * n + 1], y[k * n + 2], y[k * n + 3], y[k * n + 4]
        nh, bloom = y[k * n + 5], y[k * n + 7]
        warm, made = rates[ix.WARM, k], sun * rates[ix.GROWTH, k]
        breathing = rates[ix.BREATHING, k] * o / (o + 0.5)
        bed = rates[ix.BED_DEMAND, k] * o / (o + parameters[ix.SEDIMENT_HALF])
        eaten = parameters[ix.RATE_C] * warm * o / (o + 0.5)
        slow = c * eaten
        used = parameters[ix.FRESH_DECAY] * warm * y[k * n + 8] * o / (o + 0.5)
        fast = parameters[ix.RATE_A] * warm * a * o
        sour = parameters[ix.RATE_S] * warm * s * o
        anoxic = rates[ix.BED_REDUCED, k] / (1.0 + (o / ix.SKIN_MG_L) ** 2)
        released = ix.NITROGEN_PER_OXYGEN * breathing
        taken = ix.NITROGEN_PER_OXYGEN * made * nh / (nh + ix.AMMONIA_HALF_MG_L)
        most = parameters[ix.BLOOM_MOST] * parameters[ix.CHLOROPHYLL_0]
        out[k * n] += sun * rates[ix.HEATING, k] / (ix.HEAT_CAPACITY_J_M3_K * volume[k])
        out[k * n + 1] += made - breathing - bed - slow - used - fast - ix.SULPHIDE_DEMAND * sour
        out[k * n + 2] -= fast
        out[k * n + 3] += ix.SULPHIDE_OF_FLUX * anoxic / ix.SULPHIDE_DEMAND - sour
        out[k * n + 4] += (1.0 - ix.SULPHIDE_OF_FLUX) * anoxic - slow
        out[k * n + 4] += ix.NITRIFICATION_DEMAND * (released - taken)
        out[k * n + 5] += released + ix.NITROGEN_PER_OXYGEN * anoxic - taken - eaten * nh
        out[k * n + 6] += (
            (breathing + bed + used - made) * FIXED_MOL_G + slow * SLOW_MOL_G + anoxic * BED_MOL_G
        )
        kept = max(1.0 - bloom / most, 0.0)
        turned = parameters[ix.BLOOM_TURNOVER] * warm * bloom
        out[k * n + 7] += made * 1e3 / ix.BLOOM_DEMAND * kept - turned
        out[k * n + 8] += made * (1.0 - kept) + turned * 1e-3 * ix.BLOOM_DEMAND - used
        out[k * n + 8] -= parameters[ix.FRESH_SETTLING] * y[k * n + 8]


@numba.njit(error_model="numpy")  # type: ignore[untyped-decorator]
def march(
    state: Array, parameters: Array, rates: Array, growth: Array, heat: Array, mass: Array, warming: Array,
    sun: Array, volume: Array, step_s: float, books: Array, fluxes: Array, row: Array,
    seen: Array,
) -> None:  # fmt: skip
    """Take the column's own steps, and keep one member at the end of every hour (hours, states, layers)."""
    for hour in range(len(sun)):
        for k in range(LAYERS):
            for j in range(ix.LANES):
                rates[ix.GROWTH, k, j] = growth[k, j] * sun[hour]
        for _ in range(round(HOUR_S / step_s)):
            for k in range(LAYERS):
                for j in range(ix.LANES):
                    state[ix.TEMPERATURE, k, j] += warming[k] * sun[hour] * step_s
            oxygen_step(state, parameters, rates, volume, step_s, books, fluxes)
            matter_step(state, parameters, rates, volume, 0.0, step_s, books, fluxes)
            diffusion_step(state, heat, 0, 1, row)
            diffusion_step(state, mass, 1, ix.STATES, row)
        for s in range(ix.STATES):
            for k in range(LAYERS):
                seen[hour, s, k] = state[s, k, 0]


def best_of(run: Callable[[], Any], times: int) -> tuple[float, Any]:
    """Return the least seconds of processor time of several runs, and what the last gave."""
    least, result = np.inf, None
    for _ in range(times):
        begin = time.thread_time()
        result = run()
        least = min(least, time.thread_time() - begin)
    return float(least), result


def error(state: Array, truth: Array) -> float:
    """Return the root mean square over hours, states and layers, each state over its span."""
    return float(np.sqrt(np.mean(((state - truth) / SPANS[:, None]) ** 2)))  # (hours, 9, layers)


def ours(step_s: float) -> tuple[float, Array]:
    """Return the seconds of a whole block and one member at the ends of the hours (hours, 9, layers)."""
    area, volume, parameters, rates, first = pond()

    def many(values: Array) -> Array:
        return np.ascontiguousarray(np.repeat(values[..., None], ix.LANES, axis=-1))

    row = np.zeros(ix.LANES)
    heat, mass = np.zeros((2, ix.FACTORS, LAYERS, ix.LANES))
    for k_m2_s, factors in ((HEAT_M2_S, heat), (SOLUTE_M2_S, mass)):
        k = np.full((LAYERS, ix.LANES), k_m2_s)
        diffusion_factors(k, 0.0, area, volume, THICKNESS_M, step_s, factors, row, row.copy())
    warming = rates[ix.HEATING] / (ix.HEAT_CAPACITY_J_M3_K * volume)
    held = many(parameters), many(rates), many(rates[ix.GROWTH])

    def run() -> Array:
        state = np.zeros((ix.STATES, LAYERS, ix.LANES))
        state[ix.SALT], state[ix.ALKALINITY] = 0.1, 1.5
        for i, where in enumerate(ROWS):
            state[where] = first[i][:, None]
        books = np.zeros((ix.FLUXES, ix.LANES))
        seen, fluxes = np.zeros((HOURS, ix.STATES, LAYERS)), np.zeros((STEP_FLUXES, LAYERS, ix.LANES))
        march(state, *held, heat, mass, warming, SUN, volume, step_s, books, fluxes, row, seen)
        return seen[:, ROWS]

    run()
    return best_of(run, 7)


def solver(method: str, tolerance: float, times: int = 1, *, restart: bool = True) -> tuple[float, Array]:
    """Return the seconds of one solver at a relative tolerance, and the ends of the hours (hours, 9, layers)."""
    area, volume, parameters, rates, first = pond()
    out = np.empty(9 * LAYERS)

    def right(at_s: float, y: Array) -> Array:
        slopes(y, parameters, rates, SUN[min(int(at_s / HOUR_S), HOURS - 1)], area, volume, out)
        return out.copy()

    options: dict[str, Any] = {"rtol": tolerance, "atol": np.tile(SPANS, LAYERS) * tolerance * 1e-2}
    if method == "LSODA":
        options |= {"lband": 9, "uband": 9}
    else:
        near = kron(np.eye(LAYERS), np.ones((9, 9))) + kron(
            np.eye(LAYERS, k=1) + np.eye(LAYERS, k=-1), identity(9)
        )
        options["jac_sparsity"] = csr_matrix(near)
    ends_s = (np.arange(HOURS) + 1) * HOUR_S

    def run() -> Array:
        y = first.T.ravel().copy()
        if not restart:
            return np.asarray(
                solve_ivp(right, (0.0, ends_s[-1]), y, method=method, t_eval=ends_s, **options).y.T
            )
        seen = np.empty((HOURS, len(y)))
        for hour in range(HOURS):
            # to just before the end, so that no slope is asked of the next hour's sun
            span = (hour * HOUR_S, (hour + 1) * HOUR_S * (1.0 - 1e-12))
            y = solve_ivp(right, span, y, method=method, **options).y[:, -1]
            seen[hour] = y
        return seen

    seconds, seen = best_of(run, times)
    return seconds, seen.reshape(HOURS, LAYERS, 9).swapaxes(1, 2)


def matched(method: str, wanted: float, truth: Array, *, restart: bool) -> tuple[float, float, float]:
    """Return the tolerance at which a solver's error is nearest to the one wanted, with that error and its seconds."""
    tried: dict[float, float] = {}

    def error_at(tolerance: float) -> float:
        if tolerance not in tried:
            tried[tolerance] = error(solver(method, tolerance, restart=restart)[1], truth)
        return tried[tolerance]

    def nearest() -> float:
        return min(tried, key=lambda t: abs(np.log(tried[t] / wanted)))

    for power in range(-7, 0):
        error_at(10.0**power)
    for _ in range(12):
        if abs(tried[nearest()] / wanted - 1.0) <= CLOSE:
            break
        ordered = sorted(tried)
        at = ordered.index(nearest())
        for other in ordered[max(at - 1, 0) : at + 2]:
            if other != nearest():
                error_at(float(np.sqrt(other * nearest())))
    tolerance = nearest()
    return tolerance, tried[tolerance], solver(method, tolerance, 3, restart=restart)[0]


def main() -> None:
    """Compare at the errors of two step lengths, and print the table."""
    _, truth = solver("Radau", 1e-10)
    print(f"{HOURS} hours of one pond, {LAYERS} layers of eight reacting states; processor time")
    for step_s in (300.0, 600.0):
        seconds, found = ours(step_s)
        wanted = error(found, truth)
        own = seconds / ix.LANES
        print(
            f"column, steps of {step_s:.0f} s: error {wanted:.2e}, {own * 1e6:.0f} us a member "
            f"({seconds * 1e3:.1f} ms the block of {ix.LANES})"
        )
        for method in ("BDF", "LSODA"):
            runs = {restart: matched(method, wanted, truth, restart=restart) for restart in (True, False)}
            close = {r: v for r, v in runs.items() if abs(v[1] / wanted - 1.0) <= CLOSE} or runs
            restart = min(close, key=lambda r: close[r][2])
            tolerance, reached, taken = close[restart]
            near = "" if abs(reached / wanted - 1.0) <= CLOSE else ", not within 20 %: its nearest"
            print(
                f"  {method:5s} {'by the hour' if restart else 'straight through'}, rtol {tolerance:.1e}: error "
                f"{reached:.2e}{near}; {taken * 1e3:.1f} ms, {taken / own:.0f} times a member of a block, "
                f"{taken / seconds:.1f} times the block"
            )


if __name__ == "__main__":
    main()
