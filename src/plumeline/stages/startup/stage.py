"""The start-up stage: from the basin, the reading and the air to a plan with a stated risk."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.science.water import density_chen_millero_1986
from plumeline.stages.column import NEAR_SURFACE_M, believed, runs_of
from plumeline.stages.column.grid import Basin
from plumeline.stages.mixed import MIXED_K, MIXED_SALT_G_KG
from plumeline.stages.plume import gassed
from plumeline.stages.reading.nitrite import nitrite
from plumeline.stages.reading.salt import salt_layers
from plumeline.stages.site_facts import refuse_start
from plumeline.stages.startup import notices as said
from plumeline.stages.startup import words
from plumeline.stages.startup.beside import (
    COMPARISON_MEMBERS,
    SIDE_MEMBERS,
    STOP_MEMBERS,
    Beside,
    comparisons,
)
from plumeline.stages.startup.chosen_as import chosen_as
from plumeline.stages.startup.days import days_gone, first_run, later_losses, run_days
from plumeline.stages.startup.families import candidates, continued
from plumeline.stages.startup.known import Known, airs_of, known_of
from plumeline.stages.startup.narrowing import narrowing
from plumeline.stages.startup.policy import policy_of
from plumeline.stages.startup.promise import enough_members
from plumeline.stages.startup.result import BeforeReadings, Comparison, StartUp
from plumeline.stages.startup.scene import Scene, lead_in, some_of
from plumeline.stages.startup.schedule import Schedule, cautious
from plumeline.stages.startup.scored import PAUSE_D, begins_on, scored
from plumeline.stages.startup.search import SOME_MEMBERS, Progress, search
from plumeline.stages.startup.stop import clock_stops
from plumeline.stages.startup.tree import Tally
from plumeline.stages.startup.turnback import turning_back
from plumeline.stages.startup.value import already_read
from plumeline.stages.startup.waiting import WAITS_D, waiting

SEARCH_MEMBERS = 1000
FRESH_MEMBERS = 2000
FRESH_SEED_STEP = 500_009
Ints = NDArray[np.int64]


def quiet(_what: str, _share_fraction: float) -> None:
    """Report progress to nobody."""


def unheard(_words: str) -> None:
    """Tell nobody that the plan stands."""


def startup(
    job: Job,
    basin: Basin,
    area_m2: float,
    volume_m3: float,
    volume_se_m3: float,
    max_depth_m: float,
    diffuser_depth_m: tuple[float, ...],
    diffuser_flow_m3_s: tuple[float, ...],
    *,
    seed: int,
    progress: Progress = quiet,
    stands: Callable[[str], None] = unheard,
    search_members: int = SEARCH_MEMBERS,
    fresh_members: int = FRESH_MEMBERS,
    schedules: tuple[Schedule, ...] | None = None,
    diffuser_names: tuple[str, ...] = (),
    outage_d: int = 0,
    brief: bool = False,
) -> StartUp:
    """Return the start-up plan and what it is compared with.

    Args:
        job: the job; its last profile is the reading.
        basin: hypsograph of the surveyed pond.
        area_m2: surface area [m²].
        volume_m3: volume [m³].
        volume_se_m3: its standard error [m³].
        max_depth_m: greatest depth [m].
        diffuser_depth_m: depths of the membranes that carry air (diffusers) [m].
        diffuser_flow_m3_s: standard air of each (diffusers) [m³/s].
        seed: seed of the search ensemble; the fresh ensemble has another.
        progress: told what is done and how far.
        stands: told the plan and its risk in a sentence as soon as they stand, before what is asked beside them.
        search_members: members of the search ensemble.
        fresh_members: members on which the chosen plan is scored again.
        schedules: what is searched; the families of the design when None.
        diffuser_names: names of the diffusers; D1, D2, … where empty.
        outage_d: days that a running, mixed pond has been without air; the plan is its restart [d].
        brief: only the plan, its risk and its days: no comparisons, waiting, values, changes, nor what follows.

    Raises:
        ModelError: no diffuser carries air.
        InputError: no reading, a species without limits, or a site that forbids a start.
    """
    refuse_start(job)
    known = known_of(
        job, basin, area_m2, max_depth_m, diffuser_depth_m, diffuser_flow_m3_s, diffuser_names, outage_d, seed
    )
    tally = Tally()
    progress("drawing ponds that agree with the reading", 0.0)
    side_d = PAUSE_D if brief else max(WAITS_D) + 5
    scene = known.scene(known.draw(search_members, seed, side_d), seed)
    scene, still_dawn = _without_air(scene)
    asked = schedules or _candidates(known)
    found = search(
        scene,
        asked,
        known.promise,
        progress,
        seed=seed,
        tally=tally,
        refine=schedules is None,
        last_min=known.last_min,
    )
    thermocline_m, searched_count = _thermocline_m(scene), scene.members
    # what follows asks few of the search ponds, and the fresh ones need the room
    some = found.order[:SOME_MEMBERS]
    scene, still_dawn = some_of(scene, some), still_dawn[some]
    found = replace(found, order=np.arange(len(some)))
    fresh_seed = seed + FRESH_SEED_STEP
    more_d = 1 + (PAUSE_D if known.under_way else 0)
    fresh = known.scene(known.draw(fresh_members, fresh_seed, more_d, like=scene.ensemble), fresh_seed)
    effective = fresh.ensemble.effective_members
    stated = enough_members(effective, fresh_members)
    chosen = found.best.schedule
    if not stated:
        chosen = cautious(known.horizon_d, chosen.start_hour_h, known.last_min)
    progress("scoring the plan on fresh ponds", 0.0)
    fresh = replace(fresh, clock_stop_mg_l=scene.clock_stop_mg_l, most_mg_l=scene.most_mg_l)
    score = scored(
        scene, fresh, chosen, found.order[:STOP_MEMBERS], known.promise, under_way=known.under_way,
        second_try=found.kept and schedules is None, tally=tally,
        told=lambda share: progress("scoring the plan on fresh ponds", share),
    )  # fmt: skip
    chosen, table, final, risk, failing = score.schedule, score.table, score.final, score.risk, score.failing
    name = f"{chosen.name}, from {int(chosen.start_hour_h):02d}:00"
    may_begin = score.at_once is None and not score.refused
    # the fresh ponds were not searched on, so their bounds alone decide
    kept = known.promise.kept(final.outcome)
    stands(words.stands(name, risk, stated=stated, may_begin=may_begin, kept=kept))
    compared: tuple[Comparison, ...] = ()
    if not brief:
        progress("scoring what it is compared with", 0.0)
        compared = comparisons(fresh, known.horizon_d, tally, progress)
    hold_until = None if score.at_once is None else begins_on(job, fresh, score)
    # an outage's restart is a start-up of its own
    gone_d = days_gone(job, fresh, final.outcome.first_hour) if known.under_way else 0
    salty = salt_layers(believed(job)) is not None
    deepest_m = float(known.running.depth_m.max())
    days = run_days(job, fresh, final, table, known.names, volume_m3, gone_d)
    more = Beside(known, scene, found, chosen, table, tally, progress)
    progress("asking what a reading would tell", 0.0)
    spread = volume_se_m3 / volume_m3
    before = scene.ensemble.before
    return StartUp(
        name=name,
        chosen_as=chosen_as(stated=stated, tried_again=score.missed is not None, kept=found.kept),
        days=days,
        later=later_losses(fresh, final, gone_d),
        risk=risk,
        promise_kept=kept,
        already_failing=failing,
        accepted_job_risk=known.promise.job_risk,
        days_to_complete=final.outcome.days_to_complete,
        completed_fraction=final.outcome.completed_fraction,
        comparisons=compared,
        bound_by=said.bound_by(final.outcome, score.nothing),
        narrowing=() if brief else narrowing(job, some_of(scene, found.order[:SIDE_MEMBERS]), chosen, table, spread),
        profiles=final.profiles,
        searched_candidates=found.candidate_count,
        search_members=searched_count,
        drawn_members=scene.ensemble.tried,
        horizon_d=known.horizon_d,
        limits_words=said.limits_words(known.refuge),
        policy=policy_of(
            chosen, table, limit_mg_l=known.refuge.limits.oxygen_mg_l, most_mg_l=scene.most_mg_l,
            watched_hours=known.crew.watched_hours(chosen.start_hour_h),
        ),
        accepted_day_risk=known.promise.day_risk,
        worst_day_upper95_fraction=final.outcome.worst_day_upper95_fraction,
        answered_upper95_fraction=final.outcome.answered_upper95_fraction,
        hold_until=hold_until,
        first_run=first_run(job) if known.under_way else None,
        no_air_failures=score.nothing.failures,
        no_air_before=None if before is None else BeforeReadings(before.members, before.failures),
        risk_stated=stated,
        effective_members=effective,
        expected_visits_number=final.outcome.expected_visits,
        waiting=() if brief else waiting(scene, chosen, found.order[:SIDE_MEMBERS], table, tally),
        readings_value=() if brief else more.readings(still_dawn, thermocline_m),
        one_more_visit=None if brief else more.visit(gone_d),
        measures=words.measures(job, fresh, final.outcome.first_hour, days, thermocline_m, deepest_m,
            known.crew.watched_hours(chosen.start_hour_h)),
        stop_words=words.stop_words(known.crew, deepest_m, known.refuge.limits.oxygen_mg_l),
        emergency=words.emergency(final.outcome.answered_upper95_fraction < 0.0) if failing else (),
        changes=() if brief else more.changes(),
        kept_running=() if brief else more.running(),
        days_off=None if brief else more.off(),
        comparison_members=min(COMPARISON_MEMBERS, fresh.members),
        member_days=tally.member_days,
        notices=(
            *said.of_both(scene.ensemble, fresh.ensemble),
            *tuple(getattr(scene.ensemble, "doubts", ())),
            *known.refuge.notices,
            *said.no_oxygen(believed(job)),
            *turning_back(believed(job), airs_of(known), seed),
            *said.plan_notices(
                kept=kept, failing=failing, stated=stated, effective_members=effective, plan=final.outcome,
                salty=salty,
            ),
            *said.stop_capped(chosen.stop_above_mg_l, known.refuge.limits.oxygen_mg_l, scene.most_mg_l),
            *gassed(believed(job), airs_of(known), area_m2, volume_m3),
            *said.salt_layered(believed(job)),
            *nitrite(believed(job)),
            *said.sulphide_not_read(already_read(job)),
            *said.second_try(score.missed),
            *said.worse_than_no_air(risk, known.promise.job_risk, at_once=score.at_once, hold_until=hold_until,
                refused=score.refused, salty=salty),
        ),
        assumptions=_assumptions(scene, known),
    )  # fmt: skip


def _without_air(scene: Scene) -> tuple[Scene, NDArray[np.float64]]:
    """Return the scene with the stop readings that its nights give, and oxygen at the next dawn, without air."""
    columns = scene.ensemble.columns
    late = replace(scene, earliest_hour=min(scene.earliest_hour + 24 * 3, scene.hours - 24))
    _, run = lead_in(late, np.arange(scene.members), 12.0)
    if run is None:
        return scene, np.zeros(scene.members)
    dawns = scene.dawn_index[scene.dawn_index >= columns.hour] - columns.hour
    dawn = run.records[ix.NEAR_SURFACE_O2, min(int(dawns[0]), run.records.shape[1] - 1)]
    return replace(scene, clock_stop_mg_l=clock_stops(scene, run.records)), dawn


def _candidates(known: Known) -> tuple[Schedule, ...]:
    """Return the families, and where air has run before, how that may go on."""
    depths = tuple(float(d) for d in known.running.depth_m)
    found = candidates(known.horizon_d, known.crew, depths)
    if known.under_way:
        last = runs_of(known.job)[0][-1]
        clock = known.crew.nearest_start_h(
            float(last.start.astimezone(ZoneInfo(known.job.site.time_zone)).hour)
        )
        found += continued(min(int(last.minutes), 1380), float(clock), known.horizon_d)
    return tuple(dict.fromkeys(found))


def _thermocline_m(scene: Scene) -> float:
    """Return the depth of the steepest fall of temperature in the middle simulated pond at the reading.

    Where salt parts the water, of the steepest growth of density. In mixed water half the depth. Below the depth
    that the crew reads first: the day's own warm skin above it is gone by dusk.
    """
    columns = scene.ensemble.columns
    middle, salt = (np.median(columns.state[row], axis=1) for row in (ix.TEMPERATURE, ix.SALT))
    if salt[-1] - salt[0] >= MIXED_SALT_G_KG:
        middle = -np.array([density_chen_millero_1986(t, s) for t, s in zip(middle, salt, strict=True)])
    elif float(middle[0] - middle.min()) < MIXED_K:
        # no layers: half way down is as telling as any depth
        return 0.5 * float(columns.grid.interface_depth_m[-1])
    fall = -np.diff(middle)
    under = columns.grid.interface_depth_m[1 : 1 + len(fall)] > NEAR_SURFACE_M
    if under.any():
        fall = np.where(under, fall, -np.inf)
    return float(columns.grid.interface_depth_m[1 + int(np.argmax(fall))])


def _assumptions(scene: Scene, known: Known) -> tuple[str, ...]:
    ensemble = scene.ensemble
    found = [
        "The upper bounds are of the simulated ponds (binomial): they say how sure the count is, not how true the "
        "model is. A pond unlike any of them, for its model or its priors, is outside of every bound.",
        f"The pond is one column: the water is alike from shore to shore at each depth. "
        f"Fish: {said.limits_words(known.refuge)}.",
        f"{ensemble.tried} simulated ponds were drawn from the table of priors, run through the days before the "
        f"reading, and kept where they agree with it; each has weather of its own for {known.horizon_d} d.",
        "Alkalinity and inorganic carbon mix, and pH follows from them and from the carbon that the bloom takes up.",
        *(f"Assumed: {text}." for text in ensemble.assumptions),
        "Oxygen forecasts beat persistence for about two days: the plan is firm for two days, provisional after.",
        "The card is carried out blindly between visits; on a visit a meter off by 0.5 mg/L that day, and 0.7 from "
        "place to place, is read hourly for up to six hours.",
        "Waiting uses the same ponds' later weather; autumn overturn is not simulated.",
    ]
    if known.outage_d:
        found.append(
            f"Outage: each pond is mixed, run with all diffusers for four days and left without air for "
            f"{known.outage_d} d in its own weather."
        )
    return tuple(found)


__all__ = ["quiet", "startup", "unheard"]
