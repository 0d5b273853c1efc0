"""How the gauge rises over the visits of a season, and when the membranes need care."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from scipy.special import stdtrit

from plumeline.stages.air import tree
from plumeline.stages.air.fault_cases import at_level
from plumeline.stages.air.faults import GAUGE_SD_PA, PSI_PA, GaugeReading
from plumeline.stages.air.network import COMPRESSOR, AirNetwork

# rise of the gauge at which membranes are cleaned: common practice, no published source
CARE_PA = 2.0 * PSI_PA
LEAST_VISITS = 3
LEAST_DAYS = 14.0
MOST_DAYS = 3650.0
MONTH_D = 30.0


@dataclass(frozen=True)
class Growth:
    """Back-pressure over time.

    Attributes:
        visits: readings at the compressor with all valves as set, used here.
        rise_pa: rise in 30 days, the water's level taken off.
        rise_p05_pa, rise_p95_pa: its 90 % band.
        care_pa: rise over the first visit's line at which the membranes need care.
        care_date: when that is reached; None where the gauge does not rise, or not in ten years.
        care_from, care_until: its 90 % band; None for an end that never comes.
    """

    visits: int
    rise_pa: float
    rise_p05_pa: float
    rise_p95_pa: float
    care_pa: float
    care_date: datetime | None
    care_from: datetime | None
    care_until: datetime | None


def growth(network: AirNetwork, readings: tuple[GaugeReading, ...]) -> Growth | None:
    """Return how the compressor's gauge grows over the visits; None with too few or too short a row of them.

    What is read is taken against the sound line at that day's water level, so that a pond that falls does not pass
    for a clean membrane. A straight line by least squares; its error is that of the readings about it, at least the
    gauge's own, with Student's t of its degrees of freedom.
    """
    as_set = [item for item in readings if item.open_ports is None and not item.full_open]
    used = [item for item in as_set if item.place == COMPRESSOR]
    used.sort(key=lambda item: item.time)
    if len(used) < LEAST_VISITS:
        return None
    first = used[0].time
    day = np.array([(item.time - first).total_seconds() / 86400.0 for item in used])
    if day[-1] < LEAST_DAYS:
        return None
    over = np.array([item.pressure_pa - _sound_pa(network, item) for item in used])
    centred = day - day.mean()
    spread = float(centred @ centred)
    slope = float(centred @ over) / spread
    start = float(over.mean() - slope * day.mean())
    rest = over - (start + slope * day)
    freedom = len(used) - 2
    sd = max(float(np.sqrt(rest @ rest / freedom)), GAUGE_SD_PA)
    error = float(stdtrit(freedom, 0.95)) * sd / np.sqrt(spread)

    def when(rise_pa: float) -> datetime | None:
        if rise_pa <= 0.0 or MONTH_D * CARE_PA / rise_pa > MOST_DAYS:
            return None
        return first + timedelta(days=MONTH_D * CARE_PA / rise_pa)

    low_pa, middle_pa, high_pa = (MONTH_D * value for value in (slope - error, slope, slope + error))

    return Growth(
        len(used), middle_pa, low_pa, high_pa, CARE_PA, when(middle_pa), when(high_pa), when(low_pa),
    )  # fmt: skip


def _sound_pa(network: AirNetwork, item: GaugeReading) -> float:
    """Return what the compressor's gauge shows on the sound line at that day's water."""
    return tree.solve(at_level(network, item.water_level_m or 0.0)).compressor_pressure_pa


def latest_visit(readings: tuple[GaugeReading, ...]) -> tuple[GaugeReading, ...]:
    """Return the readings of the last day, in the order of the file."""
    last = max(item.time for item in readings).date()
    return tuple(item for item in readings if item.time.date() == last)
