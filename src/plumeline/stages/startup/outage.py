"""Restart after an outage: the pond ran and was mixed, then stood some days without air."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, Columns, Ensemble, march
from plumeline.stages.startup.scene import Running

Array = NDArray[np.float64]

RUNNING_D = 4
"""Days of air before the outage, in which the mixed water comes to its own balance."""


def after_outage(ensemble: Ensemble, running: Running, off_d: int) -> tuple[Ensemble, int]:
    """Return the ensemble as it stands after days of air and then days without, and the hour of that.

    The members keep what the readings told of them (their rates, their bed, their weather). Their water is
    mixed from top to bottom, its quick debts paid, run with all diffusers for four days, and left alone.
    The hours before the reading are used where there are enough of them, so that the restart falls on the
    days that the plan is for; else the restart falls later.

    Args:
        ensemble: the conditioned ensemble at its reading.
        running: the diffusers.
        off_d: days without air.
    """
    columns = ensemble.columns
    need = 24 * (RUNNING_D + off_d)
    begin = max(0, columns.hour - need)
    mixed = replace(columns.take(np.arange(columns.members)), hour=begin)
    mix(mixed)
    steps = np.zeros(((begin + need) * ix.STEPS_EACH_HOUR, len(running.depth_m)), dtype=np.uint8)
    steps[begin * ix.STEPS_EACH_HOUR : (begin + 24 * RUNNING_D) * ix.STEPS_EACH_HOUR] = 1
    stirred = replace(mixed, stirred=np.ones(1, dtype=np.int64))
    after = march(stirred, AirPlan(running.depth_m, running.air_mol_s, steps), begin + need).after
    nothing = np.zeros(columns.members, dtype=np.int64)
    after = replace(after, under_steps=nothing, failed_step=nothing - 1, cause=nothing.copy())
    return replace(ensemble, columns=after), begin + need


def mix(columns: Columns) -> None:
    """Mix each member from top to bottom, in place, and let its oxygen pay the quick debts.

    Every state is conserved but the debts and the oxygen that pays them; a running pond has long paid.
    """
    weight = columns.grid.volume_m3 / columns.grid.volume_m3.sum()
    state = columns.state
    state[:] = np.einsum("k,skm->sm", weight, state)[:, None, :]
    oxygen = state[ix.OXYGEN]
    for row, demand in ((ix.DEBT_A, 1.0), (ix.SULPHIDE, ix.SULPHIDE_DEMAND)):
        oxygen -= demand * state[row]
        state[row] = 0.0
    # what it could not pay at once it has paid in the days of running before: it starts from a little
    np.maximum(oxygen, 0.5, out=oxygen)
