"""Integrals over the real basin: a quantity by depth, weighed with the water that lies at that depth."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

THICKEST_SLICE_M = 0.02
"""Slices are no thicker than this; between them sit all depths at which area or profile have a corner."""


class BasinByDepth(Protocol):
    """What the integrals need of a hypsograph."""

    @property
    def depth_m(self) -> Sequence[float]:
        """Levels from 0 down to the greatest depth [m]."""

    @property
    def area_m2(self) -> Sequence[float]:
        """Area at each level [m²]."""

    @property
    def volume_below_m3(self) -> Sequence[float]:
        """Water under each level [m³]."""


@dataclass(frozen=True, eq=False)
class Slices:
    """Thin slices of the pond, shape (n,) each.

    Attributes:
        top_m, middle_m, bottom_m: depths of each slice.
        top_m2, middle_m2, bottom_m2: areas at those depths, linear between the basin's levels and scaled so
            that the volumes between the levels are met.
    """

    top_m: Array
    middle_m: Array
    bottom_m: Array
    top_m2: Array
    middle_m2: Array
    bottom_m2: Array

    @property
    def volume_m3(self) -> Array:
        """Water in each slice."""
        return (self.bottom_m - self.top_m) * (self.top_m2 + 4.0 * self.middle_m2 + self.bottom_m2) / 6.0

    def integral(self, quantity: Callable[[Array], Array]) -> float:
        """Return the integral of a quantity per m³ over the whole pond.

        Simpson's rule on each slice: exact where the quantity and the area are linear within it.

        Args:
            quantity: from depths [m], shape (n,), to values per m³, shape (n,)

        Returns:
            the integral, in the quantity's unit times m³
        """
        height = self.bottom_m - self.top_m
        ends = self.top_m2 * quantity(self.top_m) + self.bottom_m2 * quantity(self.bottom_m)
        return float(np.sum(height / 6.0 * (ends + 4.0 * self.middle_m2 * quantity(self.middle_m))))

    def volume_where(self, inside: Callable[[Array], npt.NDArray[np.bool_]]) -> float:
        """Return the water [m³] of the slices whose middle lies inside; exact if they end at the edges."""
        return float(np.sum(self.volume_m3[inside(self.middle_m)]))


def slices_of(basin: BasinByDepth, corners_m: Iterable[float] = ()) -> Slices:
    """Cut the basin into thin slices that end at its own levels and at ``corners_m``.

    Args:
        basin: levels, areas and volumes, shapes (k,)
        corners_m: further depths at which a slice has to end; those outside the pond are left out

    Returns:
        slices from the surface to the greatest depth
    """
    level = np.asarray(basin.depth_m, dtype=np.float64)
    area = np.asarray(basin.area_m2, dtype=np.float64)
    volume = np.asarray(basin.volume_below_m3, dtype=np.float64)
    deepest = level[-1]
    inner = [depth for depth in corners_m if 0.0 < depth < deepest]
    fine = np.linspace(0.0, deepest, int(np.ceil(deepest / THICKEST_SLICE_M)) + 1)
    edge = np.unique(np.concatenate([level, np.array(inner, dtype=np.float64), fine]))
    top, bottom = edge[:-1], edge[1:]
    middle = (top + bottom) / 2.0
    index = np.clip(np.searchsorted(level, middle, side="right") - 1, 0, len(level) - 2)
    height = np.diff(level)
    plain = height * (area[:-1] + area[1:]) / 2.0
    held = -np.diff(volume)
    scale = np.where(plain > 0.0, held / np.where(plain > 0.0, plain, 1.0), 1.0)[index]
    areas = [np.interp(depth, level, area) * scale for depth in (top, middle, bottom)]
    return Slices(top, middle, bottom, *areas)


def crossings_m(depth_m: Sequence[float], value: Sequence[float], limit: float) -> tuple[float, ...]:
    """Return the depths [m] at which a line through the points crosses a limit.

    Args:
        depth_m: depths of the points, growing, shape (k,)
        value: values at the points, shape (k,)
        limit: the limit, in the values' unit

    Returns:
        depths of the crossings, from the top down
    """
    found: list[float] = []
    for i in range(len(depth_m) - 1):
        a, b = value[i] - limit, value[i + 1] - limit
        if (a < 0.0) != (b < 0.0):
            found.append(depth_m[i] + (depth_m[i + 1] - depth_m[i]) * a / (a - b))
    return tuple(found)
