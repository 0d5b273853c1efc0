"""Shortest ways through the water, around points of land and islands.

A shortest way inside a polygon bends only at its corners that point into the water, so it is found exactly
on the graph of what can see what (Lozano-Pérez & Wesley 1979, Commun. ACM 22:560).
"""

from __future__ import annotations

import threading
from functools import lru_cache

import numpy as np
import shapely
from scipy.sparse.csgraph import dijkstra
from scipy.spatial.distance import cdist
from shapely import Polygon
from shapely.geometry.polygon import orient
from shapely.ops import nearest_points

MOST_CORNERS = 160
TOUCH_M = 1e-3
MOST_KNOWN = 12
"""Tables of ways that a water keeps; one from all its cells is of a megabyte or two."""


class Water:
    """The water of a pond, asked for ways.

    A shore of more than 160 corners is simplified first, by no more than is needed; a way may then cut across
    the real shore by that much.
    """

    def __init__(self, polygon: Polygon) -> None:
        tolerance_m = 0.0
        simple = polygon
        while _corner_count(simple) > MOST_CORNERS:
            tolerance_m = max(2.0 * tolerance_m, 0.02)
            found = polygon.simplify(tolerance_m)
            simple = found if isinstance(found, Polygon) and not found.is_empty else simple
        self.tolerance_m = tolerance_m
        self._known: dict[tuple[bytes, bytes], np.ndarray] = {}
        # one water serves all requests: a prepared region builds its index at its first use, and by one thread
        self._lock = threading.RLock()
        self.polygon = polygon
        grown = simple.buffer(tolerance_m + TOUCH_M, join_style="mitre")
        self.region = grown if isinstance(grown, Polygon) else simple
        shapely.prepare(self.region)
        self.corners = _bends(simple)
        self.straight = self._direct(self.corners, self.corners)
        self.between = self.straight
        if len(self.corners):
            self.between = np.asarray(dijkstra(_edges(self.straight)))

    def _direct(self, start_xy: np.ndarray, end_xy: np.ndarray) -> np.ndarray:
        """Return straight distances (n, m), infinite where land lies between."""
        n, m = len(start_xy), len(end_xy)
        if n == 0 or m == 0:
            return np.zeros((n, m))
        if not len(self.corners):
            # no corner points into the water: it is convex, and two places in it see each other
            inside = self._covers(start_xy)[:, None] & self._covers(end_xy)[None, :]
            return np.where(inside, cdist(start_xy, end_xy), np.inf)
        ends = np.stack([np.repeat(start_xy, m, axis=0), np.tile(end_xy, (n, 1))], axis=1)
        with self._lock:
            seen = shapely.covers(self.region, shapely.linestrings(ends)).reshape(n, m)
        return np.where(seen, cdist(start_xy, end_xy), np.inf)

    def _covers(self, xy: np.ndarray) -> np.ndarray:
        with self._lock:
            return np.asarray(shapely.covers(self.region, shapely.points(xy)))

    def distances(self, start_xy: np.ndarray, end_xy: np.ndarray) -> np.ndarray:
        """Return shortest ways [m] from places (n, 2) to places (m, 2) as an array (n, m), not to be written in.

        The last are kept: each round of a sizing, each number of diffusers tried and each drag asks for the same.
        """
        key = (start_xy.tobytes(), end_xy.tobytes())
        with self._lock:
            found = self._known.pop(key, None)
            if found is None:
                found = self._ways(start_xy, end_xy)
                found.flags.writeable = False
            self._known[key] = found
            if len(self._known) > MOST_KNOWN:
                del self._known[next(iter(self._known))]
            return found

    def _ways(self, start_xy: np.ndarray, end_xy: np.ndarray) -> np.ndarray:
        direct = self._direct(start_xy, end_xy)
        if not len(self.corners) or np.isfinite(direct).all():
            return direct
        first = self._direct(start_xy, self.corners)
        last = self._direct(self.corners, end_xy)
        around = np.array([np.min(row[:, None] + self.between, axis=0) for row in first])
        for n in range(len(start_xy)):
            direct[n] = np.minimum(direct[n], np.min(around[n][:, None] + last, axis=0))
        return direct

    def path(self, start_xy: tuple[float, float], end_xy: tuple[float, float]) -> np.ndarray:
        """Return the shortest way between two places as corners (k, 2), both ends with it."""
        nodes = np.vstack([np.array([start_xy, end_xy], dtype=float), self.corners])
        direct = self._direct(nodes[:2], nodes)
        if np.isfinite(direct[0, 1]):
            return nodes[:2]
        weight = np.zeros((len(nodes), len(nodes)))
        weight[2:, 2:] = _edges(self.straight)
        weight[:2] = _edges(direct)
        weight[:, :2] = weight[:2].T
        _, before = dijkstra(weight, indices=0, return_predecessors=True)
        chain = [1]
        while chain[-1] != 0 and before[chain[-1]] >= 0:
            chain.append(int(before[chain[-1]]))
        if chain[-1] != 0:
            return nodes[:2]
        return nodes[chain[::-1]]

    def nearest(self, xy: tuple[float, float]) -> tuple[float, float]:
        """Return the place itself when it lies in the water, else the nearest place on the shore."""
        point = shapely.Point(xy)
        if self.polygon.covers(point):
            return xy
        found = nearest_points(self.polygon, point)[0]
        return float(found.x), float(found.y)


@lru_cache(maxsize=12)
def water_of(polygon: Polygon) -> Water:
    """Return the water of a polygon, the same for the same one: its ways are worked out once."""
    return Water(polygon)


def _edges(straight_m: np.ndarray) -> np.ndarray:
    """Return distances as the weights of a graph, where zero means no edge."""
    return np.where(np.isfinite(straight_m), straight_m, 0.0)


def _corner_count(polygon: Polygon) -> int:
    return len(polygon.exterior.coords) + sum(len(ring.coords) for ring in polygon.interiors)


def _bends(polygon: Polygon) -> np.ndarray:
    """Return the corners (k, 2) that point into the water: a way along the shore turns right there."""
    found: list[np.ndarray] = []
    turned = orient(polygon)
    for ring in (turned.exterior, *turned.interiors):
        xy = np.asarray(ring.coords)[:-1]
        into, out = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
        found.append(xy[into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] < -1e-9])
    return np.concatenate(found)
