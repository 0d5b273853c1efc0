"""The water ten days before the first reading: about what was read then, with scores for what nobody knows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.kernels.column_rates import fill_carbon
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.water import (
    MOST_GRADIENT_POWER,
    WaterRead,
    bloom_and_extinction,
    fresh_matter,
)
from plumeline.stages.reading.mixing import ALKALINITY_MG_PER_MOL_M3

Array = NDArray[np.float64]

# standard deviations of ten days: judgement, wide enough for a front or a hot week
UPPER_DEGC = 1.8
LOWER_DEGC = 0.8
DEPTH_NUMBER = 0.12  # of the logarithm of the thermocline's depth
OXYCLINE_NUMBER = 0.12
OXYGEN_MG_L = 1.5
PH_NUMBER = 0.25
AMMONIA_NUMBER = 0.35  # of the logarithm
SULPHIDE_NUMBER = 0.5
LEAD_D = 10.0
LEAST_DEBT_FRACTION = 0.15


def _stretched(grid: Grid, values: Array, stretch_number: Array) -> Array:
    """Return a profile by layer with its depths stretched by each member's factor (layers, members)."""
    depth = grid.centre_m
    return np.stack([np.interp(depth / factor, depth, values) for factor in stretch_number], axis=1)


def start_state(
    water: WaterRead, draws: dict[str, Array], job: Job, grid: Grid
) -> tuple[Array, Array, Array]:
    """Return every member's state ten days before the first reading, and what goes with it.

    Args:
        water: the first reading by layer.
        draws: the quantities of each member, and its scores of the start (members).
        job: the job.
        grid: the layers.

    Returns:
        state (STATES, layers, members), extinction [1/m] (members), the dissolved part of the sulphide's pool
        (members).
    """
    members = len(draws["chlorophyll"])
    state = np.zeros((ix.STATES, grid.layers, members))
    stretch = np.exp(DEPTH_NUMBER * draws["start_depth"])
    read = water.temperature_degc
    span = float(read.max() - read.min())
    warm = (read - read.min()) / span if span > 0.5 else np.ones_like(read)
    upper = _stretched(grid, warm, stretch)
    shift_degc = UPPER_DEGC * upper * draws["start_upper"] + LOWER_DEGC * (1.0 - upper) * draws["start_lower"]
    state[ix.TEMPERATURE] = np.clip(_stretched(grid, read, stretch) + shift_degc, 0.2, 42.0)
    oxygen = _stretched(grid, water.do_mg_l, stretch * np.exp(OXYCLINE_NUMBER * draws["start_oxycline"]))
    share = np.minimum(oxygen / 2.0, 1.0)
    state[ix.OXYGEN] = np.maximum(oxygen + share * OXYGEN_MG_L * draws["start_oxygen"], 0.0)
    state[ix.SALT] = water.salinity_g_kg[:, None]
    anoxic = np.clip((3.0 - state[ix.OXYGEN]) / 2.5, 0.0, 1.0)
    power = MOST_GRADIENT_POWER * ndtr(draws["start_gradient"])
    reduced = anoxic * _rise(grid, anoxic) ** power
    bloom, extinction_1_m = bloom_and_extinction(draws, job)
    state[ix.CHLOROPHYLL] = bloom * (1.0 - 0.8 * anoxic)
    state[ix.FRESH] = fresh_matter(draws, state[ix.CHLOROPHYLL])
    # the debts of the table are those at the reading: ten days of them are still to come
    earlier = np.maximum(1.0 - LEAD_D / draws["days_anoxic"], LEAST_DEBT_FRACTION)
    state[ix.DEBT_A] = draws["debt_a"] * earlier * reduced
    state[ix.DEBT_C] = draws["debt_c"] * earlier * (0.1 + 0.9 * reduced)
    dissolved = draws["sulphide_share"]
    pool = draws["debt_b"] / ix.SULPHIDE_DEMAND
    if np.isnan(water.sulphide_mg_l).all():
        state[ix.SULPHIDE] = pool * earlier * reduced
    else:
        # what was read is dissolved; iron sulphide and the like come on top of it
        kit = water.sulphide_mg_l[:, None] * np.exp(SULPHIDE_NUMBER * draws["start_sulphide"])
        kit = kit * water.sulphide_rise_fraction[:, None] ** power
        most = kit.max(axis=0)
        other = (1.0 - dissolved) * pool
        dissolved = most / np.maximum(most + other, 1e-6)
        state[ix.SULPHIDE] = kit * earlier / np.maximum(dissolved, 0.05)
    _fill_chemistry(state, water, draws, reduced, power)
    return state, extinction_1_m, dissolved


def _rise(grid: Grid, anoxic: Array) -> Array:
    """Return how far each layer lies from the end of the oxygen, 0, to the bottom, 1 (layers, members)."""
    foul = anoxic >= 0.5
    top = grid.interface_depth_m[np.argmax(foul, axis=0)]
    bottom = grid.centre_m[-1]
    some = foul.any(axis=0) & (top < bottom)
    rise = (grid.centre_m[:, None] - top) / np.where(some, bottom - top, 1.0)
    return np.where(some, np.clip(rise, 0.0, 1.0), 1.0)


def _fill_chemistry(
    state: Array, water: WaterRead, draws: dict[str, Array], reduced: Array, power: Array
) -> None:
    """Fill ammonia, alkalinity and carbon: as read and a little off, else from the priors."""
    if np.isnan(water.ammonia_mg_l).all():
        top, low = draws["surface_ammonia"], draws["bottom_ammonia"]
        state[ix.AMMONIA] = top + (low - top) * reduced
    else:
        least = water.ammonia_mg_l.min()
        more = (water.ammonia_mg_l - least)[:, None] * water.ammonia_rise_fraction[:, None] ** power
        state[ix.AMMONIA] = (least + more) * np.exp(AMMONIA_NUMBER * draws["start_ammonia"])
    if np.isnan(water.ph_number).all():
        ph = draws["surface_ph"] + (draws["bottom_ph"] - draws["surface_ph"]) * reduced
    else:
        ph = np.clip(water.ph_number[:, None] + PH_NUMBER * draws["start_ph"], 5.5, 10.5)
    alkalinity = water.alkalinity_mg_l / ALKALINITY_MG_PER_MOL_M3
    state[ix.ALKALINITY] = alkalinity[:, None]
    fill_carbon(alkalinity, ph, state)
