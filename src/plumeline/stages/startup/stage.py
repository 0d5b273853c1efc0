"""The start-up stage: from the basin, the reading and the air to a plan with a stated risk."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np

from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger
from plumeline.stages.column import LEAD_HOURS, Ensemble, Refuge, draw_ensemble, make_grid, refuge_for
from plumeline.stages.column.grid import Basin
from plumeline.stages.startup.days import profile_bands, run_days
from plumeline.stages.startup.narrowing import narrowing
from plumeline.stages.startup.result import Risk, StartUp
from plumeline.stages.startup.schedule import NOTHING, candidates, doubling, growing
from plumeline.stages.startup.score import Running, Scored, comparison, lower95, risk_of, score
from plumeline.stages.startup.search import Progress, search

SEARCH_MEMBERS = 200
FRESH_MEMBERS = 1000
FRESH_SEED_STEP = 500_009
LONGEST_HORIZON_D = 14
STANDARD_AIR_MOL_M3 = 101325.0 / (8.314462618 * 293.15)
SULPHIDE_CAUSE = 3  # its place in the words below
LIMIT_WORDS = ("oxygen", "temperature", "un-ionised ammonia", "hydrogen sulphide")


def quiet(_what: str, _share_fraction: float) -> None:
    """Report progress to nobody."""


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
    search_members: int = SEARCH_MEMBERS,
    fresh_members: int = FRESH_MEMBERS,
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
        search_members: members of the search ensemble.
        fresh_members: members on which the chosen plan is scored again.

    Raises:
        ModelError: no diffuser carries air.
        InputError: no reading, or a species without limits.
    """
    if not any(flow > 0.0 for flow in diffuser_flow_m3_s):
        raise ModelError(
            "no diffuser carries air, so there is nothing to start up.",
            remedy="See the air stage: the compressor does not reach the depth of any diffuser.",
        )
    running = Running(
        np.array([d for d, q in zip(diffuser_depth_m, diffuser_flow_m3_s, strict=True) if q > 0.0]),
        np.array([q * STANDARD_AIR_MOL_M3 for q in diffuser_flow_m3_s if q > 0.0]),
    )
    grid = make_grid(basin, max_depth_m)
    refuge = refuge_for(job.fish, area_m2, tuple(float(d) for d in running.depth_m))
    horizon_d = min(job.wishes.longest_start_up_d, LONGEST_HORIZON_D)
    hours = 24 * (horizon_d + 1)
    progress("drawing ponds that agree with the reading", 0.0)
    limits = refuge.as_array()
    ensemble = draw_ensemble(job, grid, limits, search_members, seed, hours)
    earliest = _earliest_hour(job, ensemble)
    accepted = job.wishes.job_risk
    found = search(ensemble, running, refuge, candidates(horizon_d), earliest, accepted, progress)
    chosen = found.best.schedule
    progress("scoring the plan on fresh ponds", 0.0)
    fresh = draw_ensemble(job, grid, limits, fresh_members, seed + FRESH_SEED_STEP, hours)
    # a baseline starts to count at the hour of the schedule that it stands beside
    baselines = {
        clock: score(fresh, running, refuge, replace(NOTHING, start_hour_h=clock), earliest)
        for clock in sorted({chosen.start_hour_h, NOTHING.start_hour_h})
    }
    nothing = baselines[chosen.start_hour_h]
    plan = score(fresh, running, refuge, chosen, earliest, keep_profiles=True)
    others: list[Scored] = [nothing]
    rivals = (growing(1440, 2.0, 13.0, horizon_d), doubling(15, horizon_d), doubling(30, horizon_d))
    for i, rival in enumerate(rivals):
        progress("scoring what it is compared with", i / len(rivals))
        others.append(score(fresh, running, refuge, rival, earliest))
    progress("asking what a reading would tell", 0.0)
    spread = volume_se_m3 / volume_m3
    told = narrowing(job, ensemble, running, refuge, chosen, earliest, spread)
    risk = risk_of(plan, nothing)
    # the fresh ponds were not searched on, so their bound alone decides
    kept = risk.risk_upper95_fraction <= accepted
    members = fresh.columns.members
    base_failures = int((nothing.run.after.failed_step >= nothing.first_hour * 12).sum())
    failing = lower95(base_failures, members) > accepted
    return StartUp(
        f"{chosen.name}, from {int(chosen.start_hour_h):02d}:00",
        run_days(job, fresh, plan, running, refuge, volume_m3),
        risk,
        kept,
        failing,
        accepted,
        plan.days_to_complete,
        plan.completed_fraction,
        tuple(comparison(other, baselines.get(other.schedule.start_hour_h, nothing)) for other in others),
        _bound_by(plan, nothing),
        told,
        profile_bands(fresh, plan),
        found.candidate_count,
        ensemble.tried,
        horizon_d,
        _limits_words(refuge),
        (
            *dict.fromkeys((*ensemble.notices, *fresh.notices)),
            *refuge.notices,
            *_notices(kept, failing, plan),
            *worse_than_no_air(risk, accepted),
        ),
        _assumptions(ensemble, refuge, horizon_d),
    )


def _earliest_hour(job: Job, ensemble: Ensemble) -> int:
    """Return the first hour of weather at which a run may start: an hour after the reading, or as wished."""
    earliest = LEAD_HOURS + 1
    if job.wishes.start_date is not None:
        zone = ZoneInfo(job.site.time_zone)
        morning = datetime.combine(job.wishes.start_date, time(0), zone).astimezone(UTC)
        earliest = max(earliest, int((morning - ensemble.start).total_seconds() // 3600))
    return min(earliest, len(ensemble.local_hour) - 48)


def _bound_by(plan: Scored, nothing: Scored) -> tuple[tuple[str, int], ...]:
    """Return which limits took the refuge: of the plan's losses, or of the still pond's where it lost none."""
    judged = plan if plan.failures else nothing
    causes = judged.run.after.cause[judged.lost]
    counts = np.bincount(causes, minlength=4)
    order = np.argsort(-counts, kind="stable")
    return tuple((LIMIT_WORDS[i], int(counts[i])) for i in order if counts[i] > 0)


def _limits_words(refuge: Refuge) -> str:
    limits = refuge.limits
    return (
        f"oxygen at least {limits.oxygen_mg_l:g} mg/L, no warmer than {limits.max_temperature_degc:g} °C, "
        f"un-ionised ammonia at most {limits.unionized_ammonia_mg_l:g} mg/L as N and undissociated hydrogen "
        f"sulphide at most {limits.hydrogen_sulphide_mg_l:g} mg/L, all together, in a body of at least "
        f"{refuge.volume_fraction:.0%} of the volume and {refuge.thickness_m:g} m thick"
    )


def worse_than_no_air(risk: Risk, accepted_risk: float) -> tuple[Notice, ...]:
    """Warn where running the schedule loses more ponds than no air does, by more than the accepted risk.

    Args:
        risk: counts of the schedule and of no air over the same days.
        accepted_risk: accepted job risk.

    Returns:
        one danger, or nothing.
    """
    if risk.added_risk <= accepted_risk:
        return ()
    text = (
        f"Do not start by this card: it loses {risk.failures:,} of {risk.members:,} simulated ponds, leaving the "
        f"air off over the same days {risk.baseline_risk * risk.members:,.0f}. Read more first (see what would "
        "narrow the plan), or wait for cooler weather."
    )
    return (danger("worse-than-no-air", text),)


def _notices(kept: bool, failing: bool, plan: Scored) -> tuple[Notice, ...]:
    found: list[Notice] = []
    if failing:
        found.append(
            danger(
                "already-failing",
                "Without any air this pond loses its refuge in more simulated ponds than the accepted risk: "
                "have emergency surface aeration ready before anything else. The schedule shown is the best that "
                "the search found, not a safe one.",
            )
        )
    elif not kept:
        found.append(
            danger(
                "promise-not-kept",
                "On fresh simulated ponds the schedule shown does not keep the accepted risk, and the search "
                "found none better. Wait for cooler weather, read more (see what would narrow the plan), or have "
                "surface aeration ready first.",
            )
        )
    causes = plan.run.after.cause[plan.lost]
    if plan.lost.any() and float((causes == SULPHIDE_CAUSE).mean()) > 0.2:
        found.append(
            danger(
                "sulphide-binds",
                f"Hydrogen sulphide took the refuge in {int((causes == SULPHIDE_CAUSE).sum())} of the "
                f"{plan.failures} ponds that lost it: an oxygen meter does not see it. A smell of rotten eggs over "
                "the pond, or a field kit on water from 2 ft, is a stop sign whatever the oxygen.",
            )
        )
    if plan.completed_fraction < 0.5:
        found.append(
            caution(
                "not-complete",
                f"Within the days simulated only {plan.completed_fraction:.0%} of the simulated ponds end mixed "
                "with oxygen at the bottom: the air is too little for this pond, or its demand too great.",
            )
        )
    return tuple(found)


def _assumptions(ensemble: Ensemble, refuge: Refuge, horizon_d: int) -> tuple[str, ...]:
    return (
        f"The pond is one column: the water is alike from shore to shore at each depth. "
        f"Fish: {_limits_words(refuge)}.",
        f"{ensemble.tried} simulated ponds were drawn from the table of priors, run through the three days "
        f"before the reading, and kept where they agree with it; each has weather of its own for {horizon_d} d.",
        "Alkalinity and inorganic carbon mix, and pH follows from them; the bloom's own effect on pH is held.",
        *(f"Assumed: {text}." for text in ensemble.assumptions),
        "Oxygen forecasts beat persistence for about two days: the plan is firm for two days, provisional after.",
    )
