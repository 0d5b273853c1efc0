"""The strip along the shore that no sounding has entered, and what it leaves open in the volume.

How the banks begin is one thing all round a pond: where nobody sounded any of them, the surface carries on what it
found farther out, and errs the same way along the whole shore. Many soundings in the middle do not lessen that: to the
surface they even look like proof. A pond dug 3:1 to a flat floor, sounded 6 m off its shore and farther, came out 13 %
too large, and its own standard error was 2 %.

So the water of that strip has a standard error of its own, and the volume's is never less. With the depth D at its
inner side and D (s/s₀)^p between, its mean depth is D / (1 + p), and the prior on p (weighing.py: lognormal about 0.8,
factor 1.8) leaves a quarter of that open. A slope told for the banks narrows it: told to a quarter, it moves the
strip's water by a third of that, 0.08; how the banks go on below where it was told leaves 0.12 (judgement, held by
tests/stages/survey/test_unsounded.py).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import GeometryCollection
from shapely.geometry.base import BaseGeometry

from plumeline.stages.survey.along import even_places
from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface, depth_surface
from plumeline.stages.survey.points import Points

SHORE_PLACES = 240
ENTERED_FRACTION = 0.1
"""Of the shore: where as much of it was sounded nearer, the soundings say how the banks begin. Judgement."""
UNTOLD_FRACTION = 0.25
TOLD_FRACTION = 0.15
WORTH_SAYING_FRACTION = 0.1
"""Of the volume: a strip that holds less is not spoken of. Judgement."""


@dataclass(frozen=True)
class Strip:
    """The water along the shore that no sounding has entered.

    Attributes:
        water_m3: what the strip holds by the surface.
        told_fraction: part of the banks for which a slope counts that was told.
    """

    water_m3: float
    told_fraction: float

    @property
    def error_m3(self) -> float:
        """Standard error that the strip leaves in the volume."""
        return self.water_m3 * (UNTOLD_FRACTION + self.told_fraction * (TOLD_FRACTION - UNTOLD_FRACTION))

    def more_m3(self, volume_se_m3: float) -> float:
        """Return what is to be added in squares to a standard error, so that it is no less than the strip's."""
        return float(np.sqrt(max(self.error_m3**2 - volume_se_m3**2, 0.0)))

    def worth_saying(self, volume_m3: float, volume_se_m3: float) -> bool:
        """Return whether it widens the band, where nobody told a slope, and holds much of the volume."""
        wide = self.water_m3 > WORTH_SAYING_FRACTION * volume_m3
        return not self.told_fraction and wide and self.error_m3 > volume_se_m3


@dataclass(frozen=True, eq=False)
class Banks:
    """How far the shore is from the soundings, and how much water lies along it.

    Attributes:
        shore_xy: places evenly along the shore that is no wall, (k, 2).
        away_m: from each to the nearest sounding, (k).
        off_m: how far cells lie off that shore, ascending, (n).
        water_m3: what they hold, each with all nearer ones, (n).
        told_fraction: part of the banks for which a slope counts that was told.
    """

    shore_xy: np.ndarray
    away_m: np.ndarray
    off_m: np.ndarray
    water_m3: np.ndarray
    told_fraction: float

    @property
    def strip(self) -> Strip:
        """The strip as wide as nine tenths of the shore lie from the nearest sounding."""
        if not len(self.away_m):  # walls all round
            return Strip(0.0, self.told_fraction)
        wide_m = np.quantile(self.away_m, ENTERED_FRACTION)
        nearer = int(np.searchsorted(self.off_m, wide_m))
        return Strip(float(self.water_m3[nearer - 1]) if nearer else 0.0, self.told_fraction)

    def sounded(self, xy: np.ndarray) -> Banks:
        """Return the same with soundings in more places, (m, 2)."""
        away_m, _ = cKDTree(xy).query(self.shore_xy)
        return replace(self, away_m=np.minimum(self.away_m, away_m))


def banks_of(
    xy: np.ndarray, basin: Basin, walls: BaseGeometry, depth_m: np.ndarray, told_fraction: float
) -> Banks:
    """Return how far the shore is from the soundings; walls are no banks.

    Args:
        xy: places of soundings, (n, 2).
        basin: the grid.
        walls: lines on the shore where walls stand; may be empty.
        depth_m: the surface, (ny, nx), counted from the foot of a wall all round.
        told_fraction: part of the banks for which a slope counts that was told.
    """
    shore = basin.polygon.boundary.difference(walls.buffer(1e-3 * basin.cell_m))
    if shore.is_empty:
        return Banks(np.zeros((0, 2)), np.zeros(0), np.zeros(0), np.zeros(0), told_fraction)
    places = shapely.get_coordinates(even_places(list(shapely.get_parts(shore)), SHORE_PLACES))
    off_m = np.nan_to_num(basin.shore_distance_m, nan=-1.0)[basin.wet]
    if not walls.is_empty:
        mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
        off_m = shapely.distance(shore, shapely.points(mesh_x[basin.wet], mesh_y[basin.wet]))
    order = np.argsort(off_m, kind="stable")
    water_m3 = np.cumsum((np.maximum(depth_m, 0.0) * basin.area_m2)[basin.wet][order])
    away_m, _ = cKDTree(xy).query(places)
    return Banks(places, away_m, off_m[order], water_m3, told_fraction)


def untold_surface(sounded: Points, basin: Basin, seed: int) -> DepthSurface:
    """Return the surface, and its volume's error, had nobody spoken of walls and banks.

    Args:
        sounded: soundings.
        basin: the grid, zero on every shore.
        seed: for the draw of soundings.
    """
    surface = depth_surface(sounded, basin, seed)
    banks = banks_of(sounded.xy, basin, GeometryCollection(), surface.depth_m, 0.0)
    return replace(surface, volume_se_m3=max(surface.volume_se_m3, banks.strip.error_m3))
