"""The layers of the water column, cut from the basin's hypsograph."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEAST_AREA_FRACTION = 0.004
"""Below the depth where the area falls under this part of the surface, the water joins the layer above it."""


class Basin(Protocol):
    """What the grid needs to know of a hypsograph."""

    def area_at(self, depth_m: float, /) -> float:
        """Return the area at a depth [m²]."""
        ...

    def volume_below(self, depth_m: float, /) -> float:
        """Return the volume under a depth [m³]."""
        ...


@dataclass(frozen=True)
class Grid:
    """Layers of equal thickness from the surface down.

    Attributes:
        interface_depth_m: depths of the faces, from 0 (layers + 1).
        area_m2: areas at the faces (layers + 1).
        volume_m3: volumes of the layers.
        centre_m: depths of the layers' middles.
    """

    interface_depth_m: Array
    area_m2: Array
    volume_m3: Array
    centre_m: Array

    @property
    def layers(self) -> int:
        """Number of layers."""
        return len(self.volume_m3)

    def layer_at(self, depth_m: float) -> int:
        """Return the index of the layer that holds a depth; the last one for anything deeper."""
        inside = int(np.searchsorted(self.interface_depth_m, depth_m, side="right")) - 1
        return min(max(inside, 0), self.layers - 1)


def make_grid(basin: Basin, max_depth_m: float, thickness_m: float = 0.18) -> Grid:
    """Cut a basin into layers of about `thickness_m`, from 10 to 40 of them.

    The thin tip of a basin under the depth where almost no area is left goes to the last layer, so that no
    water is lost and no layer is too small for the flows that pass it.
    """
    surface = basin.area_at(0.0)
    trial = np.linspace(0.0, max_depth_m, 400)
    wide = [float(z) for z in trial if basin.area_at(float(z)) >= LEAST_AREA_FRACTION * surface]
    bottom = max(wide[-1], 0.5 * max_depth_m)
    layers = int(np.clip(np.ceil(bottom / thickness_m), 10, 40))
    faces = np.linspace(0.0, bottom, layers + 1)
    area = np.array([basin.area_at(float(z)) for z in faces])
    below = np.array([basin.volume_below(float(z)) for z in faces])
    below[-1] = 0.0
    return Grid(faces, area, below[:-1] - below[1:], 0.5 * (faces[1:] + faces[:-1]))
