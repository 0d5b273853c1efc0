"""What is legal and looks wrong: slips of the decimal point, feet called metres, places off the pond."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from plumeline.files.findings import Findings, some
from plumeline.files.observations import BOTTLES, PROFILES, Seen
from plumeline.files.outline_checks import place_xy
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Bottle, GaugeReading, OxygenReading, Pond, Profile, Site
from plumeline.job.reading_names import capital, spoken
from plumeline.units import both, far_away

SOUNDINGS = "soundings.csv"
HOME = (PROFILES, JOB_FILE)
"""Where the readings stand that the job begins with."""
POSITION_ERROR_M = 5.0
"""How far outside the outline a sounding may lie by the error of a hand-held receiver."""
SWAPPED_BEYOND_M = 100_000.0
"""Farther than this from the pond a place is no error of reading, but another place on Earth."""
NEIGHBOURS = 6
SLIP_NUMBER = 3.0
"""A sounding this many times its deepest neighbour is a slip of the pen, or a well."""
FEET_RATIOS = (2.6, 4.0)
"""About 3.28: depths in feet under a heading in metres."""
LARGEST_RELATIVE_DEPTH_FRACTION = 0.10
"""Greatest depth over the diameter of a circle of the pond's area; dug ponds seldom pass a tenth."""


def check_soundings(pond: Pond, site: Site | None, findings: Findings) -> None:
    """Add notices on soundings: outside the outline, ten times their neighbours, feet called metres."""
    if not pond.soundings:
        return
    slips: set[int] = set()
    if site is not None:
        places = [place_xy(sounding.place, site) for sounding in pond.soundings]
        if pond.outline:
            _check_inside(pond, site, places, findings)
        slips = _slips(pond, places)
    if slips:
        rows = [pond.soundings[index].row for index in sorted(slips)]
        findings.caution(
            "sounding-slip",
            f"{SOUNDINGS}, {some(rows)}: more than {SLIP_NUMBER:g} times as deep as the {NEIGHBOURS} "
            f"soundings around it; check for a slip of the decimal point ({_depths(pond, slips)}).",
        )
    kept = [item.depth_m for index, item in enumerate(pond.soundings) if index not in slips]
    _check_feet(pond, max(kept, default=0.0), area_m2_of(pond, site), findings)


def _depths(pond: Pond, indices: set[int]) -> str:
    found = [both(pond.soundings[index].depth_m, "m") for index in sorted(indices)[:3]]
    return ", ".join(found) + (" ..." if len(indices) > 3 else "")


def area_m2_of(pond: Pond, site: Site | None) -> float | None:
    """Return the area that was given, else a rough one [m²] of the outline, or None."""
    if pond.area_m2 is not None:
        return pond.area_m2
    return outline_area_m2(pond, site)


def outline_area_m2(pond: Pond, site: Site | None) -> float | None:
    """Return a rough area [m²] of the outline, good to about a per cent, or None without one."""
    if not pond.outline or site is None:
        return None
    from shapely import Polygon

    rings = [[place_xy(place, site) for place in ring] for ring in pond.outline]
    return float(Polygon(rings[0], rings[1:]).area)


def _check_inside(pond: Pond, site: Site, places: list[tuple[float, float]], findings: Findings) -> None:
    import shapely

    rings = [[place_xy(place, site) for place in ring] for ring in pond.outline]
    shape = shapely.Polygon(rings[0], rings[1:])
    wider = shape.buffer(POSITION_ERROR_M)
    shapely.prepare(wider)
    inside = shapely.contains_xy(wider, [x for x, _ in places], [y for _, y in places])
    outside = [index for index, within in enumerate(inside) if not within]
    if not outside:
        return
    rows = [pond.soundings[index].row for index in outside]
    farthest = max(shape.distance(shapely.Point(places[index])) for index in outside[:5000])
    if 2 * len(outside) > len(places):
        findings.fault(
            SOUNDINGS,
            some(rows, 3),
            f"{len(outside)} of {len(places)} soundings lie outside the outline, up to {both(farthest, 'm')}.",
            "Check that both files are of this pond, with lon and lat in the same datum (WGS 84).",
        )
        return
    far = farthest > SWAPPED_BEYOND_M
    cause = "whether longitude and latitude have changed places there" if far else "their places"
    findings.caution(
        "soundings-outside",
        f"{SOUNDINGS}, {some(rows)}: outside the outline by up to {far_away(farthest)} "
        f"(more than {both(POSITION_ERROR_M, 'm')}); check {cause}, or the outline.",
    )


def _slips(pond: Pond, places: list[tuple[float, float]]) -> set[int]:
    """Return the positions of soundings far deeper than every one around them."""
    count = len(places)
    if count <= NEIGHBOURS:
        return set()
    import numpy as np
    from scipy.spatial import cKDTree

    depths = np.array([sounding.depth_m for sounding in pond.soundings])
    _, around = cKDTree(np.array(places)).query(places, k=NEIGHBOURS + 1)
    others = np.where(around == np.arange(count)[:, None], -np.inf, depths[around])
    deepest = np.sort(others, axis=1)[:, -NEIGHBOURS:].max(axis=1)
    return {int(index) for index in np.flatnonzero((depths > SLIP_NUMBER * deepest) & (depths > 1.0))}


def _check_feet(pond: Pond, deepest_m: float, area_m2: float | None, findings: Findings) -> None:
    if pond.max_depth_m is not None and deepest_m > 0:
        ratio = deepest_m / pond.max_depth_m
        said = f"{SOUNDINGS}: the deepest is {both(deepest_m, 'm')}, {ratio:.3g} times pond.max_depth"
        if FEET_RATIOS[0] <= ratio <= FEET_RATIOS[1]:
            findings.caution("feet-as-metres", f"{said}; if these are feet, call the column depth_ft.")
        elif ratio > 1.2:
            findings.caution("max-depth-differs", f"{said}; correct one of the two.")
        return
    if area_m2 is not None and (across := _too_deep(deepest_m, area_m2)):
        findings.caution(
            "feet-as-metres",
            f"{SOUNDINGS}: the deepest sounding, {both(deepest_m, 'm')}, is much for a pond {both(across, 'm')} "
            "across; if these are feet, call the column depth_ft.",
        )


def _too_deep(depth_m: float, area_m2: float) -> float:
    """Return the diameter [m] of a circle of this area when the depth is much for it, else 0."""
    across = 2.0 * math.sqrt(area_m2 / math.pi)
    return across if depth_m > LARGEST_RELATIVE_DEPTH_FRACTION * across else 0.0


def check_pond(pond: Pond, site: Site | None, findings: Findings) -> None:
    """Add notices on answers about the pond that do not go together."""
    drawn = outline_area_m2(pond, site)
    if drawn and pond.area_m2 and not 0.8 <= pond.area_m2 / drawn <= 1.25:
        findings.caution(
            "area-differs",
            f"job.toml, pond.area: the area is given as {both(pond.area_m2, 'm2')}, but the outline encloses "
            f"{both(drawn, 'm2')}; the outline is used. Correct one of the two.",
        )
    if not pond.soundings and pond.max_depth_m is not None:
        _check_answer_depth(pond, area_m2_of(pond, site), findings)
    deepest = greatest_depth_m(pond)
    if pond.secchi_depth_m is not None and deepest is not None and pond.secchi_depth_m > 1.05 * deepest:
        findings.caution(
            "secchi-deep",
            f"job.toml, pond.secchi_depth: {both(pond.secchi_depth_m, 'm')} is more than the pond is deep "
            f"({both(deepest, 'm')}); where the disc is seen on the bottom give the depth there.",
        )


def _check_answer_depth(pond: Pond, area_m2: float | None, findings: Findings) -> None:
    if area_m2 is None or pond.max_depth_m is None:
        return
    if across := _too_deep(pond.max_depth_m, area_m2):
        findings.caution(
            "feet-as-metres",
            f"job.toml, pond.max_depth: {both(pond.max_depth_m, 'm')} is much for a pond {both(across, 'm')} across; "
            "if it is feet, write the unit.",
        )


def greatest_depth_m(pond: Pond) -> float | None:
    """Return the greatest depth known of the pond today [m], from soundings or the answer, or None."""
    # soundings of nothing but zero tell no depth
    found = [sounding.depth_m for sounding in pond.soundings if sounding.depth_m > 0.0]
    if pond.max_depth_m is not None:
        found.append(pond.max_depth_m)
    return max(found) + pond.level_offset_m if found else None


def check_observations(
    seen: Sequence[Seen], pond: Pond, day: date | None, findings: Findings
) -> None:  # fmt: skip
    """Add faults and notices on readings: deeper than the pond, later than the job, out of step."""
    deepest = greatest_depth_m(pond)
    for one in seen:
        item = one.observation
        if isinstance(item, Profile):
            # a short reading is checked as a profile: whoever reads job.toml knows it as one
            file = one.file if one.row else PROFILES
            _check_depth(file, item.id, item.points[-1].depth_m, deepest, findings)
            _check_profile(item, findings)
        elif isinstance(item, OxygenReading):
            _check_depth(one.file, item.id, item.depth_m[-1], deepest, findings)
        elif isinstance(item, Bottle):
            _check_depth(BOTTLES, item.id, item.depth_m, deepest, findings)
            _check_bottle(item, findings)
        # visits come after the job's date, and have checks of their own
        visit = isinstance(item, OxygenReading | GaugeReading) or (
            isinstance(item, Profile) and one.file not in HOME
        )
        if day is not None and item.time.date() > day and not visit:
            findings.note(
                "reading-later",
                f"{capital(spoken(item.id))} was read on {item.time.date().isoformat()}, after the date of "
                f"the job ({day.isoformat()}); check both dates.",
            )


def _check_depth(file: str, name: str, depth: float, deepest: float | None, findings: Findings) -> None:
    if deepest is None or not deepest > 0.0 or depth <= 1.02 * deepest:
        return  # of a pond that fell dry the survey says what is wrong
    said = f"{name} reaches {depth:.3g} m, the pond {deepest:.3g} m"
    if depth <= 1.15 * deepest + 0.3:
        findings.note(
            "reading-deeper", f"{file}: {said}; the deepest place may have been missed by the survey."
        )
        return
    remedy = "Check the depths, or pond.max_depth."
    if FEET_RATIOS[0] <= depth / deepest <= FEET_RATIOS[1]:
        remedy = "If these are feet, call the column depth_ft."
    findings.fault(file, name, f"is deeper than the pond: {said}.", remedy)


def _check_profile(profile: Profile, findings: Findings) -> None:
    high = [point for point in profile.points if point.do_mg_l > 25.0]
    if high:
        findings.caution(
            "oxygen-high",
            f"{capital(spoken(profile.id))}: {high[0].do_mg_l:g} mg/L of oxygen at {both(high[0].depth_m, 'm')}; few "
            "blooms reach this, check that the meter does not show per cent.",
        )
    top, bottom = profile.points[0], profile.points[-1]
    if bottom.temperature_degc > top.temperature_degc + 3.0 and top.temperature_degc > 4.0:
        findings.caution(
            "profile-upside-down",
            f"{capital(spoken(profile.id))}: {both(bottom.temperature_degc, 'degc')} at the bottom under "
            f"{both(top.temperature_degc, 'degc')}; "
            "check that depths were counted from the surface.",
        )


def _check_bottle(bottle: Bottle, findings: Findings) -> None:
    share = bottle.bottom_share
    start = share * bottle.bottom_do_mg_l + (1.0 - share) * bottle.surface_do_mg_l
    later = [start, bottle.after_15min_mg_l, bottle.after_24h_mg_l]
    known = [value for value in later if value is not None]
    if any(after > before + 0.5 for before, after in pairwise(known)):
        findings.caution(
            "bottle-rising",
            f"{capital(spoken(bottle.id))}: oxygen rises in the dark bottle; air or light got in, or columns are "
            "exchanged.",
        )
