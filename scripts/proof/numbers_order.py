"""Order of convergence in layer and step: a sharp step of temperature and oxygen, with the plume on.

The step of time is a constant of the compiled kernels, so each step has a process of its own, with a folder of
compiled kernels of its own:

    python -m scripts.proof.numbers_order STEPS_EACH_HOUR OUT.npz
"""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from scripts.proof.made_ponds import Made

Array = NDArray[np.float64]

HOURS = 5
MEMBERS = 32
STEP_AT_M = 1.7
DEEP_FRACTION = 0.95
"""The pond is cut off here: its tip would want shorter steps on every finer grid."""
LAYERS = (15, 30, 60, 120, 240)
QUICK_LAYERS = (15, 30, 60)
STEPS_EACH_HOUR = (6, 12, 24, 48)
STEP_LAYERS = 30


def pond() -> Made:
    """Return the pond: one acre, 12 ft, two discs."""
    from scripts.proof.made_ponds import Made

    return Made("sharp step", 1.0, 12.0, 0.5)


def profiles(layer_count: int) -> Array:
    """Return temperature and oxygen at the end (2, layers, members) of the sharp step with the plume on."""
    from plumeline.kernels import column_index as ix
    from plumeline.stages.column import Grid
    from plumeline.stages.column.march import march
    from plumeline.stages.column.run import standing

    made = pond()
    bowl, deep = made.bowl, DEEP_FRACTION * made.depth_m
    faces = np.linspace(0.0, deep, layer_count + 1)
    area = np.array([bowl.area_at(float(z)) for z in faces])
    below = np.array([bowl.volume_below(float(z)) for z in faces]) - bowl.volume_below(deep)
    grid = Grid(faces, area, below[:-1] - below[1:], 0.5 * (faces[1:] + faces[:-1]))
    columns = standing(made.job(), grid, made.limits(), MEMBERS, 1, HOURS).columns
    # what of each layer lies over the step, by volume, so that every grid holds the same heat and oxygen
    over = np.clip(
        (bowl.volume_below(STEP_AT_M) - bowl.volume_below(deep) - below[1:]) / grid.volume_m3, 0, 1
    )
    upper = 1.0 - over[:, None]
    columns.state[ix.TEMPERATURE] = 17.0 + 11.0 * upper
    columns.state[ix.OXYGEN] = 0.1 + 7.9 * upper
    for row, top, bottom in (
        (ix.DEBT_A, 0.0, 1.0), (ix.SULPHIDE, 0.0, 1.0), (ix.DEBT_C, 1.0, 8.0), (ix.AMMONIA, 0.1, 1.0),
        (ix.CHLOROPHYLL, 40.0, 5.0), (ix.SALT, 0.1, 0.1), (ix.ALKALINITY, 1.4, 1.8), (ix.CARBON, 1.38, 2.1),
    ):  # fmt: skip
        columns.state[row] = bottom + (top - bottom) * upper
    columns.bed_degc[:] = np.tile(17.0 + 11.0 * upper, (ix.BED_SLABS, 1))
    on = np.ones(HOURS * ix.STEPS_EACH_HOUR, dtype=bool)
    state = march(columns, made.air(on), HOURS).after.state
    return np.asarray(state[[ix.TEMPERATURE, ix.OXYGEN]])


def volumes(layer_count: int) -> Array:
    """Return the volumes of the layers [m³]."""
    made = pond()
    faces = np.linspace(0.0, DEEP_FRACTION * made.depth_m, layer_count + 1)
    below = np.array([made.bowl.volume_below(float(z)) for z in faces])
    return below[:-1] - below[1:]


def joined(fine: Array, layer_count: int) -> Array:
    """Return profiles of a grid twice as fine on the coarser one, by volume."""
    weight = volumes(2 * layer_count)[:, None]
    mass = fine * weight
    return np.asarray((mass[:, ::2] + mass[:, 1::2]) / (weight[::2] + weight[1::2]))


def apart(a: Array, b: Array, layer_count: int) -> tuple[float, float]:
    """Return how far two runs are apart, by volume, mean of the members: temperature [K] and oxygen [mg/L]."""
    weight = volumes(layer_count) / volumes(layer_count).sum()
    gap = np.einsum("qkm,k->qm", np.abs(a - b), weight).mean(axis=1)
    return float(gap[0]), float(gap[1])


def by_layers(quick: bool) -> list[dict[str, Any]]:
    """Return the distance between each grid and the one twice as fine."""
    counts = QUICK_LAYERS if quick else LAYERS
    runs = {count: profiles(count) for count in counts}
    rows = []
    for coarse, fine in pairwise(counts):
        warm, oxygen = apart(runs[coarse], joined(runs[fine], coarse), coarse)
        rows.append({"coarse": coarse, "fine": fine, "temperature_k": warm, "oxygen_mg_l": oxygen})
    return rows


def of_step(steps_each_hour: int, work: Path) -> Path:
    """Run one step of time in a process of its own, unless it is there; return the file."""
    out = work / f"step-{steps_each_hour}.npz"
    if not out.is_file():
        command = [sys.executable, "-m", "scripts.proof.numbers_order", str(steps_each_hour), str(out)]
        environment = {**os.environ, "XDG_CACHE_HOME": str(work / f"kernels-{steps_each_hour}")}
        subprocess.run(command, env=environment, check=True)
    return out


def by_steps(work: Path) -> list[dict[str, Any]]:
    """Return the distance between each step of time and half of it, as far as they are finished."""
    done = [count for count in STEPS_EACH_HOUR if (work / f"step-{count}.npz").is_file()]
    runs = {count: np.load(work / f"step-{count}.npz")["profiles"] for count in done}
    rows = []
    for coarse, fine in pairwise(done):
        warm, oxygen = apart(runs[coarse], runs[fine], STEP_LAYERS)
        rows.append(
            {"coarse_s": 3600 // coarse, "fine_s": 3600 // fine, "temperature_k": warm, "oxygen_mg_l": oxygen}
        )
    return rows


def orders(rows: list[dict[str, Any]]) -> list[dict[str, float]]:
    """Return the orders of convergence that successive distances show: log2 of their ratio."""
    return [
        {key: float(np.log2(a[key] / b[key])) for key in ("temperature_k", "oxygen_mg_l")}
        for a, b in pairwise(rows)
    ]


def main(words: list[str]) -> int:
    """Run with another step of time: the constant is changed before any kernel is compiled."""
    steps, out = int(words[0]), Path(words[1])
    from plumeline.kernels import column_index as ix

    ix.STEPS_EACH_HOUR = steps
    ix.STEP_S = 3600.0 / steps
    part = out.with_suffix(".part.npz")
    np.savez(part, profiles=profiles(STEP_LAYERS))
    part.rename(out)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
