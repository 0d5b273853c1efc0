"""The trench: how much soil, what it crosses, frost, and whether it may be dated."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from plumeline.job.document import Answer, Job, RoutePoint, Trench
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.stages.air.profile import DESIGN_COVER_M
from plumeline.stages.air.words import feet, feet_depth

_DAM = re.compile(r"\b(?:dam|dams|embankment|levee|dike|dyke|spillway)\b")
_UTILITY = re.compile(
    r"\b(?:power|electric\w*|cable|gas|propane|phone|telephone|fibre|fiber|internet|sewer|septic|drain\w*|"
    r"water (?:line|main|pipe)|irrigation|utilit\w+|wire)\b"
)
_ROAD = re.compile(r"\b(?:drive\w*|road|lane|street|track|gate|parking)\b")


@dataclass(frozen=True)
class Crossing:
    """What the line crosses between two stations."""

    from_m: float
    to_m: float
    what: str
    kind: str
    """dam, line (of a utility, public or private), road, or other."""
    words: str
    """What is to be done there."""


@dataclass(frozen=True)
class TrenchPlan:
    """What is dug, and when it may be."""

    length_m: float
    """Of trench; stretches on the ground and in a dam are not dug."""
    volume_m3: float
    """In place; loose soil takes a quarter to a third more room."""
    mean_depth_m: float
    volume_by_soil_m3: tuple[tuple[str, float], ...]
    crossings: tuple[Crossing, ...]
    dam_m: tuple[tuple[float, float], ...]
    """Stretches that lie in a dam: refused."""
    frost_m: tuple[tuple[float, float], ...]
    """Stretches with less cover than the frost goes down."""
    dated_line: str | None
    """The line about the trench with its date; None where it must not be dated."""
    notices: tuple[Notice, ...]


def trench_plan(job: Job, outside_diameter_m: float) -> TrenchPlan:
    """Return what is dug along a job's route.

    Args:
        job: with two stations of route or more.
        outside_diameter_m: of the pipe, which the trench holds under its cover.
    """
    volumes: dict[str, float] = {}
    length_m = volume_m3 = 0.0
    dam, frost, crossings = [], [], []
    for here, after in pairwise(job.route):
        cover_m = DESIGN_COVER_M if here.cover_m is None else here.cover_m
        step_m = after.station_m - here.station_m
        stretch = (here.station_m, after.station_m)
        if here.crossing:
            crossings.append(_crossing(here, after))
        if _in_dam(here):
            dam.append(stretch)
            continue
        depth = job.trench.frost_depth_m
        if depth is not None and cover_m < depth:
            frost.append(stretch)
        if cover_m > 0.0:
            soil_m3 = step_m * job.trench.width_m * (cover_m + outside_diameter_m)
            length_m += step_m
            volume_m3 += soil_m3
            name = here.soil or "soil not named"
            volumes[name] = volumes.get(name, 0.0) + soil_m3
    merged_dam, merged_frost = _merged(dam), _merged(frost)
    asked = with_ticket(job)
    line = dated_line(asked, refused=bool(merged_dam))
    notices = (
        *_dam_notices(merged_dam),
        *_frost_notices(job, merged_frost),
        *_ticket_notices(asked, line, refused=bool(merged_dam)),
        *_crossing_notices(crossings),
    )
    return TrenchPlan(
        length_m=length_m,
        volume_m3=volume_m3,
        mean_depth_m=volume_m3 / (length_m * job.trench.width_m) if length_m > 0.0 else 0.0,
        volume_by_soil_m3=tuple(sorted(volumes.items())),
        crossings=tuple(crossings),
        dam_m=merged_dam,
        frost_m=merged_frost,
        dated_line=line,
        notices=notices,
    )


def with_ticket(job: Job) -> Trench:
    """Return what was asked for the trench; where it names no ticket of its own, that of the site's facts counts."""
    facts, trench = job.site.facts, job.trench
    if facts is None or trench.locate_ticket.strip():
        return trench
    return trench.model_copy(update={"locate_ticket": facts.utility_ticket})


def dated_line(trench: Trench, *, refused: bool = False) -> str | None:
    """Return the line about the trench with its date, or None: no ticket, no expiry, expired by then, or a dam."""
    if (
        refused
        or trench.dig_date is None
        or not trench.locate_ticket.strip()
        or trench.ticket_expires is None
    ):
        return None
    if trench.dig_date > trench.ticket_expires:
        return None
    return (
        f"Trench on {trench.dig_date.isoformat()}: utility-locate ticket {trench.locate_ticket.strip()}, "
        f"good through "
        f"{trench.ticket_expires.isoformat()}; private lines located: {trench.private_lines_located.value}."
    )


def _in_dam(point: RoutePoint) -> bool:
    return bool(_DAM.search(f"{point.crossing} {point.soil}".lower()))


def _crossing(here: RoutePoint, after: RoutePoint) -> Crossing:
    what = here.crossing.strip()
    plain = what.lower()
    if _in_dam(here):
        kind, words = "dam", "go round: no trench, pipe or anchor in an earthen dam"
    elif _UTILITY.search(plain):
        near = pair("24 in", "0.6 m")
        kind, words = "line", f"have it marked, dig by hand within {near} of the marks, keep clear of it"
    elif _ROAD.search(plain):
        kind, words = "road", "carry the pipe through in a sleeve, deeper, and without a joint"
    else:
        kind, words = "other", "look at it on the ground before the trench is laid out"
    return Crossing(here.station_m, after.station_m, what, kind, words)


def _merged(stretches_m: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Return stretches with neighbours joined."""
    found: list[tuple[float, float]] = []
    for start_m, end_m in stretches_m:
        if found and found[-1][1] == start_m:
            found[-1] = (found[-1][0], end_m)
        else:
            found.append((start_m, end_m))
    return tuple(found)


def stretch_words(stretches_m: tuple[tuple[float, float], ...]) -> str:
    """Return stretches in words: "60 ft to 120 ft"."""
    return ", ".join(f"{feet(start)} to {feet(end)}" for start, end in stretches_m)


def _dam_notices(dam_m: tuple[tuple[float, float], ...]) -> list[Notice]:
    if not dam_m:
        return []
    words = (
        f"The route runs in an earthen dam at {stretch_words(dam_m)}: no trench, pipe or anchor there. "
        f"Water finds its "
        "way along a buried pipe and takes the dam with it. Nothing is dug or dated for this route; lay "
        "it round the "
        "dam, or over the ground after the dam's owner, its engineer and the state's dam office agree in writing."
    )
    return [danger("route-dam", words)]


def _frost_notices(job: Job, frost_m: tuple[tuple[float, float], ...]) -> list[Notice]:
    depth_m = job.trench.frost_depth_m
    if depth_m is None:
        words = (
            "The frost depth of the place is not given (trench.frost_depth): the building department "
            "knows it. Water "
            "in a dip over it freezes and shuts the line."
        )
        return [note("route-frost-unknown", words)]
    if not frost_m:
        return []
    words = (
        f"Less cover than the frost depth {feet_depth(depth_m)} at {stretch_words(frost_m)}: bury deeper, or "
        f"slope it so that "
        "no water stays."
    )
    return [caution("route-frost", words)]


def _ticket_notices(trench: Trench, line: str | None, *, refused: bool) -> list[Notice]:
    """Return what is said of the locate call; nothing where the trench is dated in order."""
    notices = []
    day, ends = trench.dig_date, trench.ticket_expires
    if line is None and not refused:
        if day is not None and trench.locate_ticket.strip() and ends is not None:
            words = (
                f"The locate ticket {trench.locate_ticket.strip()} ends on {ends.isoformat()}, before the trench's "
                f"{day.isoformat()}: call again. The trench has no date on this plan."
            )
            notices.append(danger("route-ticket-expired", words))
        else:
            missing = " and ".join(
                words
                for words, lacks in (
                    ("its number", not trench.locate_ticket.strip()),
                    ("its expiry", ends is None),
                    ("the day of the dig", day is None),
                )
                if lacks
            )
            words = (
                "The trench has no date on this plan: of the public utility-locate call it lacks "
                f"{missing} ([trench] in job.toml). Call two or three working days before any dig, by "
                f"hand or machine."
            )
            notices.append(caution("route-no-ticket", words))
    if trench.private_lines_located is not Answer.YES and not refused:
        words = (
            "The public call marks only the utilities' own lines. Lines on the property (power to a shed, "
            "irrigation, "
            "propane, septic) need a private locator."
        )
        notices.append(caution("route-private-lines", words))
    return notices


def _crossing_notices(crossings: list[Crossing]) -> list[Notice]:
    found = [
        f"{item.what} at {feet(item.from_m)} to {feet(item.to_m)}: {item.words}"
        for item in crossings
        if item.kind != "dam"
    ]
    return [caution("route-crossings", f"The line crosses {'; '.join(found)}.")] if found else []
