"""Which of the ten answers are still empty, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from plumeline.files.findings import Findings
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.observations import PROFILES
from plumeline.files.route_in import FILE as ROUTE
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.files.ten_answers import EXAMPLES
from plumeline.files.toml_part import TomlPart
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Bottle, GaugeReading, OxygenReading, Profile

_OTHERWISE = {
    "pond.area": f", or the shore line in {OUTLINE}",
    "pond.max_depth": f", or depths in {SOUNDINGS}",
    "reading.surface": f", or a profile in {PROFILES}",
    "reading.bottom": f", or a profile in {PROFILES}",
    "reading.smell": f", or the column smell in {PROFILES}",
    "air.route_length": ", or the pieces of the line as [[air.trunk]]",
}
NEEDED = ("pond.area", "pond.max_depth")
"""Answers without which no stage can start; the site's position is asked for where it is read."""


def report_empty(
    part: TomlPart,
    folder: Path,
    observations: Sequence[Profile | OxygenReading | Bottle | GaugeReading],
    findings: Findings,
    *,
    pond_needed: bool = True,
) -> None:
    """Add a fault for each needed answer that is empty, and a caution for each of the others."""
    for path, example in EXAMPLES.items():
        if path.startswith("site.") or path in findings.meant or _answered(path, part, folder, observations):
            continue
        remedy = f"Give it, as {example}{_OTHERWISE.get(path, '')}."
        if path in NEEDED and pond_needed:
            findings.fault(JOB_FILE, path, "is still empty.", remedy)
        else:
            findings.caution("answer-empty", f"{JOB_FILE}, {path} is still empty. {remedy}")


def _answered(
    path: str,
    part: TomlPart,
    folder: Path,
    observations: Sequence[Profile | OxygenReading | Bottle | GaugeReading],
) -> bool:
    """Return whether an answer is there, is at fault already, or comes from another file."""
    if any(fault == path or fault.startswith((f"{path}_", f"{path}.")) for fault in part.faulty):
        return True
    section, _, base = path.partition(".")
    given = part.sections.get(section, {})
    points = [point for item in observations if isinstance(item, Profile) for point in item.points]
    if section == "reading":
        if base == "smell":
            return base in part.reading or any(point.smell is not None for point in points)
        return base in part.reading or bool(points) or _has_rows(folder / PROFILES)
    if path == "pond.area":
        return "area_m2" in given or "outline" in given or _has_rows(folder / OUTLINE)
    if path == "pond.max_depth":
        return "max_depth_m" in given or _has_rows(folder / SOUNDINGS)
    if path == "power.volts_amps":
        return bool({"volts", "amps"} & set(given)) or given.get("available") is False
    if path == "fish.species":
        return bool(given.get("species"))
    if path == "air.route_length" and given.get("trunk"):
        return True
    if path in ("air.route_length", "air.rise") and _has_rows(folder / ROUTE):
        return True
    if path == "air.rise" and any(piece.start_elevation_m is not None for piece in given.get("trunk", ())):
        return True
    return f"{base}_m" in given


def _has_rows(path: Path) -> bool:
    """Return whether a file is there with more than a heading, be it at fault or not."""
    try:
        data = path.read_bytes()
    except OSError:
        return False
    if path.suffix == ".geojson":
        return b"coordinates" in data
    return sum(1 for line in data.splitlines() if line.strip() and not line.lstrip().startswith(b"#")) > 1
