"""The refuge: how much of the pond the fish can use, for how long it has been too little, and why."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.kernels.jit import fast_kernel, vector_kernel

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

H2S_PER_SULPHUR = 34.08 / 32.06  # a limit in mg/L of H₂S against sulphide in mg/L of S


@vector_kernel
def refuge_step(
    state: Array, rates: Array, limits: Array, volume_m3: Array, thickness_m: float, body_m3: Array,
    thick_m: Array, best_m3: Array,
) -> None:  # fmt: skip
    """Fill `best_m3` with each member's largest contiguous usable volume; the two before it are room to work in.

    A layer is usable while oxygen, temperature, un-ionised ammonia and undissociated sulphide all keep their
    limits; a usable body thinner than the least thickness is none.
    """
    least_do = limits[ix.LIMIT_OXYGEN]
    most_warm = limits[ix.LIMIT_TEMPERATURE]
    most_nh3 = limits[ix.LIMIT_AMMONIA]
    most_h2s = limits[ix.LIMIT_H2S] / H2S_PER_SULPHUR
    least_thick = limits[ix.LIMIT_THICKNESS] - 1e-9
    for j in range(ix.LANES):
        body_m3[j] = 0.0
        thick_m[j] = 0.0
        best_m3[j] = 0.0
    for k in range(volume_m3.shape[0]):
        v = volume_m3[k]
        for j in range(ix.LANES):
            usable = (
                (state[ix.OXYGEN, k, j] >= least_do)
                & (state[ix.TEMPERATURE, k, j] <= most_warm)
                & (state[ix.AMMONIA, k, j] * rates[ix.AMMONIA_SHARE, k, j] <= most_nh3)
                & (state[ix.SULPHIDE, k, j] * rates[ix.H2S_SHARE, k, j] <= most_h2s)
            )
            body = body_m3[j] + v if usable else 0.0
            thick = thick_m[j] + thickness_m if usable else 0.0
            body_m3[j] = body
            thick_m[j] = thick
            best_m3[j] = body if (thick >= least_thick) & (body > best_m3[j]) else best_m3[j]


@fast_kernel
def usable_volume(
    state: Array,
    rates: Array,
    limits: Array,
    volume_m3: Array,
    thickness_m: float,
    member: int,
    lifted_index: int,
) -> float:
    """Return the largest contiguous usable volume of one member [m³], not asking for one limit."""
    best = 0.0
    body = 0.0
    thick = 0.0
    for k in range(volume_m3.shape[0]):
        usable = lifted_index == 0 or state[ix.OXYGEN, k, member] >= limits[ix.LIMIT_OXYGEN]
        usable = usable and (
            lifted_index == 1 or state[ix.TEMPERATURE, k, member] <= limits[ix.LIMIT_TEMPERATURE]
        )
        nh3 = state[ix.AMMONIA, k, member] * rates[ix.AMMONIA_SHARE, k, member]
        usable = usable and (lifted_index == 2 or nh3 <= limits[ix.LIMIT_AMMONIA])
        h2s = state[ix.SULPHIDE, k, member] * rates[ix.H2S_SHARE, k, member]
        usable = usable and (lifted_index == 3 or h2s <= limits[ix.LIMIT_H2S] / H2S_PER_SULPHUR)
        if usable:
            body += volume_m3[k]
            thick += thickness_m
            if thick >= limits[ix.LIMIT_THICKNESS] - 1e-9 and body > best:
                best = body
        else:
            body = 0.0
            thick = 0.0
    return best


@fast_kernel
def binding_limit(
    state: Array, rates: Array, limits: Array, volume_m3: Array, thickness_m: float, member: int
) -> int:
    """Return the limit that binds: the one that, lifted alone, would give the most usable water."""
    most = -1.0
    binding = 0
    for lifted in range(4):
        without = usable_volume(state, rates, limits, volume_m3, thickness_m, member, lifted)
        if without > most:
            most = without
            binding = lifted
    return binding


@fast_kernel
def watch_refuge(
    state: Array, rates: Array, limits: Array, volume_m3: Array, thickness_m: float, best_m3: Array, first_step: int,
    stride_steps: int, under_steps: Ints, failed_step: Ints, cause_index: Ints,
) -> None:  # fmt: skip
    """Count the steps without refuge; over an hour of them the member has failed, at that step, for that cause.

    One long step counts as the `stride_steps` short ones from `first_step` on, all alike.
    """
    whole = 0.0
    for k in range(volume_m3.shape[0]):
        whole += volume_m3[k]
    for j in range(ix.LANES):
        if best_m3[j] >= limits[ix.LIMIT_VOLUME] * whole:
            under_steps[j] = 0
            continue
        before = under_steps[j]
        under_steps[j] = before + stride_steps
        if under_steps[j] > ix.STEPS_EACH_HOUR and failed_step[j] < 0:
            failed_step[j] = first_step + max(ix.STEPS_EACH_HOUR - before, 0)
            cause_index[j] = binding_limit(state, rates, limits, volume_m3, thickness_m, j)
