"""Values in sentences, in both systems: a notice does not know which one its reader thinks in."""

from __future__ import annotations

from plumeline.units import show


def both(value: float, suffix: str) -> str:
    """Return a value as people of both systems write it: "187 ft (57.0 m)"."""
    us, si = show(value, suffix, "us"), show(value, suffix, "si")
    return us if us == si else f"{us} ({si})"
