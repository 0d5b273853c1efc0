"""The two-line reading of job.toml as a profile of two points."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.observations import Seen, stamp_id
from plumeline.files.suspicions import greatest_depth_m
from plumeline.files.times import REMEDY, Clock
from plumeline.files.toml_part import TomlPart
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Pond, Profile, ProfilePoint

MORNING = time(10, 0)
ABOVE_BOTTOM_M = 0.3
"""The bottom sample is taken to come from this far above the deepest bottom, or a tenth of the depth."""


def short_profile(
    part: TomlPart, pond: Pond, day: date | None, clock: Clock, findings: Findings
) -> list[Seen]:
    """Return the profile that [reading] makes, when it has both lines; else nothing."""
    surface, bottom = part.reading.get("surface"), part.reading.get("bottom")
    if surface is None or bottom is None:
        return []
    when = _time(part.reading.get("time"), day, clock, findings)
    deepest = greatest_depth_m(pond)
    if when is None or (deepest is None and "depth_m" not in bottom):
        return []
    smell = part.reading.get("smell")
    lower: dict[str, Any] = dict(bottom)
    if "depth_m" not in lower and deepest is not None:
        lower["depth_m"] = deepest - min(ABOVE_BOTTOM_M, 0.1 * deepest)
    if smell is not None:
        lower.setdefault("smell", smell)
    points = [ProfilePoint(**{"depth_m": 0.0} | surface), ProfilePoint(**lower)]
    if points[0].depth_m >= points[1].depth_m:
        problem = f"lies at {points[1].depth_m:.3g} m, not below the surface reading."
        findings.fault(JOB_FILE, "reading.bottom", problem, "Give the bottom the greater depth.")
        return []
    profile = Profile(id=stamp_id("profile", when), time=when, points=tuple(points))
    return [Seen(JOB_FILE, 0, None, profile)]


def _time(raw: Any, day: date | None, clock: Clock, findings: Findings) -> datetime | None:
    """Return when the two lines were read; ten in the morning of the job's day when nothing is said."""
    if isinstance(raw, time) or (raw is None and day is not None):
        if day is None:
            return None
        raw = datetime.combine(day, raw or MORNING)
    if raw is None:
        return None
    try:
        return clock.read(raw.isoformat() if isinstance(raw, datetime) else str(raw))
    except InputError as error:
        findings.fault(JOB_FILE, "reading.time", error.message, error.remedy or REMEDY)
        return None
