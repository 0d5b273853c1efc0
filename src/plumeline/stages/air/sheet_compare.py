"""What was read at commissioning beside what a sound line shows: which gauges disagree, and by how much."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from plumeline.stages.air.faults import GAUGE_SD_PA, GaugeReading
from plumeline.stages.air.sheet_bands import Array, SoundLines, ValveState

LIMIT_PROBABILITY = 0.95
LEAST_SHARE_FRACTION = 0.01
"""Readings that fewer sound lines than this lie as far from disagree together, each alone or not."""


class Verdict(StrEnum):
    """What a reading says of a sound line."""

    AGREES = "agrees"
    EDGE = "at the edge"
    DISAGREES = "disagrees"


@dataclass(frozen=True)
class Compared:
    """One reading beside what is expected there.

    Attributes:
        reading: what was read.
        state: how the valves stood, in words.
        expected_pa: on the line as it is drawn.
        p05_pa: of 100 sound lines 5 read less.
        p95_pa: of 100 sound lines 5 read more.
        off_pa: read less expected.
        off_widths_number: the same in widths of the band, from its 5 % to its 95 % end.
        verdict: within the band, beyond it yet within what the worst gauge of a sound line shows, or beyond both.
    """

    reading: GaugeReading
    state: str
    expected_pa: float
    p05_pa: float
    p95_pa: float
    off_pa: float
    off_widths_number: float
    verdict: Verdict


@dataclass(frozen=True)
class Comparison:
    """All readings of a visit.

    Attributes:
        rows: each reading.
        limit_number: widths of the band that the worst gauge of 19 in 20 sound lines keeps within.
        as_far_count: drawn sound lines whose gauges lie as far off, all taken together.
        draw_count: sound lines drawn.
    """

    rows: tuple[Compared, ...]
    limit_number: float
    as_far_count: int
    draw_count: int

    @property
    def disagreeing(self) -> tuple[Compared, ...]:
        """The readings that disagree, the farthest off first."""
        found = [row for row in self.rows if row.verdict is Verdict.DISAGREES]
        return tuple(sorted(found, key=lambda row: -abs(row.off_widths_number)))

    @property
    def apart_together(self) -> bool:
        """Whether the readings fit no sound line when they are taken together."""
        return self.as_far_count < LEAST_SHARE_FRACTION * self.draw_count

    @property
    def agrees(self) -> bool:
        """Whether they may be those of a sound line."""
        return not self.disagreeing and not self.apart_together


def state_of(reading: GaugeReading) -> ValveState:
    """Return how the valves stood at a reading."""
    return ValveState(reading.open_ports, reading.full_open)


def compare(
    lines: SoundLines, readings: tuple[GaugeReading, ...], states: tuple[str, ...], level_m: float
) -> Comparison:
    """Return the readings beside what a sound line shows.

    Args:
        lines: the sound lines.
        readings: what was read; a level in a row goes before the visit's.
        states: how the valves stood at each, in words.
        level_m: of the water on that visit.

    Raises:
        InputError: a diffuser stands out of the water.
    """
    sound, drawn = [], []
    for item in readings:
        level = level_m if item.water_level_m is None else item.water_level_m
        shown, every = lines.gauges(state_of(item), level)
        sound.append(shown[item.place])
        drawn.append(every[item.place])
    expected = np.array(sound)
    lines_pa = np.array(drawn).T
    gauges_pa = lines_pa + lines.noise(len(readings))
    low, high = np.quantile(gauges_pa, (0.05, 0.95), axis=0)
    width = high - low
    worst = np.max(np.abs(gauges_pa - expected) / width, axis=1)
    limit = float(np.quantile(worst, LIMIT_PROBABILITY))
    off = np.array([item.pressure_pa for item in readings]) - expected
    rows = []
    for k, item in enumerate(readings):
        widths = float(off[k] / width[k])
        verdict = Verdict.AGREES if low[k] <= item.pressure_pa <= high[k] else Verdict.EDGE
        verdict = Verdict.DISAGREES if abs(widths) > limit else verdict
        rows.append(
            Compared(item, states[k], sound[k], float(low[k]), float(high[k]), float(off[k]), widths, verdict)
        )
    return Comparison(tuple(rows), limit, _as_far(lines_pa, gauges_pa, expected, off), len(lines_pa))


def _as_far(lines_pa: Array, gauges_pa: Array, expected: Array, off: Array) -> int:
    """Return how many drawn lines lie as far off as the readings, errors that move together counted as such."""
    spread = lines_pa - expected
    covariance = spread.T @ spread / len(spread) + GAUGE_SD_PA**2 * np.eye(len(expected))
    inverse = np.linalg.inv(covariance)
    away = gauges_pa - expected
    far = np.einsum("ki,ij,kj->k", away, inverse, away)
    return int(np.count_nonzero(far >= float(off @ inverse @ off)))
