"""Names of keys: which field of the document a key of job.toml means, and in which unit.

A field ``max_depth_m`` may be given as ``max_depth = "14 ft"`` (the value carries its unit) or with a known
unit in the key, ``max_depth_m = 4.27`` or ``max_depth_ft = 14`` (the value may be bare).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from pydantic import BaseModel

from plumeline.units import SUFFIXES

SUFFIX_OF_PLAIN_NAMES = {"volts": "v", "amps": "a"}
"""Fields whose whole name is a unit."""

NEEDS_NO_UNIT = frozenset({"fraction", "each", "per_day", "per_kwh", "per_m", "per_month", "h", "d"})
"""A bare number under a key without unit is understood for these alone: nothing else could be meant."""

AIR_FLOWS = {
    "air_per_diffuser_m3_s": "standard",
    "air_m3_s": "standard",
    "membrane_least_air_m3_s": "standard",
    "membrane_most_air_m3_s": "standard",
    "intake_flow_m3_s": "intake",
    "fan_flow_m3_s": "intake",
}
"""Fields that hold a flow of air, and the basis they are kept in."""

PRESSURE_DIFFERENCES = frozenset(
    {"membrane_loss_pa", "gauge_error_pa", "check_valve_pa", "filter_loss_pa", "loss_pa"}
)
"""Pressures that are a difference; every other one in job.toml is gauge."""


def split_name(name: str) -> tuple[str, str]:
    """Return the base of a name and the known unit at its end, empty when there is none."""
    if name in SUFFIX_OF_PLAIN_NAMES:
        return name, SUFFIX_OF_PLAIN_NAMES[name]
    parts = name.split("_")
    for start in range(1, len(parts)):
        suffix = "_".join(parts[start:])
        if suffix in SUFFIXES:
            return "_".join(parts[:start]), suffix
    return name, ""


def same_kind(first: str, second: str) -> bool:
    """Return whether two suffixes measure the same thing."""
    return SUFFIXES[first].kind == SUFFIXES[second].kind


@dataclass(frozen=True)
class Key:
    """One field of the document as it may be written: ``given`` is the unit of the key used, if any."""

    field: str
    base: str
    suffix: str
    given: str = ""


@cache
def keys_of(model: type[BaseModel]) -> dict[str, Key]:
    """Return the keys of a part of the document by base name, and by full name too."""
    found: dict[str, Key] = {}
    for name in model.model_fields:
        base, suffix = split_name(name)
        found[base] = Key(name, base, suffix)
        found[name] = Key(name, base, suffix, suffix)
    return found


def find_key(model: type[BaseModel], written: str) -> Key | None:
    """Return the field that ``written`` means, also with another known unit of its kind; None if none."""
    known = keys_of(model)
    if written in known:
        return known[written]
    base, given = split_name(written)
    key = known.get(base)
    if key is None or not given or not key.suffix or not same_kind(given, key.suffix):
        return None
    return Key(key.field, key.base, key.suffix, given)


def names_of(model: type[BaseModel], leave: Iterable[str] = ()) -> list[str]:
    """Return the base names of a part of the document, for suggestions."""
    skipped = set(leave)
    return [split_name(name)[0] for name in model.model_fields if name not in skipped]
