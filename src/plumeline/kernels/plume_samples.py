"""Bubble plumes over one diffuser for many draws of α, source, start, bubbles and transfer."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from plumeline.kernels.jit import kernel
from plumeline.kernels.plume import (
    END_DEPTH,
    FLOW,
    OXYGEN_LEFT,
    OXYGEN_UPTAKE,
    RADIUS,
    RECORD_COLUMNS,
    SURFACED,
    VELOCITY,
    fill_setting,
    rise_all,
)
from plumeline.kernels.rise import SETTING_COUNT
from plumeline.kernels.solubility import oxygen_share

Array = npt.NDArray[np.float64]

# Columns of a draw.
DRAW_ALPHA, DRAW_SOURCE_RADIUS, DRAW_FROUDE, DRAW_BUBBLE_RADIUS, DRAW_LAMBDA, DRAW_TRANSFER = 0, 1, 2, 3, 4, 5
DRAW_COLUMNS = 6

# Columns of what comes of it.
OUT_FLOW, OUT_SURFACES, OUT_END_DEPTH, OUT_TRANSFER, OUT_TRANSFER_TO_SURFACE = 0, 1, 2, 3, 4
OUT_RADIUS, OUT_VELOCITY = 5, 6
OUT_COLUMNS = 7


@kernel
def plume_samples(
    interface_depth_m: Array,
    ambient: Array,
    diffuser_depth_m: float,
    air_mol_s: float,
    surface_pressure_pa: float,
    law: float,
    steps_per_segment: int,
    most_plumes: int,
    draws: Array,
    out: Array,
) -> None:
    """Solve the plumes over one diffuser once for each draw.

    Args:
        interface_depth_m: depths of the interfaces, the first 0, shape (K + 1,) [m].
        ambient: the water around, shape (K, AMBIENT_COLUMNS).
        diffuser_depth_m: depth of the membrane [m].
        air_mol_s: dry air [mol/s].
        surface_pressure_pa: air pressure [Pa].
        law: solubility law, see `plumeline.kernels.solubility`.
        steps_per_segment: least number of steps in one segment.
        most_plumes: most plumes over the diffuser.
        draws: shape (n, DRAW_COLUMNS).
        out: filled, shape (n, OUT_COLUMNS): of the first plume its flow, whether it surfaces, where it
            ends, its share of oxygen taken up, that share on the whole way, its radius and velocity there.
    """
    setting = np.empty(SETTING_COUNT)
    withdrawn = np.zeros((most_plumes, len(ambient)))
    trace = np.empty((most_plumes, 0, 3))
    records = np.empty((most_plumes, RECORD_COLUMNS))
    oxygen = oxygen_share(law) * air_mol_s
    for n in range(len(draws)):
        draw = draws[n]
        fill_setting(
            draw[DRAW_ALPHA], draw[DRAW_FROUDE], draw[DRAW_LAMBDA], draw[DRAW_SOURCE_RADIUS],
            draw[DRAW_TRANSFER], surface_pressure_pa, law, setting,
        )  # fmt: skip
        count = rise_all(
            diffuser_depth_m, air_mol_s, draw[DRAW_BUBBLE_RADIUS], interface_depth_m, ambient, setting,
            steps_per_segment, withdrawn, trace, records,
        )  # fmt: skip
        out[n, :] = 0.0
        if count > 0:
            out[n, OUT_FLOW] = records[0, FLOW]
            out[n, OUT_SURFACES] = records[0, SURFACED]
            out[n, OUT_END_DEPTH] = records[0, END_DEPTH]
            out[n, OUT_TRANSFER] = records[0, OXYGEN_UPTAKE] / oxygen
            out[n, OUT_TRANSFER_TO_SURFACE] = 1.0 - records[count - 1, OXYGEN_LEFT] / oxygen
            out[n, OUT_RADIUS] = records[0, RADIUS]
            out[n, OUT_VELOCITY] = records[0, VELOCITY]
