"""What the survey hands on: the basin in numbers, and as a surface that can be asked."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import numpy as np
from shapely import Polygon, contains_xy

from plumeline.notices import Notice
from plumeline.stages.survey.plane import LocalPlane

Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Hypsograph:
    """Area and volume of the basin by depth below today's water surface.

    Attributes:
        depth_m: levels from 0 down to the greatest depth.
        area_m2: horizontal area of the water at each level.
        volume_below_m3: water under each level; the first entry is the whole pond.
    """

    depth_m: tuple[float, ...]
    area_m2: tuple[float, ...]
    volume_below_m3: tuple[float, ...]

    def _place(self, depth_m: float) -> tuple[int, float]:
        """Return the index of the level above ``depth_m`` and the fraction of the way to the next one."""
        depth = min(max(depth_m, 0.0), self.depth_m[-1])
        index = min(bisect_right(self.depth_m, depth) - 1, len(self.depth_m) - 2)
        return index, (depth - self.depth_m[index]) / (self.depth_m[index + 1] - self.depth_m[index])

    def area_at(self, depth_m: float) -> float:
        """Return the area at a depth [m] in m², linear between levels; 0 below the bottom."""
        if depth_m > self.depth_m[-1]:
            return 0.0
        index, part = self._place(depth_m)
        return self.area_m2[index] + part * (self.area_m2[index + 1] - self.area_m2[index])

    def volume_below(self, depth_m: float) -> float:
        """Return the water below a depth [m] in m³.

        Between levels the area is linear, scaled so that the volumes at the levels are met.
        """
        index, part = self._place(depth_m)
        upper, lower = self.volume_below_m3[index], self.volume_below_m3[index + 1]
        area, next_area = self.area_m2[index], self.area_m2[index + 1]
        whole = (area + next_area) / 2
        share = (area * part + (next_area - area) * part * part / 2) / whole if whole > 0 else part
        return upper - (upper - lower) * share

    def volume_between(self, upper_m: float, lower_m: float) -> float:
        """Return the water between two depths [m] in m³."""
        return self.volume_below(upper_m) - self.volume_below(lower_m)


@dataclass(frozen=True, eq=False)
class DepthGrid:
    """The depth surface on a regular grid of cell centres.

    Attributes:
        x_m, y_m: coordinates of the columns (nx) and rows (ny).
        depth_m: depth, shape (ny, nx); NaN where there is no water.
        cell_area_m2: part of each cell's area inside the shore, shape (ny, nx).
        extended_m: the same surface, running on below zero outside the shore; for interpolation and contours.
        error_m: standard error of the depth, shape (ny, nx); None where it was not asked for or nobody sounded.
    """

    x_m: np.ndarray
    y_m: np.ndarray
    depth_m: np.ndarray
    cell_area_m2: np.ndarray
    extended_m: np.ndarray
    error_m: np.ndarray | None = None

    @property
    def cell_m(self) -> float:
        """Side of a cell."""
        return float(self.x_m[1] - self.x_m[0])

    def sample(self, x_m: np.ndarray, y_m: np.ndarray) -> np.ndarray:
        """Return bilinear depth [m] at places of shape (n,), never below zero."""
        column = np.clip((x_m - self.x_m[0]) / self.cell_m, 0, len(self.x_m) - 1.000001)
        row = np.clip((y_m - self.y_m[0]) / self.cell_m, 0, len(self.y_m) - 1.000001)
        i, j = column.astype(int), row.astype(int)
        u, v = column - i, row - j
        z = self.extended_m
        upper = z[j, i] * (1 - u) + z[j, i + 1] * u
        lower = z[j + 1, i] * (1 - u) + z[j + 1, i + 1] * u
        return np.asarray(np.maximum(upper * (1 - v) + lower * v, 0.0))


@dataclass(frozen=True)
class Contour:
    """Lines of one depth in the local plane; each a tuple of (x, y) in metres."""

    depth_m: float
    lines_xy: tuple[Ring, ...]


@dataclass(frozen=True)
class LeftOut:
    """A sounding that was not used, and why.

    Attributes:
        row: of soundings.csv; 0 where it is not known.
        depth_m: as read.
        reason: why it was not used.
        x_m, y_m: place in the local plane.
        puttable: whether `pond.keep_rows` can put it back; outside the outline there is no water to hold it.
    """

    row: int
    depth_m: float
    reason: str
    x_m: float
    y_m: float
    puttable: bool = True


@dataclass(frozen=True, eq=False)
class VolumeCases:
    """Every surface that was weighed, shape (n,) each: how likely, its volume, the error it allows a sounding.

    Attributes:
        weight_fraction: sums to one.
        volume_m3, volume_se_m3: the pond's volume under it, and the standard error that is left.
        error_m: standard deviation of one sounding under it.
    """

    weight_fraction: np.ndarray
    volume_m3: np.ndarray
    volume_se_m3: np.ndarray
    error_m: np.ndarray


@dataclass(frozen=True)
class MethodError:
    """One way to draw the bottom, tried on soundings left out.

    Attributes:
        name: "smooth" or "facets".
        error_m: root mean square of what it missed.
        bias_m: mean of sounding less surface.
        taken: whether the survey's surface is drawn so.
    """

    name: str
    error_m: float
    bias_m: float
    taken: bool


@dataclass(frozen=True)
class NextSounding:
    """A place to sound next: where, the depth to expect at the soundings' level, and what it is worth.

    Attributes:
        x_m, y_m: place in the local plane.
        depth_m: depth of the surface there.
        volume_se_after_m3: standard error of the volume once this place and those before it are sounded.
    """

    x_m: float
    y_m: float
    depth_m: float
    volume_se_after_m3: float


@dataclass(frozen=True)
class ShoreEffect:
    """What the shore does to the volume.

    Attributes:
        wall_m: depth at the water's edge that was used, on the mean of the shore.
        given: whether the job says it; else it is taken as 0.
        gain_m2: what a metre more of upright wall all round would add to the volume, m³ each m.
        power_number: how the banks begin: depth goes as the distance from shore to this power.
        prior_shift_m3: volume less that without the prior on this power.
        walled_m: length of shore that stretches of wall take.
        run_number: run of the banks for one of fall, as the job says it; None where it says nothing.
        without_m3, without_se_m3: volume and its standard error, had the job said nothing of walls and banks; None
            where it says nothing.
    """

    wall_m: float
    given: bool
    gain_m2: float
    power_number: float
    prior_shift_m3: float
    walled_m: float = 0.0
    run_number: float | None = None
    without_m3: float | None = None
    without_se_m3: float | None = None


@dataclass(frozen=True)
class LevelDay:
    """Soundings of one day at one level.

    Attributes:
        day: when they were taken; None where it is not known.
        count: how many.
        rise_m: how far the water stood over the level of most soundings; None where nobody read it.
    """

    day: date | None
    count: int
    rise_m: float | None


@dataclass(frozen=True, eq=False)
class MuckGrid:
    """The muck on the cells of the survey: thickness and its standard error, (ny, nx), NaN outside the water."""

    x_m: np.ndarray
    y_m: np.ndarray
    thickness_m: np.ndarray
    se_m: np.ndarray

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Return thickness and standard error [m] in the cell of a place, or in the nearest wet one."""
        step_m = float(self.x_m[1] - self.x_m[0])
        column = int(np.clip(np.rint((x_m - self.x_m[0]) / step_m), 0, len(self.x_m) - 1))
        row = int(np.clip(np.rint((y_m - self.y_m[0]) / step_m), 0, len(self.y_m) - 1))
        if not np.isfinite(self.thickness_m[row, column]):
            rows, columns = np.nonzero(np.isfinite(self.thickness_m))
            near = int(np.argmin((self.x_m[columns] - x_m) ** 2 + (self.y_m[rows] - y_m) ** 2))
            row, column = int(rows[near]), int(columns[near])
        return float(self.thickness_m[row, column]), float(self.se_m[row, column])


@dataclass(frozen=True)
class Muck:
    """Soft muck over the firm bottom, from probes.

    Attributes:
        volume_m3, volume_se_m3, volume_p05_m3, volume_p95_m3: of all muck, its standard error and 90 % band.
        mean_m: volume over the pond's area.
        thickest_m, thickest_xy: greatest thickness of the surface and where.
        probe_count: pairs of top and firm bottom.
        probe_error_m: standard deviation of one pair as found in them.
        deep_fraction: weight of the surfaces in which muck grows with the depth of the water.
        centre_m3: mean volume of the surfaces weighed, about which the band lies.
        grid: the surface.
    """

    volume_m3: float
    volume_se_m3: float
    volume_p05_m3: float
    volume_p95_m3: float
    mean_m: float
    thickest_m: float
    thickest_xy: tuple[float, float]
    probe_count: int
    probe_error_m: float
    deep_fraction: float
    centre_m3: float
    grid: MuckGrid = field(compare=False, repr=False)


@dataclass(frozen=True)
class Survey:
    """The basin as surveyed, at today's water level.

    Attributes:
        area_m2, perimeter_m: of the water surface; perimeter with the islands' shores.
        volume_m3, volume_se_m3, volume_p05_m3, volume_p95_m3: volume, its standard error and 90 % band.
        mean_depth_m: volume over area.
        max_depth_m: greatest depth of the surface.
        deepest_sounding_m: greatest sounding used, at today's level; None without soundings.
        hypsograph: area and volume by depth.
        outline_xy: rings in the local plane: the shore first, then islands; closed (first = last).
        outline_assumed: True where the job gives no outline.
        plane: the local plane.
        contours: lines of equal depth at even steps.
        grid: the depth surface.
        sounding_count: soundings used, before duplicates were averaged.
        left_out: soundings not used.
        reading_error_m: standard deviation of one sounding as found in the data; None without soundings.
        method: how the surface was made, in words.
        tried: the ways to draw the bottom, tried on soundings left out; empty with under 12 soundings.
        blocks_count: how many lines or patches of soundings were left out for it, each in its turn.
        tried_count: places left out in all.
        taken_under_way: whether the soundings are a track's, with errors shared along its lines.
        next_soundings: places to sound next, in their order; empty for a track.
        shore: what walls and banks do to the volume; None without soundings.
        muck: soft muck, where enough was probed.
        level_days: soundings by day and level; empty where they tell of one level alone.
        volume_cases: what the volume's error and the soundings' error were weighed from; None without soundings.
    """

    area_m2: float
    perimeter_m: float
    volume_m3: float
    volume_se_m3: float
    volume_p05_m3: float
    volume_p95_m3: float
    mean_depth_m: float
    max_depth_m: float
    deepest_sounding_m: float | None
    hypsograph: Hypsograph
    outline_xy: tuple[Ring, ...]
    outline_assumed: bool
    plane: LocalPlane
    contours: tuple[Contour, ...]
    grid: DepthGrid = field(compare=False, repr=False)
    sounding_count: int
    left_out: tuple[LeftOut, ...]
    reading_error_m: float | None
    method: str
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    tried: tuple[MethodError, ...] = ()
    blocks_count: int = 0
    tried_count: int = 0
    taken_under_way: bool = False
    next_soundings: tuple[NextSounding, ...] = ()
    shore: ShoreEffect | None = None
    muck: Muck | None = None
    level_days: tuple[LevelDay, ...] = ()
    volume_cases: VolumeCases | None = field(default=None, compare=False, repr=False)

    @cached_property
    def polygon(self) -> Polygon:
        """The water surface as a polygon with holes."""
        return Polygon(self.outline_xy[0], self.outline_xy[1:])

    def depth_at(self, x_m: float, y_m: float) -> float:
        """Return the depth [m] at a place of the local plane; 0 outside the shore."""
        if not contains_xy(self.polygon, x_m, y_m):
            return 0.0
        return float(self.grid.sample(np.array([x_m]), np.array([y_m]))[0])

    def depth_error_at(self, x_m: float, y_m: float) -> float | None:
        """Return the standard error of the depth [m] at a place; None where it was not asked for or nobody sounded."""
        if self.grid.error_m is None:
            return None
        column, row = (
            int(np.abs(axis_m - at_m).argmin())
            for axis_m, at_m in ((self.grid.x_m, x_m), (self.grid.y_m, y_m))
        )
        return float(self.grid.error_m[row, column])

    @property
    def deepest_xy(self) -> tuple[float, float]:
        """Place of the greatest depth."""
        row, column = np.unravel_index(int(np.nanargmax(self.grid.depth_m)), self.grid.depth_m.shape)
        return float(self.grid.x_m[column]), float(self.grid.y_m[row])
