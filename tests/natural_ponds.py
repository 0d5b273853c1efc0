"""Twenty natural ponds with an exact bottom, and people who sound them by line or by sonar.

The shore is a star of harmonics and coves about the deepest part, bent by a shear that keeps areas. The depth
is a closed formula: banks that fall to a floor, steeper on one side, swells, in some an old creek channel, in
some an island. Its integral is taken in the star's own polar coordinates, where it is smooth: doubling the
nodes moves it by under 1e-4 (tested), and the polygon of 720 corners holds the same water to 1e-4. No code of
the package is used here.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Polygon

COUNT = 20
CORNERS = 720
PING_M = 1.2
"""Way of the boat between two pings."""


@dataclass(frozen=True, eq=False)
class NaturalPond:
    """A pond with a known bottom; ``depth_m`` is exact."""

    number: int
    size_m: float
    deep_m: float
    harmonics: np.ndarray
    """Rows of (order, size, phase)."""
    coves: np.ndarray
    """Rows of (direction, reach, width)."""
    bend_number: float
    fall: float
    lean: float
    lean_to: float
    swells: np.ndarray
    """Rows of (size, wave number east, wave number north, phase)."""
    channel: tuple[float, float, float] | None
    """Depth [m], half width [m] and swing [m] of an old creek channel."""
    island: tuple[float, float, float] | None
    """Place and radius [m], in the frame that is not bent."""
    wall_m: float = 0.0
    """Depth at the shore where the banks stand upright."""
    polygon: Polygon = field(init=False)

    def __post_init__(self) -> None:
        turn = np.linspace(0, 2 * np.pi, CORNERS, endpoint=False)
        radius = self.radius_m(turn)
        holes = []
        if self.island:
            x, y, r = self.island
            holes = [self.bent(x + r * np.cos(turn[::6]), y + r * np.sin(turn[::6]))]
        object.__setattr__(
            self, "polygon", Polygon(self.bent(radius * np.cos(turn), radius * np.sin(turn)), holes)
        )

    def radius_m(self, turn: np.ndarray) -> np.ndarray:
        """Return the distance of the shore from the middle in directions [rad]."""
        found = np.ones_like(turn)
        for order, size, phase in self.harmonics:
            found += size * np.cos(order * turn + phase)
        for at, reach, width in self.coves:
            off = np.angle(np.exp(1j * (turn - at)))
            found += reach * np.exp(-((off / width) ** 2))
        return np.asarray(self.size_m * found)

    def bent(self, u: np.ndarray, v: np.ndarray) -> np.ndarray:
        """Return places of the plane, (n, 2); the shear keeps every area."""
        return np.column_stack([u, v + self.bend_number * u * u / self.size_m])

    def channel_v_m(self, u: np.ndarray) -> np.ndarray:
        """Return where the old channel runs, in the frame that is not bent."""
        assert self.channel is not None
        return np.asarray(self.channel[2] * np.sin(1.7 * u / self.size_m + 0.4))

    def channel_xy(self, step_m: float = 2.0) -> np.ndarray:
        """Return places along the middle of the old channel, in the water, (n, 2)."""
        u = np.arange(-1.6 * self.size_m, 1.6 * self.size_m, step_m)
        xy = self.bent(u, self.channel_v_m(u))
        return np.asarray(xy[shapely.contains_xy(self.polygon.buffer(-2.0), xy[:, 0], xy[:, 1])])

    def depth_m(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Return the depth at places of the plane, any shape."""
        return self._depth_m(
            np.asarray(x), np.asarray(y) - self.bend_number * np.asarray(x) ** 2 / self.size_m
        )

    def _depth_m(self, u: np.ndarray, v: np.ndarray) -> np.ndarray:
        turn, away = np.arctan2(v, u), np.hypot(u, v)
        out = np.clip(away / self.radius_m(turn), 0.0, 1.0)
        fall = self.fall * (1 + self.lean * np.cos(turn - self.lean_to) * out)
        depth = self.deep_m * (1 - out**fall)
        ripple = np.ones_like(depth)
        for size, east, north, phase in self.swells:
            ripple += size * np.sin((east * u + north * v) / self.size_m + phase)
        depth = self.wall_m + (depth - self.wall_m * (1 - out**fall)) * ripple
        if self.channel:
            cut, half, _ = self.channel
            depth = depth + cut * np.exp(-0.5 * ((v - self.channel_v_m(u)) / half) ** 2) * (1 - out**8)
        if self.island:
            x, y, r = self.island
            off = np.clip(np.hypot(u - x, v - y) - r, 0.0, None)
            depth = depth * (1 - np.exp(-off / (0.6 * r)))
        return np.asarray(depth)

    def volume_m3(self, nodes: int = 1200) -> float:
        """Return the integral of the depth, by the trapezoid round and Gauss-Legendre outwards."""
        at, weight = np.polynomial.legendre.leggauss(nodes // 4)
        turn = np.linspace(0, 2 * np.pi, nodes, endpoint=False)
        out = (at + 1) / 2
        radius = self.radius_m(turn)[:, None]
        u, v = radius * out * np.cos(turn)[:, None], radius * out * np.sin(turn)[:, None]
        inner = self._depth_m(u, v) * radius**2 * out
        return float((inner @ (weight / 2)).sum() * 2 * np.pi / nodes)


def natural_pond(number: int) -> NaturalPond:
    """Return one of the twenty ponds (a higher number gives a further one)."""
    rng = np.random.default_rng([77, number])
    size = float(rng.uniform(22, 85))
    orders = np.arange(1, 6)
    harmonics = np.column_stack(
        [orders, rng.uniform(0.3, 1.0, 5) * np.array([0.25, 0.25, 0.12, 0.07, 0.05]), rng.uniform(0, 6.28, 5)]
    )
    coves = [
        (rng.uniform(0, 6.28), rng.uniform(0.25, 0.55), rng.uniform(0.16, 0.3)) for _ in range(number % 3)
    ]
    deep = float(rng.uniform(1.8, 6.0))
    swells = np.column_stack(
        [
            rng.uniform(0.02, 0.12, 4),
            rng.uniform(1, 6, 4),
            rng.uniform(1, 6, 4),
            rng.uniform(0, 6.28, 4),
        ]
    )
    channel = (0.35 * deep, float(rng.uniform(2.5, 4.5)), 0.25 * size) if number % 4 == 1 else None
    island = (0.3 * size, 0.2 * size, float(rng.uniform(0.1, 0.16)) * size) if number % 5 == 2 else None
    return NaturalPond(
        number, size, deep, harmonics, np.array(coves).reshape(-1, 3), float(rng.uniform(-0.5, 0.5)),
        float(rng.uniform(1.3, 4.0)), float(rng.uniform(0.0, 0.45)), float(rng.uniform(0, 6.28)), swells,
        channel, island,
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Log:
    """What somebody brings home: places and depths as read, which pass each is of, and what was done to it."""

    xy: np.ndarray
    depth_m: np.ndarray
    line: np.ndarray
    day: np.ndarray
    fault: np.ndarray
    """Empty for a sound ping, else its fault: spike, zero, lost."""


def by_line(pond: NaturalPond, count: int, rng: np.random.Generator) -> Log:
    """Return soundings by weighted line along a few transects: 0.15 m reading error, 1 m of place, to 0.1 ft."""
    lines = max(2, round(np.sqrt(count / 2)))
    turn = float(rng.uniform(0, np.pi))
    tracks = lanes(pond, turn, lines)
    length = sum(float(np.hypot(*np.diff(track, axis=0).T).sum()) for track in tracks)
    places, numbers = [], []
    for number, track in enumerate(tracks):
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(track, axis=0).T))])
        many = max(1, round(count * along[-1] / length))
        at = (np.arange(many) + rng.uniform(0.25, 0.75, many)) / many * along[-1]
        places.append(np.column_stack([np.interp(at, along, track[:, axis]) for axis in (0, 1)]))
        numbers.append(np.full(many, number))
    xy = np.concatenate(places)
    read = pond.depth_m(xy[:, 0], xy[:, 1]) + rng.normal(0, 0.15, len(xy))
    read = np.round(np.clip(read, 0, None) / 0.03048) * 0.03048
    shown = xy + rng.normal(0, 1.0, xy.shape)
    return Log(shown, read, np.concatenate(numbers), np.zeros(len(xy), int), np.full(len(xy), ""))


def lanes(pond: NaturalPond, turn_rad: float, count: int) -> list[np.ndarray]:
    """Return so many parallel passes across the pond, every other one the other way, each (n, 2)."""
    c, s = np.cos(turn_rad), np.sin(turn_rad)
    frame = np.array([[c, s], [-s, c]])
    water = pond.polygon.buffer(-1.0)
    ring = np.array(pond.polygon.exterior.coords) @ frame.T
    (along_low, across_low), (along_high, across_high) = ring.min(axis=0), ring.max(axis=0)
    found: list[np.ndarray] = []
    for n in range(count):
        across = across_low + (n + 0.5) / count * (across_high - across_low)
        along = np.arange(along_low, along_high, PING_M)
        xy = np.column_stack([along, np.full(len(along), across)]) @ frame
        wet = shapely.contains_xy(water, xy[:, 0], xy[:, 1])
        edges = np.flatnonzero(np.diff(np.concatenate([[0], wet.astype(int), [0]])))
        for a, b in zip(edges[::2], edges[1::2], strict=True):
            if b - a > 3:
                found.append(xy[a:b][:: 1 if n % 2 == 0 else -1])
    return found


def by_sonar(
    pond: NaturalPond,
    rng: np.random.Generator,
    *,
    lines: int = 10,
    transducer_m: float = 0.3,
    day_rise_m: float = 0.0,
    faults: bool = True,
) -> Log:
    """Return a sonar log: lanes with drifting error, and with the faults of such logs.

    Args:
        pond: the pond.
        rng: draws.
        lines: passes across the pond.
        transducer_m: how deep the transducer hangs; the log reads that much too little.
        day_rise_m: how far the water rose before the second half of the passes.
        faults: with dropouts, spikes, zeros and lost bottom.
    """
    tracks = lanes(pond, float(rng.uniform(0, np.pi)), lines)
    line = np.concatenate([np.full(len(track), n) for n, track in enumerate(tracks)])
    day = (line >= len(tracks) / 2).astype(int)
    xy = np.concatenate(tracks)
    true = pond.depth_m(xy[:, 0], xy[:, 1])
    read = true + 0.06 * drifting(len(xy), 20.0, rng) + rng.normal(0, 0.03, len(xy))
    read = np.clip(read + day * day_rise_m - transducer_m, 0.0, None)
    shown = xy + 1.0 * np.column_stack([drifting(len(xy), 60.0, rng) for _ in range(2)])
    fault = np.full(len(xy), "", dtype="U5")
    if faults:
        read, fault = _faulty(read, rng)
        kept = ~_gaps(len(xy), rng)
        shown, read, line, day, fault = (item[kept] for item in (shown, read, line, day, fault))
    return Log(shown, np.round(read, 2), line, day, fault)


def drifting(count: int, length: float, rng: np.random.Generator) -> np.ndarray:
    """Return an error of standard deviation 1 that changes over about ``length`` pings, (count)."""
    keep = np.exp(-1.0 / length)
    noise = rng.normal(0, np.sqrt(1 - keep * keep), count)
    found = np.empty(count)
    found[0] = rng.normal()
    for n in range(1, count):
        found[n] = keep * found[n - 1] + noise[n]
    return found


def _gaps(count: int, rng: np.random.Generator) -> np.ndarray:
    gone = rng.uniform(size=count) < 0.03
    for start in rng.integers(0, count, max(1, count // 300)):
        gone[start : start + int(rng.integers(3, 15))] = True
    return gone


def _faulty(read: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Return a log with 1 % spikes, 1 % zeros and runs of lost bottom, and which pings those are."""
    read, fault = read.copy(), np.full(len(read), "", dtype="U5")
    draw = rng.uniform(size=len(read))
    high, low = draw < 0.006, (draw >= 0.006) & (draw < 0.01)
    read[high] = read[high] * rng.uniform(1.8, 3.0, high.sum()) + 1.0
    read[low] = read[low] * rng.uniform(0.1, 0.4, low.sum())
    fault[high | low] = "spike"
    zero = (draw >= 0.01) & (draw < 0.02)
    read[zero], fault[zero] = 0.0, "zero"
    for start in rng.integers(0, len(read), max(1, len(read) // 250)):
        run = slice(start, start + int(rng.integers(4, 12)))
        read[run] = 0.5 if rng.uniform() < 0.5 else float(read[start])
        fault[run] = "lost"
    return read, fault
