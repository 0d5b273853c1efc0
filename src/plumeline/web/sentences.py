"""One sentence under each drawing: what it means for this pond."""

from __future__ import annotations

from plumeline.cli.show_muck import volume_words
from plumeline.stages.air.route import RouteResult
from plumeline.stages.plan import Designed
from plumeline.stages.reading.salt import salt_parts
from plumeline.stages.survey import Survey
from plumeline.stages.survey.result import Muck
from plumeline.units.showing import System, show


def plan_sentence(design: Designed, units: System) -> str:
    """Return what the plan view means: how many diffusers, how often they turn the water over, what was wanted."""
    found = design.layout
    count = len(found.diffusers)
    words = "one diffuser turns" if count == 1 else f"{count} diffusers turn"
    return (
        f"From above: {words} the water over {found.turnover_per_day:.2g} times a day "
        f"({found.wanted_turnover_per_day:g} wanted); on the mean water comes to one from "
        f"{show(found.mean_distance_m, 'm', units)} away."
    )


def sounded_sentence(found: Survey) -> str:
    """Return what the soundings mean: what was left out, and what the next ones would be worth."""
    words = f"As sounded: {found.sounding_count} soundings used, {len(found.left_out)} left out"
    if not found.next_soundings:
        return f"{words}."
    count = len(found.next_soundings)
    before, after = (
        f"{100 * error_m3 / found.volume_m3:.1f} %"
        for error_m3 in (found.volume_se_m3, found.next_soundings[-1].volume_se_after_m3)
    )
    places = (
        "one more, where the mark stands, takes"
        if count == 1
        else f"{count} more, in the order of their numbers, take"
    )
    return f"{words}; {places} the volume's standard error from {before} to {after}."


def muck_sentence(muck: Muck, units: System) -> str:
    """Return what the muck means: how much, where most, and how sure that is."""
    low, high = (show(value, "m3", units) for value in (muck.volume_p05_m3, muck.volume_p95_m3))
    return (
        f"Soft muck: {volume_words(muck, units)} ({low} to {high}) by {muck.probe_count} probes, on the mean "
        f"{show(muck.mean_m, 'm', units)} thick and {show(muck.thickest_m, 'm', units)} where it is thickest."
    )


def cut_sentence(design: Designed, units: System) -> str:
    """Return what the cut means: where the water is layered, how much oxygen is missing."""
    found = design.reading
    strata = found.strata
    depth_m = strata.thermocline_depth_m
    if strata.mixed or depth_m is None:
        layers = "the water is mixed from top to bottom"
    else:
        top, bottom = found.layers[0].temperature_degc, found.layers[-1].temperature_degc
        order = "warm water lies on cold" if top >= bottom else "colder water lies on warmer"
        if salt_parts(found):
            order = "fresher water lies on saltier"
        layers = f"{order}, parted at {show(depth_m, 'm', units)}"
    # what the bloom holds over saturation on top pays for nothing below
    lacking = found.deficit_kg / found.oxygen_at_saturation_kg
    words = f"{lacking:.0%}".replace("%", " %") if lacking >= 0.005 else "nothing"
    return f"Cut through the water: {layers}; of the oxygen that it could hold, {words} is missing."


def route_sentence(route: RouteResult, units: System) -> str:
    """Return what the route means: whether water stays in the line, where, and whether a dam forbids it."""
    if route.trench.dam_m:
        return "The air line on land goes through a dam, where no trench, pipe or anchor may be: lay it round the dam."
    if route.slope_to_water:
        return "The air line on land: it falls to the pond all the way, so that no water stays in it."
    places = [show(item.station_m, "m", units) for item in route.low_points]
    words = "one low point" if len(places) == 1 else f"{len(places)} low points"
    return (
        f"The air line on land: water gathers in {words}, {_listed(places)} from the compressor; "
        "it needs a drain or another slope there."
    )


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
