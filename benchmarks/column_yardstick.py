"""Speed of the water column beside a fixed yardstick in C: nanoseconds per layer, member and step, one thread.

Run by hand, on demand: `python benchmarks/column_yardstick.py [members]`. Both are measured in the same run, turn
about, and the best of five is kept; figures of different runs or machines are not to be compared. The yardstick is
compiled with the flags named in its head; without gcc it is left out, and the script says so.

The yardstick does the arithmetic of one step (diffusion, sinking of seven scalars, light, reactions, convection,
surface) without solving plumes. Ours carries ten scalars, pH by the hour, the books of all fluxes, and the refuge; it
moves water between layers, as the yardstick does in every step, only while plumes run; then plume solves, which the
yardstick has none of, are also shown apart.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np

from plumeline.job.document import Job, Site
from plumeline.job.document import Pond as PondOfJob
from plumeline.kernels import column_index as ix
from plumeline.kernels.column import advance, forget_plumes
from plumeline.kernels.column_block import (
    Air,
    Basin,
    Conditions,
    Members,
    Told,
    fill_block,
    make_block,
    make_plumes,
)
from plumeline.kernels.column_plumes import solve_plumes
from plumeline.kernels.plume_lanes import make_rising
from plumeline.stages.column.march import STEADY_STRIDE_STEPS
from plumeline.stages.column.members import parameters_of
from plumeline.stages.column.priors import draw_priors

SOURCE = Path(__file__).with_name("yardstick.c")
SHA256 = "d117ed1374e8b3216b12d92c9e5a4e8d19e7e3c33d1e5b0c5ee6933e95f84a87"
FLAGS = ("-O3", "-march=native", "-ffast-math")
LAYERS, HOURS, DEPTH_M, AREA_M2 = 24, 24, 4.2, 6475.0


def build(folder: Path) -> Path | None:
    """Compile the yardstick, or return None where there is no gcc."""
    if hashlib.sha256(SOURCE.read_bytes()).hexdigest() != SHA256:
        sys.exit("yardstick.c is not the fixed one: its checksum differs.")
    gcc = shutil.which("gcc")
    if gcc is None:
        return None
    program = folder / "yardstick"
    subprocess.run([gcc, *FLAGS, str(SOURCE), "-o", str(program), "-lm"], check=True)
    return program


def yardstick_ns(program: Path, members: int) -> float:
    """Return the yardstick's nanoseconds, as it prints them."""
    told = subprocess.run(
        [str(program), str(members), str(LAYERS), str(HOURS * ix.STEPS_EACH_HOUR)],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    words = told.replace("=", " ").split()
    return float(next(words[i - 1] for i, word in enumerate(words) if word.startswith("ns")))


Pond = tuple[Members, Basin, Conditions, Air, Told]


def make_pond(members: int, *, air: bool) -> Pond:
    """Return the yardstick's pond, still or with three diffusers that run all day, each at a depth of its own."""
    rng = np.random.default_rng(1)
    faces = np.linspace(0.0, DEPTH_M, LAYERS + 1)
    area = AREA_M2 * (1.0 - np.arange(LAYERS + 1) / (LAYERS + 2.0)) ** 1.2
    volume = 0.5 * (area[1:] + area[:-1]) * np.diff(faces)
    centre = 0.5 * (faces[1:] + faces[:-1])
    job = Job(
        id="bench", name="Bench", date=date(2026, 8, 1),
        site=Site(latitude_deg=36.0, longitude_deg=-79.0, elevation_m=0.0),
        pond=PondOfJob(area_m2=AREA_M2, max_depth_m=DEPTH_M),
    )  # fmt: skip
    parameters = parameters_of(draw_priors(members, 1), np.full(members, 0.8), job, AREA_M2, True)
    state = np.zeros((ix.STATES, LAYERS, members))
    upper = centre < 1.5
    warm = 30.0 - 9.0 / (1.0 + np.exp(-(centre - 1.5) / 0.3))
    state[ix.TEMPERATURE] = warm[:, None] + 0.2 * rng.random((LAYERS, members))
    for row, above, below in (
        (ix.SALT, 0.1, 0.1), (ix.OXYGEN, 8.0, 0.4), (ix.CHLOROPHYLL, 40.0, 10.0), (ix.DEBT_A, 0.0, 1.0),
        (ix.SULPHIDE, 0.0, 2.0), (ix.DEBT_C, 1.0, 8.0), (ix.AMMONIA, 0.1, 1.0), (ix.ALKALINITY, 1.5, 1.6),
        (ix.CARBON, 1.5, 1.8),
    ):  # fmt: skip
        state[row] = np.where(upper, above, below)[:, None]
    weather = np.zeros((ix.WEATHER, HOURS, members))
    sun = np.maximum(0.0, np.sin(np.arange(HOURS) / HOURS * 2.0 * np.pi - 1.57)) * 900.0
    for row, value in (
        (ix.AIR_TEMPERATURE, 27.0), (ix.VAPOUR, 2500.0), (ix.WIND_SPEED, 1.5), (ix.SKY, 380.0),
        (ix.PRESSURE, 101325.0),
    ):  # fmt: skip
        weather[row] = value
    weather[ix.SHORTWAVE] = sun[:, None]
    none = np.zeros(members, dtype=np.int64)
    return (
        Members(state, state[ix.TEMPERATURE].copy(), none, none - 1, none.copy(), np.zeros(1, dtype=np.int64)),
        Basin(faces, area, volume, centre),
        Conditions(parameters, weather, np.array([3.0, 34.0, 0.2, 0.01, 0.15, 0.6])),
        Air(
            np.full((HOURS * ix.STEPS_EACH_HOUR, 3), 1 if air else 0, dtype=np.uint8), np.array([3.6, 3.2, 2.8]),
            np.full(3, 0.02),
        ),
        Told(
            np.zeros((ix.FLUXES, members)), np.zeros((ix.RECORDS, HOURS, members)),
            np.zeros((2, 0, LAYERS, members)),
        ),
    )  # fmt: skip


def our_ns(members: int, *, air: bool, stride: int = 1) -> tuple[float, float]:
    """Return our nanoseconds per layer, member and five minutes of a day, solves included, and solves a member."""
    pond = make_pond(members, air=air)
    begin = time.thread_time()
    advance(*pond, 3, stride, 0, HOURS)
    taken_s = time.thread_time() - begin
    if not np.isfinite(pond[0].state).all() or float(pond[0].state[ix.TEMPERATURE].max()) > 60.0:
        raise RuntimeError("the pond of this benchmark turned unphysical: what was timed is no day.")
    solves = float(pond[-1].records[ix.PLUME_SOLVES].sum()) / members
    return taken_s * 1e9 / (LAYERS * members * HOURS * ix.STEPS_EACH_HOUR), solves


def solve_us() -> float:
    """Return the microseconds that the plumes of one diffuser take in one member's layered water."""
    members, basin, conditions, air, _ = make_pond(ix.LANES, air=True)
    block, plumes, rising = make_block(LAYERS), make_plumes(LAYERS, 3), make_rising(LAYERS)
    fill_block(block, members, conditions.parameters, 0)
    best = np.inf
    for _ in range(8):
        forget_plumes(plumes)
        begin = time.thread_time()
        count = solve_plumes(
            block.state, block.parameters, air.on[0], air, basin, np.full(ix.LANES, 101325.0), plumes, rising
        )
        best = min(best, (time.thread_time() - begin) / count)
    return best * 1e6


def main() -> None:
    """Measure both and print what they take and the ratio."""
    members = int(sys.argv[1]) if len(sys.argv) > 1 else 512
    our_ns(4, air=True)  # compiled, or read from the cache
    forms = (
        ("column, no air, 5 min", {"air": False}),
        ("column, no air, 10 min", {"air": False, "stride": STEADY_STRIDE_STEPS}),
        ("three diffusers, 5 min", {"air": True}),
        ("three diffusers, 10 min", {"air": True, "stride": STEADY_STRIDE_STEPS}),
    )
    with tempfile.TemporaryDirectory() as folder:
        program = build(Path(folder))
        rounds = [
            (yardstick_ns(program, members) if program else float("nan"),
             *(our_ns(members, **form)[0] for _, form in forms))
            for _ in range(5)
        ]  # fmt: skip
    c_ns, *ours_ns = (min(column) for column in zip(*rounds, strict=True))
    print(f"members {members}, layers {LAYERS}, one day; ns per layer, member and five minutes, one thread")
    if program is None:
        print("yardstick in C           no gcc here: left out")
    else:
        print(f"yardstick in C           {c_ns:7.1f}")
    each_us = solve_us()
    for (name, form), ns in zip(forms, ours_ns, strict=True):
        ratio = f"   {ns / c_ns:5.2f} times the yardstick" if program else ""
        print(f"{name:<25}{ns:7.1f}{ratio}")
        solves = our_ns(ix.LANES, **form)[1]
        if solves > 0.0:
            less = ns - solves * each_us * 1e3 / (LAYERS * HOURS * ix.STEPS_EACH_HOUR)
            ratio = f"   {less / c_ns:5.2f} times the yardstick" if program else ""
            print(f"  without plume solves   {less:7.1f}{ratio}   ({solves:.0f} solves a member and day)")
    print(f"plumes of one diffuser in one member: {each_us:.1f} us a solve")


if __name__ == "__main__":
    main()
