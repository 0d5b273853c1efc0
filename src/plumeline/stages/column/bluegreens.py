"""Does mixing beat the blue-greens? The stirring of the running column against the rise of the colonies.

Buoyant cyanobacteria win while turbulence is too weak to hold them down (Huisman and others 2004; Jöhnk and
others 2008). The column's stirring is measured as a limnologist would, by a dye: each hour a passive dye is
released in the shape that decays most slowly, and the diffusivity that would make it decay as it did is the
column's. The Péclet number v H/K sets the colonies' rise against it: under 1 the stirring holds them down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh
from scipy.special import ndtr, ndtri

from plumeline.kernels import column_index as ix
from plumeline.sources.priors import prior
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.march import AirPlan, Columns, march

Array = NDArray[np.float64]
Flags = NDArray[np.uint8]

DYE_MOL_M3 = 1e-4
"""Alkalinity lent as the dye: no density, light or heat feels it, and a ten-thousandth moves no pH."""

LEAST_LEFT_FRACTION = 1e-6
"""Less of the dye than this is lost in round-off: the diffusivity is then at least what is shown."""

LEAST_DIFFUSIVITY_M2_S = 1e-12
"""For logarithms only: a thousandth of a solute's own diffusion."""

MODEL_ERROR_FACTOR = 3.0
"""One standard deviation of the diffusivity's error, as a factor (judgement)."""

ERROR_DRAWS = 40

SPIN_UP_H = 48
DAY_H = 24
HOUR_S = 3600.0
RISE_DRAWS = 200


@dataclass(frozen=True)
class Mode:
    """The shape of dye that decays most slowly in a column of one diffusivity.

    Attributes:
        shape_fraction: value by layer of the stirred column (layers), volume mean 0, greatest 1.
        decay_1_m2: its decay by time and diffusivity.
        depth_m: depth of the stirred column.
        volume_m3: of its layers (layers).
    """

    shape_fraction: Array
    decay_1_m2: float
    depth_m: float
    volume_m3: Array


@dataclass(frozen=True)
class Regime:
    """One way to run the air over a day.

    Attributes:
        name: in plain words.
        running: whether air runs in each clock hour from 0:00 (24).
        diffusivity_m2_s: by clock hour and simulated pond (24, members).
        holding_probability: that the Péclet number is under 1, by clock hour (24).
        all_day_probability: that it is under 1 in every hour of the day, with one rise speed for them all.
        most_m2_s: the greatest diffusivity that the dye of one hour can show.
    """

    name: str
    running: tuple[bool, ...]
    diffusivity_m2_s: Array
    holding_probability: tuple[float, ...]
    all_day_probability: float
    most_m2_s: float

    def band_m2_s(self, clock_hour: int) -> tuple[float, float, float]:
        """Return 5 %, median and 95 % of the simulated ponds' diffusivity in one clock hour [m²/s]."""
        low, middle, high = np.quantile(self.diffusivity_m2_s[clock_hour], [0.05, 0.5, 0.95])
        return float(low), float(middle), float(high)

    def peclet(self, clock_hour: int, depth_m: float) -> tuple[float, float, float]:
        """Return 5 %, median and 95 % of the Péclet number in one clock hour.

        Args:
            clock_hour: 0 to 23
            depth_m: of the stirred column [m]

        Returns:
            numbers over the simulated ponds, the rise speeds and the model's error
        """
        error = MODEL_ERROR_FACTOR ** ndtri((np.arange(ERROR_DRAWS) + 0.5) / ERROR_DRAWS)
        rise = rise_speeds_m_s()[:, None, None] * error[:, None]
        known = np.maximum(self.diffusivity_m2_s[clock_hour], LEAST_DIFFUSIVITY_M2_S)
        low, middle, high = np.quantile(rise * depth_m / known, [0.05, 0.5, 0.95])
        return float(low), float(middle), float(high)


def rise_speeds_m_s() -> Array:
    """Return rise speeds of colonies, evenly over their prior [m/s] (RISE_DRAWS)."""
    middles = (np.arange(RISE_DRAWS) + 0.5) / RISE_DRAWS
    return prior("rise_speed").quantile(middles) / HOUR_S


def slowest_mode(grid: Grid, depth_m: float) -> Mode:
    """Return the slowest shape of the water from the surface to `depth_m`, and how fast it decays.

    The eigenvector of the layers' own diffusion: V dc/dt = K Σ A (c' − c)/Δz over the faces.

    Args:
        grid: the layers
        depth_m: to which the column is stirred: the deepest diffuser [m]
    """
    count = min(max(grid.layer_at(depth_m) + 1, 2), grid.layers)
    volume = grid.volume_m3[:count]
    thickness = float(grid.interface_depth_m[1] - grid.interface_depth_m[0])
    passing = grid.area_m2[1:count] / thickness
    exchange = np.zeros((count, count))
    for face, each in enumerate(passing):
        exchange[face, face] += each
        exchange[face + 1, face + 1] += each
        exchange[face, face + 1] -= each
        exchange[face + 1, face] -= each
    decay, shapes = eigh(exchange, np.diag(volume))
    shape = shapes[:, 1] / np.abs(shapes[:, 1]).max()
    return Mode(shape * np.sign(shape[0]), float(decay[1]), float(grid.interface_depth_m[count]), volume)


def diffusivity_m2_s(mode: Mode, dye_fraction: Array, seconds_s: float) -> Array:
    """Return the diffusivity that leaves as much of the slowest shape as the dye has left.

    Args:
        mode: the shape as it was released, of size 1
        dye_fraction: what is there later, of the same size (layers, members)
        seconds_s: time between [s]

    Returns:
        diffusivities [m²/s] (members); where less than a millionth is left, at least so much
    """
    weight = mode.volume_m3 * mode.shape_fraction
    left = weight @ dye_fraction / (weight @ mode.shape_fraction)
    return np.asarray(-np.log(np.maximum(left, LEAST_LEFT_FRACTION)) / (mode.decay_1_m2 * seconds_s))


def mixed(columns: Columns) -> Columns:
    """Return the ensemble with the whole pond of each member mixed: a pond that is past its start-up."""
    volume = columns.grid.volume_m3
    mean = np.einsum("skm,k->sm", columns.state, volume) / volume.sum()
    state = np.repeat(mean[:, None, :], len(volume), axis=1)
    return replace(columns.take(slice(None)), state=state)


def stirring(columns: Columns, air: AirPlan, local_hour: NDArray[np.int64], name: str, mode: Mode) -> Regime:
    """Run the air for two days and release a dye in every hour of the third.

    Args:
        columns: the ensemble, wholly mixed
        air: the diffusers and when they run
        local_hour: clock hour at the start of each hour of the weather
        name: of the regime, in plain words
        mode: the dye's shape

    Returns:
        the regime, hours in clock order
    """
    standing = march(columns, air, columns.hour + SPIN_UP_H).after
    found = np.zeros((DAY_H, columns.members))
    running = [False] * DAY_H
    count = len(mode.shape_fraction)
    for _ in range(DAY_H):
        hour = standing.hour
        dyed = standing.take(slice(None))
        dyed.state[ix.ALKALINITY, :count] += DYE_MOL_M3 * mode.shape_fraction[:, None]
        later = march(standing, air, hour + 1).after
        seen = march(dyed, air, hour + 1).after.state[ix.ALKALINITY] - later.state[ix.ALKALINITY]
        clock = int(local_hour[hour])
        found[clock] = diffusivity_m2_s(mode, seen[:count] / DYE_MOL_M3, HOUR_S)
        steps = air.on[hour * ix.STEPS_EACH_HOUR : (hour + 1) * ix.STEPS_EACH_HOUR]
        running[clock] = bool(steps.any())
        standing = later
    each = tuple(float(holding_probability(row, mode.depth_m).mean()) for row in found)
    whole = float(holding_probability(found.min(axis=0), mode.depth_m).mean())
    most = float(diffusivity_m2_s(mode, np.zeros((count, 1)), HOUR_S)[0])
    return Regime(name, tuple(running), found, each, whole, most)


def holding_probability(diffusivity_m2_s: Array, depth_m: float) -> Array:
    """Return the probability that v H/K is under 1, over the rise speeds and the model's error.

    Args:
        diffusivity_m2_s: diffusivities K [m²/s], any shape
        depth_m: H [m]

    Returns:
        probabilities, same shape
    """
    bearable_m_s = np.maximum(diffusivity_m2_s, LEAST_DIFFUSIVITY_M2_S) / depth_m
    score = np.log(bearable_m_s[..., None] / rise_speeds_m_s()) / np.log(MODEL_ERROR_FACTOR)
    return np.asarray(ndtr(score).mean(axis=-1))
