"""Numbers in the words of the paper."""

from __future__ import annotations

import math
from datetime import date

from plumeline.stages.plan import Plan
from plumeline.stages.startup import Band, Risk
from plumeline.units import SUFFIXES, convert, plain, show
from plumeline.units.showing import System

EMPTY = "–"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def long_date(day: date) -> str:
    """Return a date as "Tuesday, August 11, 2026", whatever the machine's language."""
    return f"{DAYS[day.weekday()]}, {MONTHS[day.month - 1]} {day.day}, {day.year}"


def short_date(day: date) -> str:
    """Return a date as "Tue Aug 11"."""
    return f"{DAYS[day.weekday()][:3]} {MONTHS[day.month - 1][:3]} {day.day}"


def counted(count: int, noun: str) -> str:
    """Return "three diffusers", "one diffuser"."""
    words = NUMBERS[count] if count < len(NUMBERS) else str(count)
    return f"{words} {noun}{'' if count == 1 else 's'}"


def clock(hour_h: float) -> str:
    """Return a clock hour as "15:00"."""
    minutes = round(hour_h * 60.0)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def per_cent(value_fraction: float, digits: int = 0) -> str:
    """Return a part of one in per cent."""
    return f"{100.0 * value_fraction:.{digits}f} %"


def per_day(value: float) -> str:
    """Return how often a day."""
    return "once a day" if abs(value - 1.0) < 0.05 else f"{value:.1f} times a day"


def span(band: Band) -> str:
    """Return a band of a concentration: the middle, and the ends in brackets."""
    return f"{band.median:.1f} ({band.p05:.1f}–{band.p95:.1f})"


def pressure(value_pa: float, system: System) -> str:
    """Return a gauge pressure as a gauge can be read: to a tenth of a psi, or to half a kPa."""
    unit = "psi" if system == "us" else "kpa"
    return f"{convert(value_pa, 'pa', unit):.1f}"


def pressure_unit(system: System) -> str:
    """Return the unit of gauge pressures."""
    return "psig" if system == "us" else "kPa gauge"


def tape(value_m: float, system: System) -> str:
    """Return a length to cut or to pace: whole feet, or tenths of a metre."""
    return f"{convert(value_m, 'm', 'ft'):.0f} ft" if system == "us" else f"{value_m:.1f} m"


def bearing(from_xy: tuple[float, float], to_xy: tuple[float, float]) -> str:
    """Return the true bearing from one place to another: "342° NNW"."""
    east, north = to_xy[0] - from_xy[0], to_xy[1] - from_xy[1]
    angle_deg = math.degrees(math.atan2(east, north)) % 360.0
    return f"{angle_deg:.0f}° {COMPASS[round(angle_deg / 22.5) % 16]}"


def bore(value_m: float, system: System) -> str:
    """Return a bore: thousandths of an inch, or tenths of a millimetre."""
    if system == "us":
        return f"{convert(value_m, 'm', 'in'):.3f} in"
    return f"{1000.0 * value_m:.1f} {SUFFIXES['mm'].spellings[0]}"


def water_words(mass_kg: float, system: System) -> str:
    """Return a mass of water as a volume: gallons, or litres."""
    return f"{mass_kg / 3.785:.2f} gal" if system == "us" else f"{mass_kg:.2f} L"


def risk_words(risk: Risk) -> str:
    """Return a risk as a count of simulated ponds."""
    return f"of {plain(risk.members, 0)} simulated ponds like this one, {plain(risk.failures, 0)} lost their refuge"


def still_words(risk: Risk) -> str:
    """Return what the same ponds did without air."""
    return f"without any air, over the same days, {plain(round(risk.baseline_risk * risk.members), 0)} did"


def completion_words(plan: Plan) -> str:
    """Return when the start-up is complete."""
    start = plan.startup
    if start.days_to_complete is None:
        return (
            f"it is not complete within the {start.horizon_d} days simulated "
            f"({per_cent(start.completed_fraction)} of the simulated ponds are)"
        )
    return f"it is complete after {start.days_to_complete:.0f} days in the middle simulated pond"


def band_words(low: float, high: float, suffix: str, system: System) -> tuple[str, str]:
    """Return two ends of a band, without the unit where both have the same."""
    texts = show(low, suffix, system), show(high, suffix, system)
    (first, one), (second, other) = (text.rsplit(" ", 1) for text in texts)
    return (first, second) if one == other else texts


def shown_range(low: float, high: float, suffix: str, system: System) -> str:
    """Return two ends of a range in one unit."""
    return f"{show(low, suffix, system)} to {show(high, suffix, system)}"
