"""The compressor's noise where a neighbour hears it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.science.sound import (
    distance_of_level_iso_9613_1996,
    level_at_distance_iso_9613_1996,
    level_of_several_iso_3744_2010,
)
from plumeline.stages.air.machine import Machine

AT_M = 1.0
"""Distance of a maker's figure."""
WATCHED_M = (15.24, 30.48, 60.96, 121.92)
"""Distances shown in any case: 50, 100, 200 and 400 ft."""
BEDROOM_DBA = 45.0
"""Outside an open bedroom window by night: WHO Guidelines for Community Noise 1999. No law."""
CLOSE_DBA = 3.0
"""A margin under this is within what a maker's figure and one reflecting wall can move it."""

BESIDE = pair("3 ft 3 in", "1 m")
"""Where makers state the noise of a machine: a metre away."""


@dataclass(frozen=True)
class LevelAt:
    """Noise at a distance."""

    distance_m: float
    level_dba: float


@dataclass(frozen=True)
class Noise:
    """Noise of all machines together, in the open, without what cabinet, trees or walls take or throw back."""

    at_1_m_dba: float
    levels: tuple[LevelAt, ...]
    neighbour_distance_m: float | None
    at_neighbour_dba: float | None
    night_limit_dba: float | None
    """The job's; None where it is not known."""
    margin_dba: float | None
    """Limit less noise at the neighbour: below zero it is too loud."""
    limit_distance_m: float
    """Distance at which the limit is kept; the guideline for bedrooms where no limit is known."""
    compared_with_dba: float
    notices: tuple[Notice, ...] = ()


def noise(job: Job, machine: Machine) -> Noise | None:
    """Return the noise of a machine at the job's neighbour; None where its level is not known."""
    if machine.noise_dba is None:
        return None
    level_dba = level_of_several_iso_3744_2010(machine.noise_dba, float(machine.count))
    distance_m, limit_dba = job.air.neighbour_distance_m, job.air.night_limit_dba
    there_dba = (
        None
        if distance_m is None
        else level_at_distance_iso_9613_1996(level_dba, AT_M, max(distance_m, AT_M))
    )
    compared_dba = BEDROOM_DBA if limit_dba is None else limit_dba
    found = Noise(
        at_1_m_dba=level_dba,
        levels=tuple(
            LevelAt(away_m, level_at_distance_iso_9613_1996(level_dba, AT_M, away_m)) for away_m in WATCHED_M
        ),
        neighbour_distance_m=distance_m,
        at_neighbour_dba=there_dba,
        night_limit_dba=limit_dba,
        margin_dba=None if there_dba is None or limit_dba is None else limit_dba - there_dba,
        limit_distance_m=max(distance_of_level_iso_9613_1996(level_dba, AT_M, compared_dba), 0.0),
        compared_with_dba=compared_dba,
    )
    return replace(found, notices=tuple(_notices(found)))


def unknown_noise(machine: Machine) -> Notice:
    """Return what is said where a machine's noise is not known: unknown is not quiet."""
    words = (
        f"How loud {machine.words} is at {BESIDE} is not known, so nothing is said of the neighbours. Read "
        "it from the maker's sheet into air.compressor.noise."
    )
    return note("air-noise-unknown", words)


def distance(distance_m: float) -> str:
    """Return a distance over ground, as "150 ft (46 m)"; to a tenth of a foot where a tape would be read closer."""
    feet = distance_m / 0.3048
    whole = feet >= 100.0 or abs(feet - round(feet)) < 0.04
    return pair(f"{feet:.0f} ft" if whole else f"{feet:.1f} ft", f"{distance_m:.0f} m")


def _notices(found: Noise) -> list[Notice]:
    """Return what is said of the noise: over the limit, near it, or what is not known."""
    kept = f"it is kept from {distance(found.limit_distance_m)} on"
    if found.neighbour_distance_m is None:
        words = (
            f"How far the nearest neighbour is from the compressor is not known: it makes {found.at_1_m_dba:.0f} dB(A) "
            f"at {BESIDE}, and falls to {found.compared_with_dba:.0f} dB(A) at "
            f"{distance(found.limit_distance_m)}. Give air.neighbour_distance."
        )
        return [note("air-neighbour-unknown", words)]
    there = f"At the neighbour, {distance(found.neighbour_distance_m)} away, the compressor makes"
    if found.night_limit_dba is None:
        words = (
            f"{there} {found.at_neighbour_dba:.0f} dB(A). No night limit is known: ask the local ordinance and give "
            f"air.night_limit. The guideline outside bedrooms by night is {BEDROOM_DBA:.0f} dB(A) (WHO 1999); {kept}."
        )
        louder = found.at_neighbour_dba is not None and found.at_neighbour_dba > BEDROOM_DBA
        return [
            caution("air-noise-limit-unknown", words) if louder else note("air-noise-limit-unknown", words)
        ]
    if found.margin_dba is not None and found.margin_dba < 0.0:
        words = (
            f"{there} {found.at_neighbour_dba:.0f} dB(A), {-found.margin_dba:.0f} over the night limit of "
            f"{found.night_limit_dba:.0f}; {kept}. Move it, take a quieter one, line the cabinet or put a wall between."
        )
        return [caution("air-too-loud", words)]
    if found.margin_dba is not None and found.margin_dba < CLOSE_DBA:
        words = (
            f"{there} {found.at_neighbour_dba:.0f} dB(A), only {found.margin_dba:.1f} under the night limit of "
            f"{found.night_limit_dba:.0f}: a wall that throws it back takes 3 to 6 of that. Measure it by night."
        )
        return [caution("air-noise-close", words)]
    return []
