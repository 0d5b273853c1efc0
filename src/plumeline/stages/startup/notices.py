"""What the start-up warns of."""

from __future__ import annotations

from datetime import date

import numpy as np

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.stages.column import NEAR_SURFACE_M, Ensemble, Refuge
from plumeline.stages.reading.salt import salt_layers
from plumeline.stages.startup.dissolved import early_stop_mg_l, shown_down_mg_l
from plumeline.stages.startup.promise import Outcome
from plumeline.stages.startup.result import Risk
from plumeline.stages.startup.words import NO_OXYGEN
from plumeline.units import both, plain

AMMONIA_CAUSE, SULPHIDE_CAUSE = 2, 3  # their places in the words below
LIMIT_WORDS = ("oxygen", "temperature", "un-ionised ammonia", "hydrogen sulphide")


def bound_by(plan: Outcome, nothing: Outcome) -> tuple[tuple[str, int], ...]:
    """Return which limits took the refuge: of the plan's losses, or of the still pond's where it lost none."""
    judged = plan if plan.failures else nothing
    causes = judged.cause[judged.lost]
    counts = np.bincount(causes, minlength=4)
    order = np.argsort(-counts, kind="stable")
    return tuple((LIMIT_WORDS[i], int(counts[i])) for i in order if counts[i] > 0)


def limits_words(refuge: Refuge) -> str:
    """Return the fish's limits in words."""
    limits = refuge.limits
    return (
        f"oxygen at least {limits.oxygen_mg_l:g} mg/L, no warmer than {both(limits.max_temperature_degc, 'degc')}, "
        f"un-ionised ammonia at most {limits.unionized_ammonia_mg_l:g} mg/L as N and undissociated hydrogen "
        f"sulphide at most {limits.hydrogen_sulphide_mg_l:g} mg/L, all together, in a body of at least "
        f"{refuge.volume_fraction:.0%} of the volume and {both(refuge.thickness_m, 'm')} thick"
    )


def second_try(missed: Outcome | None) -> tuple[Notice, ...]:
    """Say that the plan is the second one scored on the fresh ponds, and what that costs in certainty.

    Args:
        missed: the first choice on those ponds; None where the plan is the first choice.
    """
    if missed is None:
        return ()
    text = (
        f"The first choice, {missed.schedule.name}, lost {missed.failures} of {plain(missed.members, 0)} fresh "
        f"simulated ponds and just missed the promise ({missed.worst_day_upper95_fraction:.2%} on its riskiest day). "
        "This plan takes "
        "that day in two steps and was scored on the same ponds: as the second of two tries its 95 % bounds hold for "
        "at least 90 %."
    )
    return (note("second-try", text),)


def worse_than_no_air(
    risk: Risk,
    accepted_risk: float,
    *,
    at_once: Risk | None = None,
    hold_until: date | None = None,
    refused: bool = True,
    salty: bool = False,
) -> tuple[Notice, ...]:
    """Warn where running the schedule loses more ponds than no air does, by more than the accepted risk.

    A start-up that is under way is paused until a dated reading where a pause loses fewer; one that has not begun
    is not to begin where that would help or where far more than is accepted is added. Else the owner decides.

    Args:
        risk: counts of the schedule and of no air over the same days.
        accepted_risk: accepted job risk.
        at_once: counts of going on at once, where the plan is a pause.
        hold_until: date of the reading that ends the pause.
        refused: whether the start-up is not to begin by the plan.
        salty: whether salt parts the water, so that no weather mixes it.

    Returns:
        one danger, or nothing.
    """
    if at_once is not None and hold_until is not None:
        text = (
            f"Hold: no air until the reading of {hold_until:%a} {hold_until.day} {hold_until:%b} at sunrise. To go "
            f"on at once loses {_counts(at_once)}; after the pause it is {_counts(risk)}. Read the profile on that "
            "morning and plan again with it. Without a new plan the days below begin then, by somebody who reads: "
            "only after a dawn of 4 mg/L or more and no smell of rotten eggs, else a day later."
        )
        return (danger("hold-until-reading", text),)
    if risk.added_risk <= accepted_risk:
        return ()
    if not refused:
        text = (
            f"No start-up found keeps what is accepted, and a pause of two days loses no fewer: this one loses "
            f"{_counts(risk)}. Use it only if the owner, told these, wants to go on; have surface aeration at hand."
        )
        return (danger("owner-decides", text),)
    text = (
        f"Do not start by this card: it loses {_counts(risk)}. Read more first (see what would narrow the plan), or "
        + (LEAVE_SALT if salty else "wait for cooler weather.")
    )
    return (danger("worse-than-no-air", text),)


def _counts(risk: Risk) -> str:
    return (
        f"{plain(risk.failures, 0)} of {plain(risk.members, 0)} simulated ponds, leaving the air off over the same "
        f"days {plain(risk.baseline_risk * risk.members, 0)}"
    )


def sulphide_not_read(read: frozenset[str]) -> tuple[Notice, ...]:
    """Say what the simulated ponds hold of a poison that nobody read.

    Args:
        read: which chemistry the job's profiles hold.
    """
    if "sulphide_mg_l" in read:
        return ()
    text = (
        "Sulphide was not read: each simulated pond draws its own from the table of priors, none where there is oxygen "
        "enough and no smell. A sulphide test of the bottom water settles it."
    )
    return (caution("sulphide-not-read", text),)


KEEP_OFF = (
    "Start no run of these days yet: tonight the bottom diffusers stay off. The days are shown for what they would do. "
    "Read the water at sunrise, plan anew with it, and go by that plan."
)
"""What goes with the emergency steps where the plan does not surely lose fewer ponds than no air does."""


LEAVE_SALT = (
    "leave the salty bottom water alone: cooler weather does not mix it. Diffusers may hang over it instead, and a new "
    "layout with what is above it makes another plan."
)
"""What is left to do where salt parts the water (practice in ponds that never turn over, no published source)."""


def plan_notices(
    *, kept: bool, failing: bool, stated: bool, effective_members: float, plan: Outcome, salty: bool = False
) -> tuple[Notice, ...]:
    """Return what must be said of the plan's promise.

    Args:
        kept: whether both upper bounds are within what is accepted.
        failing: whether the pond loses its refuge without any air.
        stated: whether enough members differ from each other to state a risk.
        effective_members: how many do.
        plan: the plan on fresh ponds.
        salty: whether salt parts the water, so that no weather mixes it.
    """
    found: list[Notice] = []
    if failing:
        found.append(
            danger(
                "already-failing",
                "Without any air this pond loses its refuge in more simulated ponds than the accepted risk: the "
                "emergency steps come before anything else. " + _beside_the_loss(kept=kept, stated=stated),
            )
        )
        if plan.answered_upper95_fraction >= 0.0:
            found.append(danger("keep-off-tonight", KEEP_OFF))
    if not stated:
        found.append(
            danger(
                "risk-not-stated",
                f"The readings leave only {effective_members:.0f} simulated ponds apart from each other, too few to "
                "state a risk. The plan is the cautious rule: doubling from 15 min, held while dawn oxygen is under "
                "4 mg/L or it smells, stopped 2 mg/L over the fish's limit, or at what the water dissolves where that "
                "is less.",
            )
        )
    elif not kept and not failing:
        found.append(
            danger(
                "promise-not-kept",
                "On fresh simulated ponds the schedule shown does not keep the accepted risk, and the search "
                "found none better, the cautious rule among them. "
                + (
                    f"Best {LEAVE_SALT} Else r"
                    if salty
                    else "Wait for cooler weather (see the lines of waiting), r"
                )
                + "ead more (see what each reading would save), or have surface aeration ready first.",
            )
        )
    by_sulphide = int((plan.cause[plan.lost] == SULPHIDE_CAUSE).sum())
    if plan.failures and by_sulphide > 0.2 * plan.failures:
        found.append(
            danger(
                "sulphide-binds",
                f"Hydrogen sulphide took the refuge in {by_sulphide} of the "
                f"{plan.failures} ponds that lost it: an oxygen meter does not see it. A smell of rotten eggs over "
                f"the pond, or a field kit on water from {both(NEAR_SURFACE_M, 'm')}, is a stop sign whatever the "
                "oxygen.",
            )
        )
    by_ammonia = int((plan.cause[plan.lost] == AMMONIA_CAUSE).sum())
    if plan.failures and by_ammonia > 0.2 * plan.failures:
        found.append(
            danger(
                "ammonia-binds",
                f"Un-ionised ammonia took the refuge in {by_ammonia} of the {plan.failures} ponds that lost it: bottom "
                "ammonia that comes up into water of high pH. An oxygen meter does not see it: read pH and ammonia at "
                f"{both(NEAR_SURFACE_M, 'm')} on each visit, and hold the next step while the pH is over 9.",
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


def _beside_the_loss(*, kept: bool, stated: bool) -> str:
    """Return what the schedule shown is to a pond that is failing already."""
    if not stated:
        return "What the schedule shown adds to that is not stated; it does not make the pond safe."
    if kept:
        return (
            "Beside that loss the schedule shown adds no more than the accepted risk: it makes no safe pond."
        )
    return "The schedule shown is among those of least loss that the search found; it is not a safe one."


def stop_capped(above_mg_l: float | None, limit_mg_l: float, most_mg_l: float) -> tuple[Notice, ...]:
    """Say where the cautious rule stops earlier than it would, for the water holds no more.

    Args:
        above_mg_l: how far over the limit the plan stops; None where it has stop readings of its own.
        limit_mg_l: the fish's oxygen limit.
        most_mg_l: what the water dissolves.
    """
    if above_mg_l is None:
        return ()
    reading_mg_l = early_stop_mg_l(limit_mg_l, above_mg_l, most_mg_l)
    if reading_mg_l >= limit_mg_l + above_mg_l:
        return ()
    text = (
        f"The cautious rule stops at {limit_mg_l + above_mg_l:g} mg/L, {above_mg_l:g} over the fish's limit; this "
        f"water dissolves {shown_down_mg_l(most_mg_l):.1f} at its temperature and elevation, so it stops under "
        f"{reading_mg_l:.1f}. There is little room over the limit here: read often, and keep surface aeration at hand."
    )
    return (caution("stop-capped", text),)


def of_both(searched: Ensemble, fresh: Ensemble) -> tuple[Notice, ...]:
    """Return the notices of two ensembles, what both say once: they differ in how far their weather goes."""
    codes = {notice.code for notice in searched.notices}
    return (*searched.notices, *(notice for notice in fresh.notices if notice.code not in codes))


def no_oxygen(job: Job) -> tuple[Notice, ...]:
    """Warn where no depth of the latest profile has oxygen to speak of: the first step is not the diffusers."""
    latest = job.latest_profile
    if latest is None or max(point.do_mg_l for point in latest.points) >= 1.0:
        return ()
    return (danger("no-oxygen-anywhere", NO_OXYGEN),)


def salt_layered(job: Job) -> tuple[Notice, ...]:
    """Warn where salt holds the layers of the latest profile: the crew's thermometer does not show when they part."""
    said = salt_layers(job)
    return (caution("salt-layered", said),) if said else ()
