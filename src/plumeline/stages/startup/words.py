"""Texts of the start-up: what comes first in an emergency, how the stop rule is carried out, what to read."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from plumeline.job.document import Job
from plumeline.pairs import pair
from plumeline.stages.column import NEAR_SURFACE_M
from plumeline.stages.reading.salt import salt_layers
from plumeline.stages.startup.crew import Crew
from plumeline.stages.startup.result import Measure, Risk, RunDay
from plumeline.stages.startup.scene import Scene
from plumeline.units import both, plain


def stands(name: str, risk: Risk, *, stated: bool, may_begin: bool, kept: bool) -> str:
    """Return the plan and its risk in a sentence or two, for whoever waits while the rest is worked out.

    Args:
        name: the plan in plain words.
        risk: its risk beside the same ponds without air.
        stated: whether the ponds differ enough from each other for a risk to be stated.
        may_begin: whether a start-up may begin by it; else it waits, or is not to begin.
        kept: whether it keeps the promise.
    """
    if not stated:
        return f"The plan stands: {name}; too few simulated ponds fit the reading for a risk to be stated."
    still = round(risk.baseline_risk * risk.members)
    counts = (
        f"of {plain(risk.members, 0)} simulated ponds {plain(risk.failures, 0)} lose their refuge, "
        f"{plain(still, 0)} without any air"
    )
    if not may_begin:
        return f"No start-up is to begin now: by {name}, {counts}."
    return f"The plan stands: {name}; {counts}." + ("" if kept else " That is more than is accepted.")


def emergency(saves: bool) -> tuple[str, ...]:
    """Return what comes first where the pond fails without any air: whom the water can hurt, before what is set up.

    Extension practice for low oxygen: aerate a refuge overnight, no feeding, no handling (reference: Auburn and UGA
    fact sheets, as read in reprints); bottom diffusers prevent and do not rescue (owners' reports, no published
    source). Scum, gas and electricity are as on the safety card (safety.py).

    Args:
        saves: whether the plan loses surely fewer simulated ponds than no air does.
    """
    bottom = (
        "The bottom diffusers run by the card alone: it loses fewer simulated ponds than no air does, but it is no "
        "rescue for tonight."
        if saves
        else "Keep the bottom diffusers off: they bring up water without oxygen."
    )
    return (
        "Before anything is set up: keep people, dogs and livestock away from the water. Scum may be toxic: gloves, "
        "and nobody in the spray. Where it smells of rotten eggs: upwind, two people, never alone; the nose goes numb "
        "before the gas is safe. Electric machines by the water: a licensed electrician, GFCI protection, the power "
        "off before anyone enters it.",
        "Then, tonight: surface aeration (a paddle wheel, or a pump that sprays surface water into the air; by a "
        "tractor or an engine where there is no power) in one corner, running from before midnight to two hours after "
        f"sunrise: it makes a refuge, it does not heal the pond. {bottom}",
        "No feeding, no herbicide or algaecide, no netting, no drawing down.",
        f"Read oxygen at {both(NEAR_SURFACE_M, 'm')} at midnight and at sunrise; on the next morning over 4 mg/L "
        "read the whole profile again and plan anew. Fresh aerated water helps only in quantity: a tenth of the pond "
        "at least.",
    )


NO_OXYGEN = (
    "There is no oxygen anywhere in this profile. Keep people, dogs and livestock away first. What helps then is not "
    "the diffusers: run surface aeration now, by day as well, and read again tomorrow at sunrise. What fish still live "
    "hold at the inflow or under the spray."
)


def stop_words(crew: Crew, deepest_m: float, limit_mg_l: float) -> tuple[str, ...]:
    """Return how the stop rule is carried out.

    Args:
        crew: when somebody can come.
        deepest_m: depth of the deepest diffuser [m].
        limit_mg_l: the fish's oxygen limit.
    """
    away_m = round(2.0 * deepest_m)
    return (
        f"Who: whoever stands in for the visit, from the start of the run to its end or to {crew.last_hour_h:.0f}:00, "
        "with a meter set in air that morning. On a day by the card it holds for whoever happens to be there.",
        f"Where: {both(NEAR_SURFACE_M, 'm')} down, in two places at least {both(away_m, 'm')} (two depths) away from "
        "the boils; the lower of the two counts. A reading at the bottom tells how far the mixing is.",
        "When: before the start, then every hour. Under the reading of that hour, and at least 0.5 mg/L lower than "
        "before the start: compressor off, valves stay.",
        f"Why so high over the limit of {limit_mg_l:g} mg/L: oxygen goes on falling after shut-off, to the low "
        "whose hour stands beside it.",
        f"Where top and bottom are within {pair('1.8 °F', '1 °C')} the run goes on whatever the reading: "
        "what lay below is up already, and to stop would spare nothing. In brackish water only where conductivity is "
        "alike too: salt can part water of one temperature, and then the rule holds.",
        "A dash: mixed by then, or no reading of oxygen keeps 95 of 100 simulated ponds. A run of an hour or less is "
        "over before its first reading: read at shut-off all the same. A smell of rotten eggs stops the run at any "
        "reading: an oxygen meter does not see sulphide.",
        "How sure: each reading is worked out from up to 200 simulated ponds, at its hour and the hours beside it, and "
        "good to about 0.3 mg/L: so small a step from day to day means nothing. Within a day the readings go one "
        "way only. None stands over what the water dissolves at its temperature and the pond's elevation.",
        "After a stop: no air until the next day's visit, then the same dose again.",
    )


VALVES = (
    "Valves: “all” is every valve at its setting on the air sheet, not wide open; where diffusers are named, those "
    "alone are open and the others shut."
)


LATER = (
    "Later days are taken together, and their bound is that of the worst of them; with the days above they come to "
    "all ponds that the plan lost."
)


def measures(
    job: Job,
    scene: Scene,
    first_hour: int,
    days: tuple[RunDay, ...],
    thermocline_m: float,
    deepest_m: float,
    watched_hours: int,
) -> tuple[Measure, ...]:
    """Return what to read next, where and when, round the first run.

    Args:
        job: the job.
        scene: the scene.
        first_hour: hour of the weather of the first run.
        days: the day table.
        thermocline_m: depth of the thermocline [m].
        deepest_m: depth of the deepest diffuser [m].
        watched_hours: hours for which somebody can stay on the first run.
    """
    if not days:
        return ()
    zone = ZoneInfo(job.site.time_zone)
    start = scene.ensemble.start

    def words(hours: float) -> str:
        return f"{(start + timedelta(hours=hours)).astimezone(zone):%a %d %b %H:%M}"

    column = tuple(round(z, 2) for z in (NEAR_SURFACE_M, thermocline_m, deepest_m))
    run_h = days[0].minutes / 60.0
    dawns = scene.dawn_index[scene.dawn_index >= first_hour]
    dawn = float(dawns[0]) if len(dawns) else first_hour + 15.0
    whole = "temperature, conductivity, oxygen, smell" if salt_layers(job) else "temperature, oxygen, smell"
    brought_up = "what the run brought up: the reading that the stop rule and the next dose turn on"
    moments = [
        ("before", first_hour - 0.5, column, whole, "whether the water is still the water of this plan"),
        ("dusk", _dusk(scene, first_hour), (column[0],), "oxygen", "with dawn: what the pond breathes in a night"),
        ("dawn", dawn, column, whole,
         "the low; two such dawns, mixed and over the limit at the bottom, prove the job"),
    ]  # fmt: skip
    if run_h <= max(watched_hours, 1):
        moments.append(("shut-off", first_hour + run_h, column, whole, brought_up))
        moments.append(
            ("later", first_hour + run_h + 2.0, column, "oxygen", "the debt that is paid in the first hours")
        )
    else:
        # the air stays on when the crew goes
        moments.append(
            ("later", first_hour + float(watched_hours), column, whole, f"air still on; {brought_up}")
        )
    return tuple(
        Measure(when, words(hour), depth_m, what, why)
        for when, hour, depth_m, what, why in sorted(moments, key=lambda item: item[1])
    )


def _dusk(scene: Scene, first_hour: int) -> float:
    """Return the hour of the weather of the first sunset after the first run begins."""
    later = scene.dusk_index[scene.dusk_index >= first_hour]
    return float(later[0]) if len(later) else first_hour + 6.0
