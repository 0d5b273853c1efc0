"""What was read, as a list of numbers to hold simulated ponds against, and how far each may lie from them.

The error of a reading is the meter's (shared by a day and by a meter), the place's (the pond is not alike from
shore to shore), and the model's own, which lasts for some days: three covariances, not three widths.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import IntEnum
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Bottle, Job, OxygenReading, Profile
from plumeline.stages.reading.bottle import bottle_demand

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


class Kind(IntEnum):
    """What a number is of."""

    TEMPERATURE = 0
    OXYGEN = 1
    PH = 2
    AMMONIA = 3
    SULPHIDE = 4
    IMMEDIATE = 5
    FAST = 6
    CONTROL = 7


TELLING = (Kind.TEMPERATURE, Kind.OXYGEN, Kind.SULPHIDE, Kind.IMMEDIATE, Kind.FAST, Kind.CONTROL)
"""Kinds that ponds are weighed by. pH and ammonia tell of the water as it stands and little of how it works: the
members are brought to them (`settle`)."""
ADDED = {Kind.AMMONIA: 0.02, Kind.SULPHIDE: 0.05, Kind.IMMEDIATE: 1.0, Kind.FAST: 1.0, Kind.CONTROL: 0.3}
"""Amounts [mg/L] are compared by their logarithm, with this added: a kit's error is a share of what it reads."""


@dataclass(frozen=True)
class Spread:
    """Standard errors of one kind of number: the meter's, the place's, one number's own, and the model's."""

    meter: float
    place: float
    own: float
    model: float


SPREADS = {
    # judgement but where science-values §9-10 and §15 say otherwise: meter 0.5 mg/L and 0.3 °C, place 0.5-1.0 mg/L
    Kind.TEMPERATURE: Spread(0.3, 0.2, 0.1, 0.7),
    Kind.OXYGEN: Spread(0.5, 0.7, 0.2, 0.6),
    Kind.PH: Spread(0.1, 0.1, 0.05, 0.4),
    Kind.AMMONIA: Spread(0.2, 0.2, 0.1, 0.5),
    Kind.SULPHIDE: Spread(0.25, 0.3, 0.1, 0.6),
    Kind.IMMEDIATE: Spread(0.0, 0.2, 0.15, 0.3),
    Kind.FAST: Spread(0.0, 0.2, 0.15, 0.3),
    Kind.CONTROL: Spread(0.0, 0.2, 0.15, 0.3),
}
PLACE_DEPTH_M = 1.0  # over which place and model err together
MODEL_LASTS_H = 48.0  # over which the model's error lasts
PLACE_SHIFT_M = 0.1  # a depth mark on the cable against the depth of the water that day
MODEL_SHIFT_M = 0.2  # how far the model's thermocline may lie from the pond's
FULL_SHARE_MG_L = 2.0  # under this oxygen, errors of oxygen shrink with it: a zero is read as zero
LEAST_SHARE_FRACTION = 0.15


@dataclass(frozen=True)
class Looks:
    """Every number that was read, one entry each (numbers).

    Attributes:
        kind_index: what it is of (Kind).
        hour: hour of the weather at which it was read.
        depth_m: depth.
        read: the number, in °C, mg/L, pH; logarithms where `ADDED` says so.
        share_fraction: how much of the kind's error it has.
        slope: change of the number per metre of depth.
        meter_index: which meter.
        day_index: which local day.
        item_index: which reading it belongs to.
        censored: true for a lower bound.
        names: ids of the readings.
        bottles: the bottle tests, by reading; None for profiles.
    """

    kind_index: Ints
    hour: Ints
    depth_m: Array
    read: Array
    share_fraction: Array
    slope: Array
    meter_index: Ints
    day_index: Ints
    item_index: Ints
    censored: NDArray[np.bool_]
    names: tuple[str, ...]
    bottles: tuple[Bottle | None, ...]

    def only(self, wanted: NDArray[np.bool_]) -> Looks:
        """Return some of the numbers."""
        return Looks(
            self.kind_index[wanted], self.hour[wanted], self.depth_m[wanted], self.read[wanted],
            self.share_fraction[wanted], self.slope[wanted], self.meter_index[wanted], self.day_index[wanted],
            self.item_index[wanted], self.censored[wanted], self.names, self.bottles,
        )  # fmt: skip

    @property
    def count(self) -> int:
        """How many numbers there are."""
        return len(self.read)

    def of(self, *kinds: Kind) -> NDArray[np.bool_]:
        """Return which numbers are of these kinds."""
        return np.isin(self.kind_index, [int(kind) for kind in kinds])


def log_added(kind: Kind, amount: Array | float) -> Array:
    """Return what is compared of an amount: its logarithm where `ADDED` says so, else itself."""
    if kind not in ADDED:
        return np.asarray(amount, dtype=float)
    return np.asarray(np.log(np.maximum(amount, 0.0) + ADDED[kind]))


def looks_of(
    job: Job, readings: tuple[Profile | OxygenReading, ...], bottles: tuple[Bottle, ...], start: datetime
) -> Looks:
    """Return every number of the readings, with its hour counted from `start` (UTC)."""
    zone = ZoneInfo(job.site.time_zone)
    meters: dict[str, int] = {}
    rows: list[tuple[float, ...]] = []
    names: list[str] = []
    tests: list[Bottle | None] = []
    for item in (*readings, *bottles):
        at = (item.time.astimezone(UTC) - start).total_seconds() / 3600.0
        day = item.time.astimezone(zone).toordinal()
        name = "" if isinstance(item, Bottle) else item.meter or ""
        meter = meters.setdefault(name, len(meters))
        for kind, depth, value, censored in _numbers(item):
            rows.append(
                (kind, round(at), depth, float(log_added(kind, value)), meter, day, len(names), censored)
            )
        names.append(item.id)
        tests.append(item if isinstance(item, Bottle) else None)
    table = np.array(rows, dtype=float).reshape(-1, 8)
    kind_index, hour, meter_index, day_index, item_index = (
        table[:, column].astype(np.int64) for column in (0, 1, 4, 5, 6)
    )
    share = np.ones(len(table))
    oxygen = kind_index == Kind.OXYGEN
    share[oxygen] = shares_of(table[oxygen, 3])
    return Looks(
        kind_index, hour, table[:, 2], table[:, 3], share, _slopes(kind_index, item_index, table[:, 2], table[:, 3]),
        meter_index, day_index, item_index, table[:, 7] > 0.5, tuple(names), tuple(tests),
    )  # fmt: skip


def shares_of(do_mg_l: Array) -> Array:
    """Return how much of an error of oxygen stands at these oxygens: errors shrink toward none."""
    return np.clip(do_mg_l / FULL_SHARE_MG_L, LEAST_SHARE_FRACTION, 1.0)


def joined(one: Looks, other: Looks) -> Looks:
    """Return the numbers of both; names and bottles are those of the first."""

    def both(field: str) -> Any:
        return np.concatenate([getattr(one, field), getattr(other, field)])

    return Looks(
        both("kind_index"), both("hour"), both("depth_m"), both("read"), both("share_fraction"), both("slope"),
        both("meter_index"), both("day_index"), both("item_index"), both("censored"), one.names, one.bottles,
    )  # fmt: skip


def _numbers(item: Profile | OxygenReading | Bottle) -> list[tuple[Kind, float, float, bool]]:
    """Return the kind, depth, amount and whether it is a lower bound, of each number of a reading."""
    if isinstance(item, OxygenReading):
        return [(Kind.OXYGEN, z, o, False) for z, o in zip(item.depth_m, item.do_mg_l, strict=True)]
    if isinstance(item, Bottle):
        return _of_bottle(item)
    found: list[tuple[Kind, float, float, bool]] = []
    for point in item.points:
        pairs = (
            (Kind.TEMPERATURE, point.temperature_degc), (Kind.OXYGEN, point.do_mg_l), (Kind.PH, point.ph),
            (Kind.AMMONIA, point.ammonia_mg_l), (Kind.SULPHIDE, point.sulphide_mg_l),
        )  # fmt: skip
        found += [(kind, point.depth_m, value, False) for kind, value in pairs if value is not None]
    return found


def _of_bottle(bottle: Bottle) -> list[tuple[Kind, float, float, bool]]:
    result = bottle_demand(bottle)
    found: list[tuple[Kind, float, float, bool]] = []
    for kind, demand in ((Kind.IMMEDIATE, result.immediate), (Kind.FAST, result.fast)):
        if demand is not None:
            found.append((kind, bottle.depth_m, demand.demand_mg_l, demand.censored))
    if bottle.surface_after_24h_mg_l is not None:
        breath = bottle.surface_do_mg_l - bottle.surface_after_24h_mg_l
        # a control that ran short is a lower bound, as the mixture's is
        found.append((Kind.CONTROL, 0.0, breath, bottle.surface_after_24h_mg_l < 1.0))
    return found


def _slopes(kind_index: Ints, item_index: Ints, depth_m: Array, read: Array) -> Array:
    """Return how steeply each number changes with depth in its own reading, by central differences."""
    slope = np.zeros(len(read))
    for kind in (Kind.TEMPERATURE, Kind.OXYGEN):
        for item in np.unique(item_index):
            these = np.flatnonzero((kind_index == kind) & (item_index == item))
            if len(these) > 1:
                slope[these] = np.gradient(read[these], depth_m[these])
    return slope


def _widths(looks: Looks, part: str) -> Array:
    table = np.array([getattr(SPREADS[kind], part) for kind in Kind])
    return np.asarray(table[looks.kind_index] * looks.share_fraction)


def _alike(looks: Looks) -> Array:
    return np.asarray(looks.kind_index[:, None] == looks.kind_index[None, :], dtype=float)


def meter_covariance(looks: Looks) -> Array:
    """Return the covariance of the readings' own errors: meter, place and each number's (numbers, numbers)."""
    kind = _alike(looks)
    meter = looks.meter_index[:, None] == looks.meter_index[None, :]
    day = looks.day_index[:, None] == looks.day_index[None, :]
    item = looks.item_index[:, None] == looks.item_index[None, :]
    near = np.exp(-np.abs(looks.depth_m[:, None] - looks.depth_m[None, :]) / PLACE_DEPTH_M)
    bias, place = _widths(looks, "meter"), _widths(looks, "place")
    own = np.hypot(_widths(looks, "own"), PLACE_SHIFT_M * looks.slope)
    # half of a meter's bias is its own and half the day's
    shared = kind * meter * (0.5 + 0.5 * day)
    return np.asarray(
        np.outer(bias, bias) * shared + np.outer(place, place) * kind * item * near + np.diag(own**2)
    )


def model_covariance(looks: Looks, other: Looks | None = None) -> Array:
    """Return the covariance of the model's error at the readings, or between them and others."""
    far = other or looks
    kind = looks.kind_index[:, None] == far.kind_index[None, :]
    near = np.exp(-np.abs(looks.depth_m[:, None] - far.depth_m[None, :]) / PLACE_DEPTH_M)
    lasting = np.exp(-np.abs(looks.hour[:, None] - far.hour[None, :]) / MODEL_LASTS_H)
    width, width_far = _widths(looks, "model"), _widths(far, "model")
    shift = np.outer(MODEL_SHIFT_M * looks.slope, MODEL_SHIFT_M * far.slope)
    return np.asarray((np.outer(width, width_far) + shift) * kind * near * lasting)
