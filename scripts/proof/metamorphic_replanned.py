"""The plan made anew for a pond that is worse or better in one thing: what becomes of the first three days."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from scripts.proof.made_ponds import SCFM_M3_S, Made

from plumeline.job.document import Job, Profile
from plumeline.stages.startup import StartUp, startup
from plumeline.stages.startup.schedule import Schedule, growing

FIRST_DAYS = 3
CLOCK_H = 14.0
FIRST_DOSES_MIN = (5, 10, 15, 30, 60, 120, 240, 480, 1440)
SEED = 3
Points = Callable[[Any], dict[str, Any]]


def grid_index(minutes: int) -> int:
    """Return the place of a running time on the plan's grid: 5 to 60, 15 to 240, then 60 minutes a step."""
    steps = [0, *range(5, 61, 5), *range(75, 241, 15), *range(300, 1441, 60)]
    return min(range(len(steps)), key=lambda i: abs(steps[i] - minutes))


def ladders(days: int) -> tuple[Schedule, ...]:
    """Return the schedules of these searches: doubling ladders from each first dose, at one clock hour."""
    return tuple(growing(first, 2.0, CLOCK_H, days) for first in FIRST_DOSES_MIN)


def plan(made: Made, job: Job, members: int) -> StartUp:
    """Return the start-up plan of a made pond with few members and few schedules."""
    depths = made.disc_depth_m
    volume = made.bowl.volume_below(0.0)
    return startup(
        job, made.bowl, made.area_m2, volume, 0.05 * volume, made.depth_m, depths,
        (1.3 * SCFM_M3_S,) * len(depths), seed=SEED, search_members=members, fresh_members=members, brief=True,
        schedules=ladders(job.wishes.longest_start_up_d),
    )  # fmt: skip


def first_minutes(found: StartUp) -> list[int]:
    """Return the minutes of the first three days; a plan that is done earlier runs all day from then on."""
    minutes = [day.minutes for day in found.days[:FIRST_DAYS]]
    return minutes + [1440] * (FIRST_DAYS - len(minutes))


def with_points(job: Job, change: Points) -> Job:
    """Return the job with every point of its last profile changed."""
    profile = job.profiles[-1]
    points = tuple(point.model_copy(update=change(point)) for point in profile.points)
    new: Profile = profile.model_copy(update={"points": points})
    rest = tuple(item for item in job.observations if item.id != profile.id)
    return job.model_copy(update={"observations": (*rest, new)})


def fouler(made: Made) -> Made:
    """Return the pond with twice the sulphide and ammonia below, and at least some."""
    return replace(
        made,
        bottom_sulphide_mg_l=max(2.0 * (made.bottom_sulphide_mg_l or 0.0), 0.5),
        bottom_ammonia_mg_l=2.0 * (made.bottom_ammonia_mg_l or 1.0),
    )


def poorer(made: Made) -> Made:
    """Return the pond with two mg/L less oxygen on top."""
    return replace(made, surface_do_mg_l=made.surface_do_mg_l - 2.0)


def with_more_clean_water(made: Made) -> Made:
    """Return the pond with its thermocline a quarter deeper: more clean water above, less foul below."""
    return replace(made, thermocline_m=1.25 * made.thermocline_m)


WORSE: dict[str, Callable[[Made], Made]] = {"more sulphide and ammonia": fouler, "less oxygen on top": poorer}
BETTER: dict[str, Callable[[Made], Made]] = {"more clean upper water": with_more_clean_water}


def state(found: StartUp) -> str:
    """Return what kind of plan it is: kept, at the least loss that was found, or already failing."""
    if found.already_failing:
        return "already failing"
    return "kept" if found.promise_kept else "least loss"


def told(made: Made, members: int) -> dict[str, Any]:
    """Return the plan of a pond in short."""
    found = plan(made, made.job(), members)
    return {"minutes": first_minutes(found), "state": state(found), "risk": found.risk.risk}


def replanned(made: Made, before: dict[str, Any], name: str, members: int) -> dict[str, Any]:
    """Return the first three days before and after one change, as places on the grid and as minutes.

    A rule binds between two plans that keep their promise: where none does, the plan is the one of the fewest
    losses, which in a pond that fails anyway may be to run at once.
    """
    after = told({**WORSE, **BETTER}[name](made), members)
    moved = [grid_index(b) - grid_index(a) for a, b in zip(before["minutes"], after["minutes"], strict=True)]
    return {
        "name": made.name,
        "change": name,
        "before": before["minutes"],
        "after": after["minutes"],
        "states": [before["state"], after["state"]],
        "risks": [before["risk"], after["risk"]],
        "steps": moved,
        "binds": before["state"] == after["state"] == "kept",
        "held": max(moved) <= 1 if name in WORSE else min(moved) >= 0,
    }


def isothermal() -> Made:
    """Return an October pond of one temperature, rich in oxygen and without anything foul."""
    return Made(
        "one acre, 10 ft, mixed and clean",
        1.0,
        10.0,
        surface_degc=14.0,
        bottom_degc=14.0,
        bottom_sulphide_mg_l=0.0,
        bottom_ammonia_mg_l=0.05,
        month=10,
        surface_do_mg_l=9.5,
        bottom_do_mg_l=9.5,
    )


def sulphide_alone(members: int, sulphide_mg_l: float) -> list[int]:
    """Return the first days of a pond rich in oxygen to the bottom, with so much sulphide below."""
    made = Made(
        "two acres, 14 ft, oxygen everywhere",
        2.0,
        14.0,
        surface_degc=25.0,
        bottom_degc=16.0,
        thermocline_m=1.8,
        bottom_sulphide_mg_l=sulphide_mg_l,
        bottom_ammonia_mg_l=0.1,
        discs=3,
        surface_do_mg_l=8.5,
        bottom_do_mg_l=7.0,
    )
    return first_minutes(plan(made, made.job(), members))


@contextmanager
def threads(count: int) -> Iterator[None]:
    """Let the march believe that the machine has so many cores."""
    true = os.cpu_count
    os.cpu_count = lambda: count
    try:
        yield
    finally:
        os.cpu_count = true
