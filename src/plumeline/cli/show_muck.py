"""Soft muck for people: how much, where, and what a diffuser stands on there."""

from __future__ import annotations

from plumeline.cli.figures import percent
from plumeline.cli.tables import listing, table
from plumeline.stages.layout import Layout
from plumeline.stages.survey import Survey
from plumeline.stages.survey.levels import SAME_LEVEL_M
from plumeline.stages.survey.result import Muck
from plumeline.units import convert, plain, show
from plumeline.units.showing import System

TITLE = "Soft muck over firm bottom, under the whole pond"
UNDER = "Muck under the diffusers"
LEVELS = "Soundings by day and level"


def muck_block(found: Survey, units: System) -> str | None:
    """Return the muck's figures; None where too little was probed."""
    muck = found.muck
    if muck is None:
        return None
    low, high = (show(value, "m3", units) for value in (muck.volume_p05_m3, muck.volume_p95_m3))
    point = found.plane.to_point(*muck.thickest_xy)
    rows = [
        ("volume of muck", volume_words(muck, units)),
        (
            "90 % band of it",
            f"{low} to {high} (standard error {percent(muck.volume_se_m3 / muck.volume_m3, 1)})",
        ),
        ("mean thickness", show(muck.mean_m, "m", units)),
        (
            "thickest",
            f"{show(muck.thickest_m, 'm', units)}, at {point.latitude_deg:.6f}, {point.longitude_deg:.6f}",
        ),
        ("muck probes used", str(muck.probe_count)),
        ("error of one pair", show(muck.probe_error_m, "m", units)),
        (
            "pattern",
            f"thicker under deeper water: {percent(muck.deep_fraction)} of the weight of what was tried",
        ),
    ]
    return listing(rows, title=TITLE)


def volume_words(muck: Muck, units: System) -> str:
    """Return the muck's volume, in cubic yards too for who hauls by them."""
    text = show(muck.volume_m3, "m3", units)
    return f"{text} = {plain(convert(muck.volume_m3, 'm3', 'yd3'), 0)} yd³" if units == "us" else text


def levels_block(found: Survey, units: System) -> str | None:
    """Return the soundings by day and level; None where they are all of one."""
    if not found.level_days:
        return None
    rows = [
        (
            item.day.isoformat() if item.day else "day not said",
            str(item.count),
            "no staff gauge read" if item.rise_m is None else show(item.rise_m, "m", units),
            "as read" if item.rise_m is None or abs(item.rise_m) <= SAME_LEVEL_M else "taken off",
        )
        for item in found.level_days
    ]
    return table(("day", "soundings", "water over that\nof most", ""), rows, align="lrrl", title=LEVELS)


def under_block(found: Layout, units: System) -> str | None:
    """Return the muck under each diffuser with what it stands on; None where nothing is known of muck."""
    rows = []
    for item in found.diffusers:
        base = item.base
        if base is None:
            continue
        legs = show(base.legs_m, "m", units) if base.legs_m is not None else ""
        rows.append(
            (item.name, show(base.muck_m, "m", units), show(base.upper_m, "m", units), base.stands_on, legs)
        )
    if not rows:
        return None
    heads = ("", "muck to\nexpect", "at most, 19\nof 20", "stands on", "legs")
    return table(heads, rows, align="lrrlr", title=UNDER)
