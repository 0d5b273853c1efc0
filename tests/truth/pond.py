"""A foreign pond: its shape in three boxes, its numbers drawn with a seed, its water hour by hour.

Drawn as the trade's ponds differ (judgement; ranges after the sources that reference handbooks name: bed demand
0.5-4 g/m²/d, chlorophyll 5-150 µg/L, sulphide and iron of anoxic bottom water from nothing to tens of mg/L). Debt
is patchy: each box's bed, and its bottom water, is richer or poorer by a log-normal factor.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from tests.truth import names as n
from tests.truth.hourly import march_hour
from tests.truth.laws import saturation
from tests.truth.weather import MEAN_AIR, weather

ACRE_M2 = 4046.86
FOOT_M = 0.3048
DAY_S = 86400.0
BURN_IN_D = 12
LAYER_M = 0.22
DIFFUSER_UP_M = 0.3
SCFM_MOL_S = 1.17717 / 60.0


@dataclass(frozen=True)
class Kind:
    """A kind of pond: acres, greatest depth [ft], discs in the deep and in the middle box, scfm of each."""

    name: str
    acres: float
    depth_ft: float
    deep_discs: int
    middle_discs: int
    disc_scfm: float


KINDS = (
    Kind("0.25 acre, 6 ft", 0.25, 6.0, 1, 0, 0.5),
    Kind("0.5 acre, 12 ft", 0.5, 12.0, 1, 0, 0.9),
    Kind("1 acre, 8 ft", 1.0, 8.0, 1, 1, 0.7),
    Kind("2 acres, 15 ft", 2.0, 15.0, 1, 1, 1.4),
    Kind("4 acres, 20 ft", 4.0, 20.0, 2, 1, 1.8),
    Kind("10 acres, 12 ft", 10.0, 12.0, 2, 2, 3.2),
)


@dataclass(frozen=True)
class Shape:
    """Boxes with layers of one thickness.

    area (boxes, layers + 1): at the upper faces, and under the last layer of a box nothing; volume (boxes,
    layers); layers of each box; gap: width of the opening between neighbours [m].
    """

    area: np.ndarray
    volume: np.ndarray
    layers: np.ndarray
    gap: np.ndarray
    thick: float
    max_depth_m: float

    def area_at(self, depth_m: float) -> float:
        """Return the whole area at a depth [m²], straight between faces."""
        faces = np.arange(self.area.shape[1]) * self.thick
        return float(np.interp(depth_m, faces, self.area.sum(axis=0), right=0.0))

    def volume_below(self, depth_m: float) -> float:
        """Return the volume under a depth [m³]."""
        faces = np.arange(self.area.shape[1]) * self.thick
        below = np.append(np.cumsum(self.volume.sum(axis=0)[::-1])[::-1], 0.0)
        return float(np.interp(depth_m, faces, below))


def make_shape(kind: Kind, draw: np.random.Generator) -> Shape:
    """Return the shape of a pond of this kind."""
    whole = kind.acres * ACRE_M2
    deepest = kind.depth_ft * FOOT_M
    part = np.array([draw.uniform(0.34, 0.5), 0.0, draw.uniform(0.18, 0.3)])
    part[1] = 1.0 - part.sum()
    depth = np.array(
        [deepest, deepest * draw.uniform(0.55, 0.75), max(deepest * draw.uniform(0.28, 0.45), 0.66)]
    )
    layers = np.maximum(np.round(depth / LAYER_M), 3).astype(np.int64)
    thick = deepest / layers[0]
    layers = np.maximum(np.round(depth / thick), 3).astype(np.int64)
    area = np.zeros((3, layers[0] + 1))
    volume = np.zeros((3, layers[0]))
    for b in range(3):
        slope = draw.uniform(0.45, 0.85)
        faces = np.arange(layers[b] + 1) / layers[b]
        # the last face keeps an eighth of the surface: a flat bottom
        area[b, : layers[b] + 1] = part[b] * whole * (0.12 + 0.88 * (1.0 - faces) ** slope)
        volume[b, : layers[b]] = 0.5 * (area[b, : layers[b]] + area[b, 1 : layers[b] + 1]) * thick
    gap = np.array([0.8, draw.uniform(0.3, 0.7)]) * np.sqrt(part[1:] * whole)
    return Shape(area, volume, layers, gap, thick, deepest)


def spread(draw: np.random.Generator, low: float, high: float) -> float:
    """Return a log-normal draw with these 5 % and 95 %."""
    middle, width = 0.5 * (np.log(low) + np.log(high)), (np.log(high) - np.log(low)) / 3.29
    return float(np.exp(middle + width * draw.standard_normal()))


def draw_numbers(draw: np.random.Generator, kind: Kind) -> np.ndarray:
    """Return the numbers of one pond (PARAMETERS)."""
    p = np.zeros(n.PARAMETERS)
    rich = draw.standard_normal()  # a rich pond has more of everything
    chl = float(np.exp(np.log(28.0) + 0.75 * rich + 0.5 * draw.standard_normal()))
    p[n.P_SHELTER] = draw.uniform(0.35, 0.9)
    p[n.P_OPEN] = draw.uniform(0.2, 0.8) * min(1.0, 0.6 + 0.1 * kind.acres)
    p[n.P_WATER_LIGHT] = spread(draw, 0.4, 1.8)
    p[n.P_CHL_LIGHT] = draw.uniform(0.012, 0.03)
    p[n.P_INTERIOR] = spread(draw, 0.0008, 0.01)
    p[n.P_FILM] = draw.uniform(0.5, 1.0)
    p[n.P_SOD] = spread(draw, 0.4, 2.2) * np.exp(0.25 * rich) / DAY_S
    p[n.P_SOD_THETA] = draw.uniform(1.045, 1.085)
    p[n.P_FLUX] = spread(draw, 0.15, 0.9) * np.exp(0.25 * rich) / DAY_S
    parts = draw.dirichlet((1.0, 2.2, 5.0, 1.0))
    p[n.P_FLUX_IRON], p[n.P_FLUX_SULPHIDE], p[n.P_FLUX_METHANE] = parts[:3]
    p[n.P_IRON_RATE] = np.log(2.0) / (60.0 * spread(draw, 3.0, 90.0))
    p[n.P_SULPHIDE_RATE] = np.log(2.0) / (3600.0 * spread(draw, 2.0, 40.0))
    p[n.P_SULPHIDE_O2] = draw.uniform(0.9, 2.0)
    p[n.P_METHANE_RATE] = spread(draw, 0.15, 1.5) / DAY_S
    p[n.P_LABILE_RATE] = spread(draw, 0.04, 0.35) / DAY_S
    p[n.P_NITRIFY] = spread(draw, 0.01, 0.2) / DAY_S
    p[n.P_RESPIRE] = spread(draw, 0.15, 1.5) * np.exp(0.3 * rich) / DAY_S
    p[n.P_THETA] = draw.uniform(1.04, 1.08)
    p[n.P_MAKE] = spread(draw, 6.0, 18.0) / 3600.0
    p[n.P_IK] = spread(draw, 80.0, 320.0)
    p[n.P_CHL_RESPIRE] = draw.uniform(0.06, 0.13) * p[n.P_MAKE]
    p[n.P_GROW] = draw.uniform(0.4, 1.3) / DAY_S
    p[n.P_CARRY] = max(1.3 * chl, 6.0)
    p[n.P_DIE] = draw.uniform(0.04, 0.15) / DAY_S
    # one bloom in eight crashes within the weeks that are watched (judgement)
    p[n.P_CRASH_HOUR] = 24.0 * (BURN_IN_D + draw.uniform(0.0, 21.0)) if draw.random() < 0.12 else 1e9
    p[n.P_ALPHA] = spread(draw, 0.05, 0.13)
    p[n.P_ALPHA_POWER] = draw.uniform(0.0, 0.2)
    p[n.P_SLIP] = draw.uniform(0.2, 0.3)
    p[n.P_PEEL] = draw.uniform(0.0, 1.2)
    p[n.P_PLUNGE] = draw.uniform(0.1, 1.0)
    p[n.P_BUBBLE] = draw.uniform(0.03, 0.08)
    p[n.P_SWEEP] = draw.uniform(1.0, 3.0)
    p[n.P_MUD] = draw.uniform(0.0, 4.0)
    p[n.P_FROUDE] = draw.uniform(0.15, 0.35)
    p[n.P_DISPERSE] = spread(draw, 5e-4, 5e-3)
    p[n.P_PRESSURE] = draw.uniform(0.93, 1.0)
    return p


def first_water(draw: np.random.Generator, shape: Shape, p: np.ndarray, warm: float) -> np.ndarray:
    """Return the water twelve days before the survey (boxes, layers, STATES): in layers, foul below or not.

    warm: surface temperature [°C].
    """
    depth = (np.arange(shape.volume.shape[1]) + 0.5) * shape.thick
    light = p[n.P_WATER_LIGHT] + p[n.P_CHL_LIGHT] * p[n.P_CARRY] / 1.3
    step = float(np.clip(draw.normal(1.5 / light + 0.8, 0.3), 0.7, 0.75 * shape.max_depth_m))
    cold = min(1.8 * shape.max_depth_m, 11.0) * draw.uniform(0.6, 1.1)
    below = 1.0 / (1.0 + np.exp(-(depth - step) / 0.3))
    state = np.zeros((3, len(depth), n.STATES))
    temp = warm - cold * below * np.minimum(1.0, 0.6 + 0.4 * depth / shape.max_depth_m)
    full = saturation(warm, p[n.P_PRESSURE])
    anoxic = 1.0 / (1.0 + np.exp(-(depth - step - draw.uniform(0.1, 0.6)) / 0.2))
    days = draw.uniform(5.0, 90.0)  # how long the bottom has been without oxygen
    bed = (shape.area[:, 0].sum() - 0.0) / shape.volume.sum()
    owed = p[n.P_FLUX] * DAY_S * days * bed * draw.lognormal(0.0, 0.4)  # g O₂/m³, by what the bed gives
    sulphide = owed * p[n.P_FLUX_SULPHIDE] / p[n.P_SULPHIDE_O2]
    # iron holds sulphide down: what falls out as iron sulphide is gone from the water
    sulphide *= draw.uniform(0.1, 1.0)
    alkalinity, chl = spread(draw, 0.5, 3.0), p[n.P_CARRY] / 1.3
    for b in range(3):
        patch = draw.lognormal(0.0, 0.45)
        state[b, :, n.T] = temp
        state[b, :, n.O2] = full * draw.uniform(0.8, 1.05) * (1.0 - anoxic)
        state[b, :, n.FE] = min(owed * p[n.P_FLUX_IRON] / 0.143, 40.0) * patch * anoxic
        state[b, :, n.HS] = min(sulphide, 15.0) * patch * anoxic
        state[b, :, n.CH4] = min(owed * p[n.P_FLUX_METHANE] / 3.99, 20.0) * patch * anoxic
        state[b, :, n.LABILE] = 0.02 * chl + draw.uniform(0.1, 0.5) * min(owed, 20.0) * patch * anoxic
        state[b, :, n.NH4] = 0.03 + draw.uniform(0.02, 0.08) * min(owed, 40.0) * patch * anoxic
        state[b, :, n.ALK] = alkalinity * (1.0 + 0.3 * anoxic)
        state[b, :, n.DIC] = alkalinity * (0.97 + (0.3 + draw.uniform(0.1, 0.4)) * anoxic)
        state[b, :, n.CHL] = chl * (1.0 - 0.8 * below)
    return state


@dataclass
class Pond:
    """One pond in its weather, standing at an hour.

    Attributes:
        kind: what kind it is.
        regime: hot, mild or stormy.
        shape: its boxes.
        numbers: its own numbers (PARAMETERS).
        patch: factor on each box's bed.
        weather: (WEATHER, hours) from local midnight.
        state: (boxes, layers, STATES); bed: temperature of the mud.
        hour: hours since the start of the weather.
    """

    kind: Kind
    regime: str
    shape: Shape
    numbers: np.ndarray
    patch: np.ndarray
    weather: np.ndarray
    state: np.ndarray
    bed: np.ndarray
    hour: int
    boxes_of: np.ndarray
    depth_of: np.ndarray
    gas: np.ndarray
    started: np.ndarray
    limits: np.ndarray
    tally: np.ndarray = field(default_factory=lambda: np.array([0, -1, 0]))
    books: np.ndarray = field(default_factory=lambda: np.zeros(n.BOOKS))
    record: np.ndarray = field(default_factory=lambda: np.zeros(2))

    def copy(self) -> Pond:
        """Return a pond that runs on its own from here."""
        return Pond(
            self.kind, self.regime, self.shape, self.numbers, self.patch, self.weather, self.state.copy(),
            self.bed.copy(), self.hour, self.boxes_of, self.depth_of, self.gas, self.started.copy(), self.limits,
            self.tally.copy(), self.books.copy(), self.record.copy(),
        )  # fmt: skip

    def run(self, on: np.ndarray | None = None) -> None:
        """Run one hour; on (steps, diffusers) says which diffusers run in each five minutes."""
        if on is None:
            on = np.zeros((n.STEPS, len(self.gas)), dtype=np.uint8)
        s = self.shape
        march_hour(
            self.state, self.bed, s.area, s.volume, s.layers, s.thick, s.gap, self.patch,
            np.ascontiguousarray(self.weather[:, self.hour]), self.numbers, self.hour, self.boxes_of, self.depth_of,
            self.gas, on, self.started, self.limits, self.tally, self.books, self.record,
        )  # fmt: skip
        if not np.isfinite(self.state).all():
            raise FloatingPointError(f"the foreign pond is no number any more at hour {self.hour}")
        self.hour += 1

    def at(self, box: int, depth_m: float) -> np.ndarray:
        """Return the states at a depth of a box, straight between the middles of its layers."""
        m = int(self.shape.layers[box])
        middles = (np.arange(m) + 0.5) * self.shape.thick
        return np.array([np.interp(depth_m, middles, self.state[box, :m, s]) for s in range(n.STATES)])


def make_pond(kind: Kind, regime: str, seed: int, limits: np.ndarray, days: int = 36) -> Pond:
    """Draw a pond, run it through twelve days of its weather, and return it at the midnight before the survey.

    A pond whose fish would have died in the last eight of those days is none that anybody is called to: another is
    drawn. limits: of the refuge, in the order of names.py.
    """
    for attempt in range(60):
        draw = np.random.default_rng((seed, attempt))
        shape = make_shape(kind, draw)
        p = draw_numbers(draw, kind)
        air = weather(regime, BURN_IN_D + days, int(draw.integers(1 << 31)))
        warm = MEAN_AIR[regime] + draw.uniform(0.0, 2.0)
        state = first_water(draw, shape, p, warm)
        discs = [0] * kind.deep_discs + [1] * kind.middle_discs
        bottoms = np.array([shape.layers[b] * shape.thick for b in discs])
        pond = Pond(
            kind, regime, shape, p, draw.lognormal(0.0, 0.4, 3), air, state, state[:, :, n.T].copy(), 0,
            np.array(discs), bottoms - DIFFUSER_UP_M, np.full(len(discs), kind.disc_scfm * SCFM_MOL_S),
            np.zeros(len(discs), dtype=np.int64), limits,
        )  # fmt: skip
        for _ in range(24 * BURN_IN_D):
            if pond.hour == 24 * (BURN_IN_D - 8):
                pond.tally[:] = (0, -1, 0)
            pond.run()
        if pond.tally[1] < 0:
            pond.tally[:] = (0, -1, 0)
            pond.books[:] = 0.0
            return pond
    raise RuntimeError(f"no living pond of kind {kind.name} in {regime} weather with seed {seed}")
