"""Numbers in the columns of the stages' tables, and texts that all stages share."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from plumeline.cli.tables import WIDTH, Block, Part, listing
from plumeline.pairs import said
from plumeline.safety import SAFETY_CARD
from plumeline.units import SUFFIXES, convert, show, show_air
from plumeline.units.showing import System, plain

COLUMN_UNITS: dict[str, tuple[str, str]] = {
    "degc": ("degf", "degc"),
    "kg": ("lb", "kg"),
    "pa": ("psi", "kpa"),
    "m2": ("acre", "m2"),
    "m3": ("acre_ft", "m3"),
    "m3_s": ("gpm", "l_s"),
    "m": ("ft", "m"),
    "mg_l": ("mg_l", "mg_l"),
    "min": ("min", "min"),
}
"""Unit of a column, US and SI, by the unit inside."""

EMPTY = "–"


def column_unit(suffix: str, units: System) -> str:
    """Return the unit that stands in the head of a column."""
    return SUFFIXES[COLUMN_UNITS[suffix][0 if units == "us" else 1]].spellings[0]


def gauge_unit(units: System) -> str:
    """Return the unit of gauge pressures that stands in the head of a column."""
    return "psig" if units == "us" else "kPa"


def air_unit(units: System) -> str:
    """Return the unit of standard air flows that stands in the head of a column."""
    return "scfm" if units == "us" else "m³/h\nstandard"


def air_column(flow_m3_s: float, units: System) -> str:
    """Return a standard flow of air for a column without its unit."""
    return show_air(flow_m3_s, units).split(" ", 1)[0]


def column(value: float | None, suffix: str, units: System, digits: int | None = None) -> str:
    """Return a number for a column without its unit, a dash where it is not known."""
    if value is None:
        return EMPTY
    number = convert(value, suffix, COLUMN_UNITS[suffix][0 if units == "us" else 1])
    return plain(number, digits)


def shown(value: float | None, suffix: str, units: System) -> str:
    """Return a value with its unit, a dash where it is not known."""
    return EMPTY if value is None else show(value, suffix, units)


def percent(value_fraction: float, digits: int = 0) -> str:
    """Return a part of one as per cent."""
    return f"{100.0 * value_fraction:.{digits}f} %"


def pressure_step(value_pa: float, units: System) -> str:
    """Return a difference of pressures, which is neither gauge nor absolute."""
    return show(value_pa, "pa", units, gauge=None)


def yes(value: bool) -> str:
    """Return yes or no."""
    return "yes" if value else "no"


def clock(hour_h: float) -> str:
    """Return a clock hour, as 15:00."""
    minutes = round(hour_h * 60.0)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def running_time(minutes: float) -> str:
    """Return a running time that a timer can be set to, as "45 min" or "2 h 30"."""
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def bullets(texts: Iterable[str], title: str, units: System) -> str:
    """Return a list of sentences under a title, in one system of units, or nothing without one."""
    sentences = [said(text, units) for text in texts]
    lines = [
        textwrap.fill(text, WIDTH, initial_indent="  - ", subsequent_indent="    ") for text in sentences
    ]
    part = Part(title, (), tuple((text,) for text in sentences), "l")
    return Block("\n".join([title, *lines]), [part]) if lines else ""


def safety_block() -> str:
    """Return the safety card."""
    return listing(list(SAFETY_CARD), title="Safety")


def safety_rows() -> list[dict[str, str]]:
    """Return the safety card as JSON rows."""
    return [{"title": title, "text": text} for title, text in SAFETY_CARD]
