"""What each simulated pond would have read: its own numbers at the hours and depths of the readings."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Bottle
from plumeline.kernels import column_index as ix
from plumeline.science.carbonate import ph_from_alkalinity_and_carbon
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.looks import Kind, Looks, log_added
from plumeline.stages.column.march import Columns

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

STATE_OF = {
    Kind.TEMPERATURE: ix.TEMPERATURE,
    Kind.OXYGEN: ix.OXYGEN,
    Kind.AMMONIA: ix.AMMONIA,
    Kind.SULPHIDE: ix.SULPHIDE,
}
QUARTER_H = 0.25
DAY_H = 24.0
_ph = np.vectorize(ph_from_alkalinity_and_carbon, otypes=[float])


def between(grid: Grid, depth_m: Array) -> Array:
    """Return the weights of the layers at each depth, linear between their middles (depths, layers)."""
    layers = np.arange(grid.layers)
    return np.array([np.interp(depth_m, grid.centre_m, (layers == k).astype(float)) for k in layers]).T


def numbers_at(columns: Columns, looks: Looks, rows: Ints) -> Array:
    """Return what each member would have read at its present hour, for some of the numbers (rows, members)."""
    found = np.zeros((len(rows), columns.members))
    bottled: dict[int, dict[Kind, Array]] = {}
    for place, row in enumerate(rows):
        kind = Kind(int(looks.kind_index[row]))
        weights = between(columns.grid, looks.depth_m[row : row + 1])[0]
        used = np.flatnonzero(weights)
        if kind in STATE_OF:
            amount = np.maximum(weights[used] @ columns.state[STATE_OF[kind], used], -5.0)
            if kind is Kind.SULPHIDE:
                amount = amount * columns.parameters[ix.SULPHIDE_SHARE]
        elif kind is Kind.PH:
            amount = weights[used] @ ph_of(columns, used)
        else:
            item = int(looks.item_index[row])
            bottle = looks.bottles[item]
            if bottle is None:
                raise ValueError("a bottle's number without its bottle")
            if item not in bottled:
                bottled[item] = bottle_numbers(columns, bottle)
            amount = bottled[item][kind]
        found[place] = log_added(kind, amount)
    return found


def ph_of(columns: Columns, layers: Ints | slice = slice(None)) -> Array:
    """Return the pH of some layers (layers, members)."""
    state = columns.state[:, layers]
    return np.asarray(_ph(state[ix.ALKALINITY], state[ix.CARBON], state[ix.TEMPERATURE]))


def bottle_numbers(columns: Columns, bottle: Bottle) -> dict[Kind, Array]:
    """Return the demands [mg/L] that a bottle test would find in each member.

    The mixture stands as warm as the surface, where it hangs, and at the oxygen that it was filled with; each
    debt is paid at the column's own rate.
    """
    p, grid = columns.parameters, columns.grid
    k = grid.layer_at(bottle.depth_m)
    warm = p[ix.RESPIRATION_THETA] ** (columns.state[ix.TEMPERATURE, 0] - 20.0)
    share = bottle.bottom_share
    do_mg_l = share * bottle.bottom_do_mg_l + (1.0 - share) * bottle.surface_do_mg_l
    debt_s = ix.SULPHIDE_DEMAND * columns.state[ix.SULPHIDE, k]

    def paid(hours_h: float) -> Array:
        time_s = 3600.0 * hours_h
        left_a = np.exp(-p[ix.RATE_A] * warm * do_mg_l * time_s)
        left_s = np.exp(-p[ix.RATE_S] * warm * do_mg_l * time_s)
        left_c = np.exp(-p[ix.RATE_C] * warm * time_s)
        paid_a = columns.state[ix.DEBT_A, k] * (1.0 - left_a)
        return np.asarray(paid_a + debt_s * (1.0 - left_s) + columns.state[ix.DEBT_C, k] * (1.0 - left_c))

    breath = p[ix.RESPIRATION] * 86400.0 * warm
    return {Kind.IMMEDIATE: paid(QUARTER_H), Kind.FAST: paid(DAY_H), Kind.CONTROL: breath}
