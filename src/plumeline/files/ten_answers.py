"""The ten answers: short forms of job.toml that are enough for a first plan."""

from __future__ import annotations

import re
from typing import Any

from plumeline.files.findings import Findings, near
from plumeline.files.keys import Key, find_key, names_of, split_name
from plumeline.files.limits import limits_of
from plumeline.files.place_text import degrees_of
from plumeline.files.toml_values import JOB_FILE, At, Missing, limit_remedy, read_number, read_value
from plumeline.job.document import Power, ProfilePoint, Site, SmellStrength

EXAMPLES = {
    "site.latitude_longitude_elevation": '"35.91, -79.72, 680 ft"',
    "pond.area": '"1.6 acre"',
    "pond.max_depth": '"14 ft"',
    "pond.secchi_depth": '"2 ft"',
    "reading.surface": '"84 degF, 7.5 mg/L"',
    "reading.bottom": '"64 degF, 0.1 mg/L"',
    "reading.smell": '"none", "faint" or "strong"',
    "air.route_length": '"430 ft"',
    "air.rise": '"12 ft" (how far the compressor stands above the water)',
    "power.volts_amps": '"120 V, 20 A", or "none"',
    "fish.species": '["bluegill", "largemouth bass"]',
}
"""What the ten answers are, with an example each; the first two readings count as one."""


def read_site_triple(raw: Any, findings: Findings) -> dict[str, Any] | None:
    """Return latitude, longitude and elevation from one text or list of three; None after a fault."""
    path = "site.latitude_longitude_elevation"
    parts = [part.strip() for part in raw.split(",")] if isinstance(raw, str) else raw
    if not isinstance(parts, list) or len(parts) != 3:
        findings.fault(JOB_FILE, path, f"{raw!r} is not three values.", f"Write {path} = {EXAMPLES[path]}.")
        return None
    found: dict[str, Any] = {}
    for name, part, sides in (("latitude_deg", parts[0], "NS"), ("longitude_deg", parts[1], "EW")):
        degrees = degrees_of(part, sides)
        if degrees is None:
            findings.fault(
                JOB_FILE,
                path,
                f"{part!r} is not a {name.removesuffix('_deg')}.",
                "Write decimal degrees, north and east positive (35.91, -79.72), or 35 54.6 N, 79 43.2 W.",
            )
            return None
        limits = limits_of(Site, name)
        if broken := limits.broken_by(degrees, "°"):
            what = name.removesuffix("_deg")
            findings.fault(JOB_FILE, path, f"{what}: {broken}", limit_remedy(limits, "deg"))
            return None
        found[name] = degrees
    findings.echo(f"{path}: {position_words(found['latitude_deg'], found['longitude_deg'])}")
    at = At(path, Site, Key("elevation_m", "elevation", "m"), findings)
    elevation = read_value(float, parts[2], at)
    # the place is looked at all the same where its height is at fault
    return found if isinstance(elevation, Missing) else {**found, "elevation_m": elevation}


def position_words(latitude_deg: float, longitude_deg: float) -> str:
    """Return a position with its sides of the Earth in words, so that a wrong sign is seen: "35.91° N, 79.72° W"."""
    north, east = "N" if latitude_deg >= 0.0 else "S", "E" if longitude_deg >= 0.0 else "W"
    return f"{abs(latitude_deg):.6g}° {north}, {abs(longitude_deg):.7g}° {east}"


def read_volts_amps(raw: Any, findings: Findings) -> dict[str, Any] | None:
    """Return the fields of ``Power`` from ``"120 V, 20 A"`` or ``"none"``; None after a fault."""
    path = "power.volts_amps"
    if isinstance(raw, str) and raw.strip().lower() in ("none", "no"):
        return {"available": False}
    parts = [part.strip() for part in re.split(r"[,;/]", raw)] if isinstance(raw, str) else []
    if len(parts) not in (1, 2):
        findings.fault(JOB_FILE, path, f"{raw!r} is not volts and amps.", f"Write {EXAMPLES[path]}.")
        return None
    found: dict[str, Any] = {"available": True}
    for name, part in zip(("volts", "amps"), parts, strict=False):
        key = Key(name, name, split_name(name)[1])
        value = read_number(part, At(path, Power, key, findings))
        if isinstance(value, Missing):
            return None
        found[name] = value
    return found


_READING_KEYS = ("time", "surface", "bottom", "smell")
_LINE_FIELDS = {"oxygen": "do_mg_l", "do": "do_mg_l"}


def read_short_reading(raw: dict[str, Any], findings: Findings) -> dict[str, Any]:
    """Return the answers of [reading] that are there: ``time``, ``surface``, ``bottom``, ``smell``.

    ``surface`` and ``bottom`` are fields of a ``ProfilePoint``, the depth left out unless it was given.
    """
    found: dict[str, Any] = {}
    for name, value in raw.items():
        path = f"reading.{name}"
        if name not in _READING_KEYS:
            close = near(name, _READING_KEYS)
            findings.meant.add(f"reading.{close}")
            hint = f'Did you mean "{close}"? ' if close else ""
            findings.fault(JOB_FILE, path, "is not a known key.", f"{hint}Known: {', '.join(_READING_KEYS)}.")
        elif value == "" or value == {}:
            continue
        elif name == "time":
            found[name] = value
        elif name == "smell":
            at = At(path, ProfilePoint, Key("smell", "smell", ""), findings)
            word = read_value(SmellStrength, value, at)
            if not isinstance(word, Missing):
                found[name] = word
        else:
            line = _read_line(value, path, findings)
            if line is not None:
                found[name] = line
    return found


def _read_line(raw: Any, path: str, findings: Findings) -> dict[str, Any] | None:
    """Return the fields of one depth from ``"84 degF, 7.5 mg/L"`` or from a table of keys."""
    if isinstance(raw, str):
        parts = [part.strip() for part in raw.split(",")]
        if len(parts) != 2:
            findings.fault(
                JOB_FILE, path, f"{raw!r} is not a temperature and an oxygen.", f"Write {EXAMPLES[path]}."
            )
            return None
        raw = {"temperature": parts[0], "oxygen": parts[1]}
    if not isinstance(raw, dict):
        findings.fault(JOB_FILE, path, f"{raw!r} is not a reading.", f"Write {EXAMPLES[path]}.")
        return None
    found: dict[str, Any] = {}
    for name, value in raw.items():
        written = str(_LINE_FIELDS.get(name, name))
        entry = _read_line_entry(written, value, f"{path}.{name}", findings)
        if entry is None:
            return None
        found[entry[0]] = entry[1]
    if not {"temperature_degc", "do_mg_l"} <= set(found):
        findings.fault(JOB_FILE, path, "needs a temperature and an oxygen.", f"Write {EXAMPLES[path]}.")
        return None
    return found


def _read_line_entry(written: str, raw: Any, path: str, findings: Findings) -> tuple[str, Any] | None:
    key = find_key(ProfilePoint, written) or find_key(ProfilePoint, f"{written}_mg_l")
    if key is None:
        close = near(written, names_of(ProfilePoint))
        hint = f'Did you mean "{close}"? ' if close else ""
        findings.fault(
            JOB_FILE, path, "is not a known key.", f"{hint}Known: {', '.join(names_of(ProfilePoint))}."
        )
        return None
    annotation = ProfilePoint.model_fields[key.field].annotation
    value = read_value(annotation, raw, At(path, ProfilePoint, key, findings))
    return None if isinstance(value, Missing) else (key.field, value)
