"""The crew's instruments and survey: what they read of a foreign pond, with the errors of the trade.

A meter is off by the same amount all day (calibration), by another amount each place (patches, a drifting boat),
creeps from week to week, and one in twelve sticks at one value on one day. Depths are marks on a rope. The survey
finds area and depth within a few percent. A bottle of bottom water is reckoned from the substances in it and the
same laws. (All judgement; sizes after the planner's issue: 0.5 mg/L a day, 0.5-1.0 mg/L a place.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from tests.truth import names as n
from tests.truth.laws import toxic_sulphide
from tests.truth.pond import Pond

STUCK_PROBABILITY = 1.0 / 12.0


@dataclass
class Meter:
    """One crew's meter and noses through one job."""

    draw: np.random.Generator
    scale: float
    creep: float
    stuck_day: int
    nose: float
    day: int = -1
    bias: float = 0.0
    held: float | None = None

    @classmethod
    def of(cls, seed: int) -> Meter:
        """Return the meter of a job."""
        draw = np.random.default_rng((seed, 77))
        stuck = int(draw.integers(1, 8)) if draw.random() < STUCK_PROBABILITY else 10**6
        return cls(
            draw, draw.normal(1.0, 0.02), draw.normal(0.0, 0.03), stuck, draw.lognormal(np.log(0.004), 0.5)
        )

    def oxygen(self, pond: Pond, box: int, depth_m: float, day: int) -> float:
        """Return the oxygen read at a depth of a box [mg/L] on a day of the job."""
        if day != self.day:
            self.day, self.held = day, None
            self.bias = float(self.draw.normal(0.0, 0.4)) + self.creep * day
        rope = max(depth_m + float(self.draw.normal(0.0, 0.05)), 0.02)
        truth = float(pond.at(box, rope)[n.O2])
        read = truth * self.scale + self.bias + float(self.draw.normal(0.0, 0.25 + 0.05 * truth))
        if day == self.stuck_day:
            if self.held is None:
                self.held = max(read, 0.0)
            return round(self.held, 1)
        return round(max(read, 0.0), 1)

    def temperature(self, pond: Pond, box: int, depth_m: float) -> float:
        """Return the temperature read at a depth of a box [°C]."""
        rope = max(depth_m + float(self.draw.normal(0.0, 0.05)), 0.02)
        return round(float(pond.at(box, rope)[n.T]) + float(self.draw.normal(0.0, 0.15)), 1)

    def smells(self, pond: Pond) -> bool:
        """Return whether anybody on the bank smells rotten eggs: H₂S of the surface over this nose's threshold."""
        top = pond.state[:, 0]
        worst = 0.0
        for cell in top:
            # neutral enough where it smells; the pH of foul water that has just come up
            worst = max(worst, float(cell[n.HS]) * float(toxic_sulphide(cell[n.T], 7.5)))
        return worst > self.nose


@dataclass(frozen=True)
class Bottle:
    """A bottle test: oxygen in mg/L, mixture 1:1."""

    depth_m: float
    bottom: float
    surface: float
    after_15min: float
    after_24h: float
    surface_after_24h: float


def bottle(pond: Pond, depth_m: float, seed: int) -> Bottle:
    """Return what a bottle of bottom and surface water, one to one, does in the dark at the pond's warmth."""
    draw = np.random.default_rng((seed, 78))
    low, top = pond.at(0, depth_m), pond.at(0, 0.3)
    mixed = 0.5 * (low + top)
    p = pond.numbers

    def left(cell: np.ndarray, hours: float) -> float:
        cell = cell.copy()
        for _ in range(int(hours * 20)):
            dt = 180.0
            oxygen = max(cell[n.O2], 0.0)
            warm = p[n.P_THETA] ** (cell[n.T] - 20.0)
            lim = oxygen / (oxygen + 0.5)
            iron = cell[n.FE] * (1.0 - math.exp(-max(p[n.P_IRON_RATE], 1e-4) * dt * min(oxygen / 8.0, 1.5)))
            sulphide = cell[n.HS] * (1.0 - math.exp(-p[n.P_SULPHIDE_RATE] * warm * dt * lim))
            methane = cell[n.CH4] * (1.0 - math.exp(-p[n.P_METHANE_RATE] * warm * dt * lim))
            labile = cell[n.LABILE] * (1.0 - math.exp(-p[n.P_LABILE_RATE] * warm * dt * lim))
            breath = (p[n.P_RESPIRE] + p[n.P_CHL_RESPIRE] * cell[n.CHL] / 1000.0) * warm * dt * lim
            used = 0.143 * iron + p[n.P_SULPHIDE_O2] * sulphide + 3.99 * methane + labile + breath
            share = min(1.0, 0.95 * oxygen / used) if used > 0.0 else 0.0
            cell[n.O2] -= used * share
            cell[n.FE] -= iron * share
            cell[n.HS] -= sulphide * share
            cell[n.CH4] -= methane * share
            cell[n.LABILE] -= labile * share
        return float(cell[n.O2])

    def read(value: float) -> float:
        return round(max(value + float(draw.normal(0.0, 0.15)), 0.0), 1)

    return Bottle(
        depth_m, read(low[n.O2]), read(top[n.O2]), read(left(mixed, 0.25)), read(left(mixed, 24.0)),
        read(left(top, 24.0)),
    )  # fmt: skip


@dataclass(frozen=True)
class Surveyed:
    """The shape as surveyed: the true one with a scale error of area and of depth."""

    pond: Pond
    area_factor: float
    depth_factor: float

    @classmethod
    def of(cls, pond: Pond, seed: int) -> Surveyed:
        """Return the survey of a pond."""
        draw = np.random.default_rng((seed, 79))
        return cls(pond, float(draw.lognormal(0.0, 0.03)), float(draw.lognormal(0.0, 0.03)))

    @property
    def max_depth_m(self) -> float:
        """Greatest depth found [m]."""
        return self.pond.shape.max_depth_m * self.depth_factor

    def area_at(self, depth_m: float, /) -> float:
        """Return the area at a depth [m²]."""
        return self.area_factor * self.pond.shape.area_at(depth_m / self.depth_factor)

    def volume_below(self, depth_m: float, /) -> float:
        """Return the volume under a depth [m³]."""
        return (
            self.area_factor * self.depth_factor * self.pond.shape.volume_below(depth_m / self.depth_factor)
        )
