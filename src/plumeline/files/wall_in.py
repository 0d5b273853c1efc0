"""A wall on a stretch of shore as one text of job.toml: its start; its end; the depth at its foot."""

from __future__ import annotations

from typing import Any

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.keys import Key
from plumeline.files.place_text import WALL_PARTS, WALL_TYPED, place_of, understood
from plumeline.files.toml_values import JOB_FILE, At, Missing, read_number
from plumeline.job.document import Wall


def read_wall(raw: str, path: str, findings: Findings) -> Any:
    """Return a wall, or ``Missing.FAULTY`` with a fault that says which part of it is wrong."""
    parts = [part.strip() for part in raw.split(";")]
    if len(parts) != WALL_PARTS:
        found = f"'{raw.strip()[:80]}' has {len(parts)} part{'s' * (len(parts) != 1)}, not {WALL_PARTS}."
        findings.fault(JOB_FILE, path, found, WALL_TYPED)
        return Missing.FAULTY
    try:
        start, end = (place_of(part) for part in parts[:2])
    except InputError as error:
        findings.fault(JOB_FILE, path, error.message, error.remedy)
        return Missing.FAULTY
    depth_m = read_number(parts[2], At(path, Wall, Key("depth_m", "depth", "m"), findings))
    if isinstance(depth_m, Missing):
        return Missing.FAULTY
    findings.echo(f"{path}: from {understood(start)} to {understood(end)}")
    return Wall(start=start, end=end, depth_m=depth_m)
