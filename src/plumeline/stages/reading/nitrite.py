"""Nitrite: what ammonia becomes on its way, and an oxygen meter does not see."""

from __future__ import annotations

from plumeline.job.document import Job
from plumeline.notices import Notice, note

AMMONIA_FROM_MG_L = 1.0
"""Total ammonia as N, measured at any depth, from which nitrite is worth a test once air comes to it (judgement)."""

NITRITE = (
    "Ammonia that comes to air is turned into nitrite first, for weeks where the water is cool. Nitrite turns blood "
    "brown: fish gasp though the meter shows oxygen, catfish and trout long before bass and bluegill. Test nitrite "
    "and chloride with a kit a week after the start, and where fish gasp; extension practice keeps ten parts of "
    "chloride to one of nitrite."
)
"""SRAC publication 462, Durborow, Crosby & Brunson 1997, Nitrite in fish ponds (read in reprints)."""


def nitrite(job: Job) -> tuple[Notice, ...]:
    """Return the advice to test nitrite where the latest profile holds measured ammonia enough for it.

    Args:
        job: its latest profile is looked at.
    """
    points = job.latest_profile.points if job.latest_profile else ()
    if all(point.ammonia_mg_l is None or point.ammonia_mg_l < AMMONIA_FROM_MG_L for point in points):
        return ()
    return (note("nitrite", NITRITE),)
