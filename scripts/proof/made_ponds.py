"""Ponds made by hand for the studies: a solid of revolution, a summer profile, and discs on the bottom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Answer, Bottle, Fish, Job, Pond, Profile, ProfilePoint, Site, Wishes
from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, Grid, make_grid, refuge_for

Array = NDArray[np.float64]

ACRE_M2 = 4046.8564224
FOOT_M = 0.3048
SCFM_M3_S = 4.71947443e-4
SCFM_MOL_S = SCFM_M3_S * 101325.0 / (8.314462618 * 293.15)
"""Dry air in one standard cubic foot a minute (68 °F, 14.696 psia)."""


@dataclass(frozen=True)
class Bowl:
    """A basin whose area falls with depth as (1 − z/H)^power: 1 a paraboloid, 2 a cone, 0 a box."""

    area_m2: float
    depth_m: float
    power_number: float = 1.0

    def area_at(self, depth_m: float) -> float:
        """Return the area at a depth [m²]."""
        return float(self.area_m2 * max(1.0 - depth_m / self.depth_m, 0.0) ** self.power_number)

    def volume_below(self, depth_m: float) -> float:
        """Return the water under a depth [m³], the integral done on paper."""
        rest = max(1.0 - depth_m / self.depth_m, 0.0) ** (self.power_number + 1.0)
        return float(self.area_m2 * self.depth_m / (self.power_number + 1.0) * rest)


@dataclass(frozen=True)
class Made:
    """A pond in numbers.

    Attributes:
        name: in plain words.
        area_acre, depth_ft: its size.
        power_number: its shape (`Bowl`).
        surface_degc, bottom_degc: over and under the thermocline.
        thermocline_m: its depth.
        bottom_sulphide_mg_l: as S.
        bottom_ammonia_mg_l: as N.
        discs: diffusers, each with 1.3 scfm, on the bottom but for a foot.
        species: of the fish.
        month: of the reading.
        surface_do_mg_l: oxygen over the thermocline.
        bottom_do_mg_l: oxygen under it.
        fast_demand_mg_l: what a litre of bottom water takes up within a day, by a bottle; None for no bottle.
    """

    name: str
    area_acre: float
    depth_ft: float
    power_number: float = 1.0
    surface_degc: float = 28.0
    bottom_degc: float = 17.0
    thermocline_m: float = 1.6
    bottom_sulphide_mg_l: float | None = 1.0
    bottom_ammonia_mg_l: float | None = 1.0
    discs: int = 2
    species: str = "bluegill"
    month: int = 8
    surface_do_mg_l: float = 8.0
    bottom_do_mg_l: float = 0.1
    fast_demand_mg_l: float | None = 1.5

    @property
    def area_m2(self) -> float:
        """Surface area."""
        return self.area_acre * ACRE_M2

    @property
    def depth_m(self) -> float:
        """Greatest depth."""
        return self.depth_ft * FOOT_M

    @property
    def bowl(self) -> Bowl:
        """The basin."""
        return Bowl(self.area_m2, self.depth_m, self.power_number)

    @property
    def disc_depth_m(self) -> tuple[float, ...]:
        """Depths of the membranes, half a foot apart from the deepest up."""
        return tuple(self.depth_m - (1.0 + 0.5 * (i % 3)) * FOOT_M for i in range(self.discs))

    def grid(self, thickness_m: float = 0.18) -> Grid:
        """Return the layers."""
        return make_grid(self.bowl, self.depth_m, thickness_m)

    def limits(self) -> Array:
        """Return the limits of the refuge (LIMITS)."""
        return refuge_for(Fish(species=(self.species,)), self.area_m2, self.disc_depth_m).as_array()

    def air(self, on: NDArray[np.bool_]) -> AirPlan:
        """Return the discs, all of them on in the steps that are on (steps)."""
        flags = np.repeat(np.asarray(on)[:, None], self.discs, axis=1).astype(np.uint8)
        return AirPlan(np.array(self.disc_depth_m), np.full(self.discs, 1.3 * SCFM_MOL_S), flags)

    def job(self, seed: int = 1) -> Job:
        """Return the job: a profile read at dawn, fish that are well, no weather but the climate's."""
        depths = np.linspace(0.0, self.depth_m, 9)
        over = 0.5 * (1.0 - np.tanh((depths - self.thermocline_m) / 0.4))
        points = tuple(
            ProfilePoint(
                depth_m=float(z),
                temperature_degc=float(self.bottom_degc + (self.surface_degc - self.bottom_degc) * s),
                do_mg_l=float(self.bottom_do_mg_l + (self.surface_do_mg_l - self.bottom_do_mg_l) * s),
                ph=float(7.0 + 1.6 * s),
                alkalinity_mg_l=float(90.0 - 20.0 * s),
                ammonia_mg_l=_none_or(self.bottom_ammonia_mg_l, 1.0 - 0.92 * s),
                sulphide_mg_l=_none_or(self.bottom_sulphide_mg_l, (1.0 - s) ** 4),
            )
            for z, s in zip(depths, over, strict=True)
        )
        return Job(
            id="made",
            name=self.name,
            date=date(2026, self.month, 11),
            seed=seed,
            site=Site(
                latitude_deg=35.9, longitude_deg=-79.5, elevation_m=200.0, time_zone="America/New_York"
            ),
            pond=Pond(area_m2=self.area_m2, max_depth_m=self.depth_m, secchi_depth_m=0.9),
            fish=Fish(species=(self.species,), gasping_at_dawn=Answer.NO, kill_this_season=Answer.NO),
            # with a few hundred ponds one loss is over 2 %: these plans accept more
            wishes=Wishes(longest_start_up_d=7, job_risk=0.10, day_risk=0.05),
            observations=(
                Profile(id="p", time=datetime(2026, self.month, 11, 10, 30, tzinfo=UTC), points=points),
                *self._bottle(),
            ),
        )

    def _bottle(self) -> tuple[Bottle, ...]:
        """Return a bottle of equal parts that gives the fast demand back, a quarter of it within 15 minutes."""
        if self.fast_demand_mg_l is None:
            return ()
        breath = 0.6  # of the surface bottle in a day
        filled = 0.5 * (self.bottom_do_mg_l + self.surface_do_mg_l)
        late = filled - 0.5 * self.fast_demand_mg_l - 0.5 * breath
        return (
            Bottle(
                id="b",
                time=datetime(2026, self.month, 11, 11, tzinfo=UTC),
                depth_m=0.9 * self.depth_m,
                bottom_do_mg_l=self.bottom_do_mg_l,
                surface_do_mg_l=self.surface_do_mg_l,
                after_15min_mg_l=max(filled - 0.125 * self.fast_demand_mg_l, 0.0),
                after_24h_mg_l=max(late, 0.0),
                surface_after_24h_mg_l=max(self.surface_do_mg_l - breath, 0.0),
            ),
        )


def _none_or(value: float | None, share: float) -> float | None:
    return None if value is None else float(value * share)


TEN = (
    Made("quarter acre, 6 ft, June", 0.25, 6.0, 1.0, 24.0, 17.0, 0.9, 0.05, 0.4, 1, month=6),
    Made("half acre, 8 ft, one disc", 0.5, 8.0, 1.0, 27.0, 19.0, 1.2, 0.1, 0.5, 1),
    Made("one acre, 10 ft, two discs", 1.0, 10.0, 1.0, 28.0, 17.0, 1.4, 0.05, 0.5, 2),
    Made("one acre cone, 12 ft, foul", 1.0, 12.0, 2.0, 28.0, 16.0, 1.6, 4.0, 4.0, 2, fast_demand_mg_l=5.0),
    Made("1.6 acres, 14 ft, May", 1.6, 14.0, 1.0, 22.0, 13.0, 1.8, 0.02, 0.5, 3, month=5),
    Made("two acres, 9 ft, warm bottom", 2.0, 9.0, 1.0, 29.0, 23.0, 1.6, 0.05, 0.3, 3),
    Made("three acres, 16 ft, catfish", 3.0, 16.0, 1.0, 24.0, 18.0, 2.2, 0.2, 1.0, 4, "channel catfish", 9),
    Made("four acres, 20 ft, clean bottom", 4.0, 20.0, 1.0, 26.0, 15.0, 2.4, 0.0, 0.2, 4, bottom_do_mg_l=2.0),
    Made("six acres, 12 ft, June", 6.0, 12.0, 1.0, 23.0, 16.0, 2.0, 0.05, 0.6, 6, month=6),
    Made("ten acres, 18 ft, six discs", 10.0, 18.0, 0.5, 25.0, 14.0, 2.6, 0.1, 1.0, 6, month=9),
)
"""The ponds of the metamorphic study: sizes, shapes, seasons and foulness that differ (made up)."""


def steps_of(hours: int, start_hour: int, minutes_by_day: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return which steps run: each day's minutes from `start_hour` on; after the last day as on the last.

    Args:
        hours: of the run
        start_hour: hour of the run at which day 1's run starts
        minutes_by_day: minutes of air on each day
    """
    on = np.zeros(hours * ix.STEPS_EACH_HOUR, dtype=bool)
    day = 0
    hour = start_hour
    while hour < hours:
        minutes = minutes_by_day[min(day, len(minutes_by_day) - 1)]
        first = hour * ix.STEPS_EACH_HOUR
        on[first : first + minutes * ix.STEPS_EACH_HOUR // 60] = True
        day += 1
        hour += 24
    return on
