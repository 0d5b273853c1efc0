"""Even steps of depth and distance in the units of the reader."""

from __future__ import annotations

import math

from plumeline.units import SUFFIXES
from plumeline.units.showing import System

DEPTH_STEPS_FT = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
DEPTH_STEPS_M = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
MOST_BANDS = 8
FOOT_M = SUFFIXES["ft"].scale


def depth_levels_m(max_depth_m: float, system: System) -> tuple[float, ...]:
    """Return even depths from 0 to just above the greatest, at most eight bands, in metres."""
    steps = [s * FOOT_M for s in DEPTH_STEPS_FT] if system == "us" else list(DEPTH_STEPS_M)
    step_m = next((step for step in steps if max_depth_m / step <= MOST_BANDS), steps[-1])
    return tuple(step_m * n for n in range(math.ceil(max_depth_m / step_m - 1e-9)))


def depth_words(depth_m: float, system: System) -> str:
    """Return an even depth as a bare number of the reader's unit: "4" or "1.5"."""
    value = depth_m / FOOT_M if system == "us" else depth_m
    return f"{value:.1f}".rstrip("0").rstrip(".")


def depth_unit(system: System) -> str:
    """Return the unit of depths and distances."""
    return "ft" if system == "us" else "m"


def round_length_m(most_m: float, system: System) -> float:
    """Return the greatest round length up to a limit, 1, 2 or 5 times a power of ten of the unit [m]."""
    unit_m = FOOT_M if system == "us" else 1.0
    limit = most_m / unit_m
    power = 10.0 ** math.floor(math.log10(limit))
    return unit_m * max(part * power for part in (1.0, 2.0, 5.0) if part * power <= limit * (1 + 1e-9))
